//! What can be asked at month end.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;
use evenfare_reconcile::month::Month;

use super::format::Printed;
use super::keeping::{Where, day};
use super::set;
use crate::month::Anchor;

/// What the store is held against.
#[derive(Debug, Args)]
pub(in crate::cli) struct BooksArgs {
    /// The books folder: books.toml, statements, invoices, charges, decisions
    pub(in crate::cli) books: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    /// Accounts by this tariff's chart.csv; else $EVENFARE_TARIFF, else none
    #[arg(long, value_name = "DIR", env = set("EVENFARE_TARIFF"), hide_env = true)]
    pub(in crate::cli) tariff: Option<PathBuf>,
    /// The anchor that closing a month printed; may be repeated
    #[arg(long, value_name = "MONTH:DIGEST")]
    pub(in crate::cli) anchor: Vec<Anchor>,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ReconcileArgs {
    #[command(flatten)]
    pub(in crate::cli) books: BooksArgs,
    /// That month alone, such as 2026-10; margins of all until its end
    #[arg(long, value_name = "MONTH", conflicts_with = "until")]
    pub(in crate::cli) month: Option<Month>,
    /// Until that day; else until today, in UTC
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(in crate::cli) until: Option<NaiveDate>,
    /// A new or empty folder to write journal, statements and lists to
    #[arg(short, long, value_name = "DIR")]
    pub(in crate::cli) output: Option<PathBuf>,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct CloseArgs {
    #[command(flatten)]
    pub(in crate::cli) books: BooksArgs,
    /// The first month that is open, such as 2026-10
    pub(in crate::cli) month: Month,
    /// Close although questions are open; what they are about stays as it is
    #[arg(long)]
    pub(in crate::cli) with_open_questions: bool,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}
