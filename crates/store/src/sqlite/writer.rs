//! The one thread that writes.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::Connection;

use super::checkpoints::Checkpoints;
use super::connection;
use super::tables::{Open, Unguarded, ready, unavailable};
use crate::clock::Clock;
use crate::head::Head;
use crate::queue::{Answer, Batch, Intake};
use crate::refused::StoreError;
use crate::tables::{Fault, Tables, ask};

/// For others to come a transaction waits at most half of what the last one took, and half of that.
const MOST_PATIENCE: Duration = Duration::from_millis(2);

/// Writes the first page once more, as it is: the version that a file can have for those who use it, and that nobody uses.
const TRIAL: &str = "PRAGMA user_version = 0";
/// A page and its head in the log.
const TRIAL_BYTES: usize = 4_096 + 24;

/// Starts the thread; it ends when the queue is closed and empty.
pub(super) fn start(
    path: PathBuf,
    connection: Connection,
    intake: Intake,
    clock: Clock,
) -> Result<(), StoreError> {
    let failed = |error: std::io::Error| StoreError::Unavailable(error.to_string());
    let checkpoints = Checkpoints::start(path.clone()).map_err(failed)?;
    std::thread::Builder::new()
        .name("store writer".to_owned())
        .spawn(move || run(&path, connection, intake, &clock, checkpoints))
        .map(drop)
        .map_err(failed)
}

fn run(path: &Path, connection: Connection, mut intake: Intake, clock: &Clock, mut checkpoints: Checkpoints) {
    let mut open = Some(connection);
    let (mut expected, mut patience) = (1, Duration::ZERO);
    while let Some(batch) = intake.next_blocking(expected, patience) {
        let begun = Instant::now();
        let connection = match open.take().map_or_else(|| connection::to_write(path), Ok) {
            Ok(connection) => connection,
            Err(error) => {
                batch.fail(&error);
                continue;
            }
        };
        match settle(&connection, &batch, clock) {
            Ok((answers, last)) => {
                let trial = if batch.is_a_trial() { TRIAL_BYTES } else { 0 };
                let bytes = batch.weight().saturating_add(trial);
                intake.written(last);
                // Whoever is answered now, and whoever has come meanwhile.
                expected = batch.waiting.len().saturating_add(intake.waiting());
                patience = begun.elapsed().min(MOST_PATIENCE).checked_div(2).unwrap_or_default();
                batch.answer(answers);
                checkpoints.committed(bytes, &connection);
                open = Some(connection);
            }
            Err(error) => {
                // What a failed write has left behind in this connection is not relied on: it goes, and the
                // transaction with it.
                drop(connection);
                batch.fail(&error);
            }
        }
    }
    // While that thread takes over, nobody else may.
    drop(checkpoints);
    // Whoever copies the one file, against all advice, has all of it. Where others use the store, this waits for none
    // of them: none could write meanwhile.
    if let Some(connection) = &open {
        let _ = connection.busy_timeout(Duration::ZERO);
        let _ = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", (), |_| Ok(()));
    }
    // All connections are closed before the end is told.
    drop(open);
    drop(intake);
}

/// All of a batch in one transaction; the answers, and the last event. Everything is decided before it is written, so
/// that nothing is expected to fail. Where a request cannot be written all the same, the batch is done again with a
/// savepoint around each, and the others are written.
fn settle(connection: &Connection, batch: &Batch, clock: &Clock) -> Result<(Vec<Answer>, u64), StoreError> {
    match commit(&Open(connection), &Unguarded(Open(connection)), batch, clock) {
        Err(Fault::Whole { again: true, .. }) => {
            Open(connection).run("ROLLBACK").map_err(|error| unavailable(&error))?;
            Ok(commit(&Open(connection), &Open(connection), batch, clock)?)
        }
        outcome => Ok(outcome?),
    }
}

fn commit(
    open: &Open<'_>,
    tables: &impl Tables,
    batch: &Batch,
    clock: &Clock,
) -> Result<(Vec<Answer>, u64), Fault> {
    let failed = |error: rusqlite::Error| Fault::Whole { error: unavailable(&error), again: false };
    open.run("BEGIN IMMEDIATE").map_err(failed)?;
    let mut head = ready(ask(tables, Head::ask())).and_then(Head::of_rows)?;
    let begun = head.sequence;
    let answers = ready(batch.apply(tables, &mut head, clock))?;
    // What was written tells it as well.
    if batch.is_a_trial() && head.sequence == begun {
        open.run(TRIAL).map_err(failed)?;
    }
    open.run("COMMIT").map_err(failed)?;
    Ok((answers, head.sequence))
}
