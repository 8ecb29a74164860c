//! `evenfare backup` and `evenfare restore`: a copy of an SQLite store, checked on both ways.

use std::path::Path;

use evenfare_store::Store as _;
use evenfare_store::audit::Audited;
use evenfare_store::sqlite::{BackupError, Sqlite};

use super::place::{there, wait};
use crate::cli::args::keeping::{BackupArgs, RestoreArgs};
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::words::count;
use crate::serve::database::Database;

/// Copies the store while it may be written to.
pub(in crate::cli) fn backup(args: &BackupArgs) -> Result<Answer, Failure> {
    let path = file(&args.place.database)?;
    there(&args.place)?;
    wait(async {
        let store = Sqlite::open(path).map_err(|error| Failure::Database(error.to_string()))?;
        let audited = store.backup(&args.file).await;
        store.close().await;
        Ok(Answer::new(said(&args.file, &audited.map_err(|error| failure(&args.file, error))?)))
    })
}

/// Makes a store of a backup.
pub(in crate::cli) fn restore(args: &RestoreArgs) -> Result<Answer, Failure> {
    let path = file(&args.place.database)?;
    if !args.file.is_file() {
        return Err(Failure::File(format!("there is no backup {}", args.file.display())));
    }
    wait(async {
        let audited = Sqlite::restore(&args.file, path).await.map_err(|error| failure(&args.file, error))?;
        Ok(Answer::new(said(path, &audited)))
    })
}

/// The file of an SQLite store; other databases have ways of their own.
fn file(database: &Database) -> Result<&Path, Failure> {
    match database {
        Database::Sqlite(path) => Ok(path),
        Database::Postgres(_) => Err(Failure::Usage(String::from(
            "a PostgreSQL database is backed up by pg_dump and restored by pg_restore; `evenfare audit` checks it",
        ))),
    }
}

fn said(file: &Path, audited: &Audited) -> String {
    let events = usize::try_from(audited.events).unwrap_or(usize::MAX);
    format!("{} holds {}, audited.\n", file.display(), count(events, "event"))
}

fn failure(file: &Path, error: BackupError) -> Failure {
    match error {
        BackupError::Exists(_) | BackupError::InUse(_) => Failure::Usage(error.to_string()),
        BackupError::Io(why) => Failure::File(format!("{}: {why}", file.display())),
        BackupError::Damaged(_) | BackupError::Audit(_) => {
            Failure::Database(format!("{}: {error}", file.display()))
        }
    }
}
