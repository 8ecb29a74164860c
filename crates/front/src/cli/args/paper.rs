//! What can be asked of a document.

use std::path::PathBuf;

use clap::Args;
use evenfare_engine::language::Language;

#[cfg(feature = "serve")]
use super::keeping::Kept;
use super::{PricedBy, ReadBy};
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
    #[arg(help = format!("{}; else that of whom it is for, else the workshop's", Language::EXPECTED))]
    pub(in crate::cli) language: Option<Language>,
    /// A new file, .pdf or .xml; a folder; or - for standard output
    #[arg(short, long, value_name = "FILE")]
    pub(in crate::cli) output: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) read_by: ReadBy,
    /// The alternative, for a bench sheet or the XML of a quote
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    #[cfg(feature = "serve")]
    #[command(flatten)]
    pub(in crate::cli) kept: Kept,
}
