//! What can be asked at month end.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;
use evenfare_reconcile::month::Month;

use super::format::Format;
use super::keeping::Where;

/// What the store is held against.
#[derive(Debug, Args)]
pub(in crate::cli) struct BooksArgs {
    /// The books folder: books.toml, statements, invoices, charges, decisions
    pub(in crate::cli) books: PathBuf,
    /// The folder of the tariff, for its chart of accounts, chart.csv
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) tariff: Option<PathBuf>,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct ReconcileArgs {
    #[command(flatten)]
    pub(in crate::cli) books: BooksArgs,
    /// Show that month alone, by what is known at its end, such as 2026-10
    #[arg(long, value_name = "MONTH", conflicts_with = "until")]
    pub(in crate::cli) month: Option<Month>,
    /// The last day to look at; else today, in UTC
    #[arg(long, value_name = "DAY")]
    pub(in crate::cli) until: Option<NaiveDate>,
    /// A new or empty folder to write journal, statements and lists to
    #[arg(short, long, value_name = "DIR")]
    pub(in crate::cli) output: Option<PathBuf>,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct CloseArgs {
    #[command(flatten)]
    pub(in crate::cli) books: BooksArgs,
    /// The first month that is open, such as 2026-10
    pub(in crate::cli) month: Month,
    /// Close although questions are open; what they are about stays as it is
    #[arg(long)]
    pub(in crate::cli) with_open_questions: bool,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}
