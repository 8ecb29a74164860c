//! What can be asked of a document.

use std::path::PathBuf;

use clap::Args;
use evenfare_engine::language::Language;
use evenfare_engine::view::Reader;

#[cfg(feature = "serve")]
use super::keeping::Where;
use crate::paper::{Format, Kind};

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct PaperArgs {
    /// A job file (a draft), or the number of a quote or an invoice kept
    #[arg(value_name = "WHAT")]
    pub(in crate::cli) what: String,
    /// The folder of the tariff; the document is a draft without a number
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) tariff: Option<PathBuf>,
    /// quote, partner, office, bench, invoice, credit-note; else by number
    #[arg(long, value_enum, hide_possible_values = true)]
    pub(in crate::cli) kind: Option<Kind>,
    /// pdf or xml; else by the ending of the file, else pdf
    #[arg(long, value_enum, hide_possible_values = true)]
    pub(in crate::cli) format: Option<Format>,
    /// en, de, pl, fr or cs; else the reader's, else the letterhead's
    #[arg(long, value_name = "LANGUAGE")]
    pub(in crate::cli) language: Option<Language>,
    /// A new .pdf or .xml, or a folder to write to; `-` for standard output
    #[arg(short, long, value_name = "FILE")]
    pub(in crate::cli) output: PathBuf,
    /// Reader: accountant, customer, partner:CODE, else office
    #[arg(long = "as", value_name = "READER", default_value = "office", hide_default_value = true)]
    pub(in crate::cli) reader: Reader,
    /// The alternative, for a bench sheet or the XML of a quote
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    /// Which revision of a quote that is kept; else the last
    #[cfg(feature = "serve")]
    #[arg(long, value_name = "NUMBER", conflicts_with = "tariff")]
    pub(in crate::cli) revision: Option<u32>,
    /// The opposite entry of that revision
    #[cfg(feature = "serve")]
    #[arg(long, requires = "revision")]
    pub(in crate::cli) reversal: bool,
    #[cfg(feature = "serve")]
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}
