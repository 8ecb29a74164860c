//! A month end from a folder and a store.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::problem::Severity;
use evenfare_files::{Report, Tariffs, closing_file, read_books_watched, slips};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::phase::Phase;

use super::super::place::{failure, with_store_there};
use crate::cli::args::month::BooksArgs;
use crate::cli::mistakes::drawn;
use crate::cli::outcome::Failure;
use crate::cli::text::{Page, Progress, style};
use crate::editions::read_kept;
use crate::month::{Done, Known, STORE, as_noted};

/// The file that makes a folder one of books.
const RULES: &str = "books.toml";
/// The chart of accounts, beside the editions of a tariff.
const CHART: &str = "chart.csv";

/// Reads the folder first, for its mistakes are told at once, then the store, and holds one against the other. Beside
/// it, what is to be said of the chart of accounts.
pub(super) fn done(
    args: &BooksArgs,
    until: NaiveDate,
    month: Option<Month>,
) -> Result<(Done, String), Failure> {
    let (chart, said) = chart(args.tariff.as_deref())?;
    of_books(&args.books)?;
    let books = read(&args.books, chart.as_deref(), until)?;
    let as_noted = as_noted(&books.closings, &args.anchor);
    as_noted.map_err(|error| Failure::BadInput(error.code(), error.to_string()))?;
    let known = with_store_there(&args.place, async |store| {
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
        known
    })?;
    let progress = Progress::of_steps(Phase::ALL.len());
    let done = Done::of(books, known, month, |phase| progress.step(phase.before(), phase.words()));
    progress.end();
    let done = done.map_err(|error| match error.slips() {
        [] => unreconciled(error),
        amiss => Failure::Mistakes(slips(amiss, Severity::Error, |file| on_disk(args, file))),
    })?;
    Ok((done, said))
}

/// Reads a books folder, file by file.
fn read(dir: &Path, chart: Option<&Path>, until: NaiveDate) -> Result<Inputs, Failure> {
    let mut progress = None;
    let of = |number: usize| u64::try_from(number).unwrap_or(u64::MAX);
    let books = read_books_watched(dir, chart, until, |done, all| {
        progress.get_or_insert_with(|| Progress::new(of(all), "files read")).at(of(done));
    });
    if let Some(progress) = progress {
        progress.end();
    }
    books.map_err(Failure::Mistakes)
}

/// What somebody should look at in the books folder.
pub(super) fn warnings(args: &BooksArgs, done: &Done) -> Report {
    slips(&done.books.warnings, Severity::Warning, |file| on_disk(args, file))
}

/// Warnings for people.
pub(super) fn noted(warnings: &Report) -> String {
    let mut page = Page::default();
    drawn(&mut page, warnings);
    page.finish()
}

/// The chart of accounts of a tariff folder. Without one, accounts go by the parts they play.
fn chart(tariff: Option<&Path>) -> Result<(Option<PathBuf>, String), Failure> {
    let Some(tariff) = tariff else { return Ok((None, String::new())) };
    if !tariff.is_dir() {
        return Err(Failure::File(format!("there is no tariff folder {}", tariff.display())));
    }
    let chart = tariff.join(CHART);
    if chart.exists() {
        return Ok((Some(chart), String::new()));
    }
    let mut page = Page::default();
    let words = format!("there is no {CHART} in {}: accounts go by the parts they play", tariff.display());
    page.labelled(style::CARE, "note", &words);
    Ok((None, page.finish()))
}

/// The name by which a file of the books folder goes; the store has the one it has among them.
fn on_disk(args: &BooksArgs, file: &str) -> String {
    if file == STORE { file.to_owned() } else { args.books.join(file).display().to_string() }
}

/// Is it a books folder? What another one has is no list of mistakes in it.
fn of_books(dir: &Path) -> Result<(), Failure> {
    if dir.join(RULES).is_file() {
        return Ok(());
    }
    let found = match dir.is_dir() {
        false => format!("there is no books folder {}", dir.display()),
        true => format!("{} is no books folder: it has no {RULES}", dir.display()),
    };
    let meant = [dir.join("books"), Path::new(".").join("books")];
    let meant = meant.iter().find(|meant| meant.join(RULES).is_file());
    let hint = meant.map(|meant| format!("; there is one in {}", meant.display())).unwrap_or_default();
    Err(Failure::File(format!("{found}{hint}")))
}

/// Why the books cannot be held against anything.
pub(super) fn unreconciled(error: Unreconciled) -> Failure {
    match error {
        Unreconciled::MonthNotOver { .. } | Unreconciled::ClosingOutOfOrder { .. } => {
            Failure::NotYet(error.code(), error.to_string())
        }
        Unreconciled::ClosingMissing { month, next } => {
            let (missing, next) = (closing_file(month), closing_file(next));
            let there =
                format!("{missing} is not in the books folder, though {next} follows it: put it back");
            Failure::BadInput(error.code(), there)
        }
        error => Failure::BadInput(error.code(), error.to_string()),
    }
}
