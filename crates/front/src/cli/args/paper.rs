//! What can be asked of a document.

use std::path::PathBuf;

use clap::Args;
use evenfare_engine::language::Language;
use evenfare_engine::view::Reader;

use super::PricedBy;
#[cfg(feature = "serve")]
use super::keeping::Kept;
use crate::paper::{Format, Kind};

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct PaperArgs {
    /// A job file, for a draft; or the number of a quote or an invoice
    #[arg(value_name = "JOB|NUMBER")]
    pub(in crate::cli) what: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) by: PricedBy,
    /// quote, partner, office, bench, invoice or credit-note
    #[arg(long, value_enum, hide_possible_values = true)]
    pub(in crate::cli) kind: Option<Kind>,
    /// pdf or xml; else by the ending of the file, else pdf
    #[arg(long, value_enum, hide_possible_values = true)]
    pub(in crate::cli) format: Option<Format>,
    #[arg(long, value_name = "LANGUAGE")]
    #[arg(help = format!("{}; else the reader's, else the workshop's", Language::EXPECTED))]
    pub(in crate::cli) language: Option<Language>,
    /// A new file, .pdf or .xml; a folder; or - for standard output
    #[arg(short, long, value_name = "FILE")]
    pub(in crate::cli) output: PathBuf,
    /// Reader: office, accountant, customer or partner:CODE
    #[arg(long = "as", value_name = "READER", default_value = "office")]
    pub(in crate::cli) reader: Reader,
    /// The alternative, for a bench sheet or the XML of a quote
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    #[cfg(feature = "serve")]
    #[command(flatten)]
    pub(in crate::cli) kept: Kept,
}
