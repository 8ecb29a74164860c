//! A month end from a folder and a store.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Overflow;
use evenfare_files::{Tariffs, read_books};
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::month::Month;

use super::super::place::{failure, there, wait};
use crate::cli::args::month::BooksArgs;
use crate::cli::outcome::Failure;
use crate::cli::text::Progress;
use crate::month::{Done, Known, NotKnown};
use crate::serve::editions::read_kept;

/// The chart of accounts, beside the editions of a tariff.
const CHART: &str = "chart.csv";

impl From<NotKnown> for Failure {
    fn from(error: NotKnown) -> Self {
        match error {
            NotKnown::Store(error) => failure(error),
            NotKnown::Damaged(why) => Self::Database(why),
        }
    }
}

/// Reads the folder first, for its mistakes are told at once, then the store, and holds one against the other.
pub(super) fn done(args: &BooksArgs, until: NaiveDate, month: Option<Month>) -> Result<Done, Failure> {
    // Without a chart of accounts, accounts go by the parts they play.
    let chart = args.tariff.as_ref().map(|tariff| tariff.join(CHART)).filter(|chart| chart.exists());
    if !args.books.is_dir() {
        return Err(Failure::File(format!("there is no books folder {}", args.books.display())));
    }
    let books = read_books(&args.books, chart.as_deref(), until).map_err(Failure::Mistakes)?;
    there(&args.place)?;
    let known = wait(async {
        let store = args.place.database.open().await.map_err(|error| Failure::Database(error.to_string()))?;
        let progress = Progress::new(store.last().await.map_err(failure)?, "events");
        let known = async {
            let editions = store.editions().await.map_err(failure)?;
            let editions = editions.iter().map(read_kept).collect::<Result<Vec<_>, _>>();
            let editions = editions.map_err(|error| Failure::Database(error.to_string()))?;
            let known = Known::new(Arc::new(Tariffs::published(editions)));
            known
                .read(&*store, |sequence| {
                    progress.at(sequence);
                    Ok::<_, Failure>(())
                })
                .await
        };
        let known = known.await;
        progress.end();
        store.close().await;
        known
    })?;
    Done::of(books, known, month).map_err(unreconciled)
}

/// Why the books cannot be held against anything.
pub(super) fn unreconciled(error: Unreconciled) -> Failure {
    match error {
        Unreconciled::MonthNotOver { .. } | Unreconciled::ClosingOutOfOrder { .. } => {
            Failure::NotYet(error.code(), error.to_string())
        }
        error => Failure::BadInput(error.code(), error.to_string()),
    }
}

pub(super) fn too_large(error: Overflow) -> Failure {
    Failure::BadInput("too_large", error.to_string())
}
