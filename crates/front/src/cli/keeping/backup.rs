//! `evenfare backup` and `evenfare restore`: a copy of an SQLite store, checked on both ways.

use evenfare_store::sqlite::Sqlite;

use super::place::wait;
use crate::cli::args::keeping::{BackupArgs, RestoreArgs};
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::words::count;
use crate::serve::database::Database;

/// Copies the store while it may be written to.
pub(in crate::cli) fn backup(args: &BackupArgs) -> Result<Answer, Failure> {
    let Database::Sqlite(path) = &args.place.database else {
        return Err(Failure::Usage(String::from(
            "a PostgreSQL database is backed up by pg_dump and restored by pg_restore; `evenfare audit` checks it",
        )));
    };
    if !path.is_file() {
        return Err(Failure::File(format!("there is no store {}", path.display())));
    }
    wait(async {
        let store = Sqlite::open(path).map_err(|error| Failure::Database(error.to_string()))?;
        let audited = store.backup(&args.file).await.map_err(|error| Failure::Database(error.to_string()))?;
        let events = usize::try_from(audited.events).unwrap_or(usize::MAX);
        Ok(Answer::new(format!("{} holds {}, audited.\n", args.file.display(), count(events, "event"))))
    })
}

/// Makes a store of a backup.
pub(in crate::cli) fn restore(args: &RestoreArgs) -> Result<Answer, Failure> {
    wait(async {
        let audited = Sqlite::restore(&args.file, &args.database)
            .await
            .map_err(|error| Failure::Database(error.to_string()))?;
        let events = usize::try_from(audited.events).unwrap_or(usize::MAX);
        Ok(Answer::new(format!("{} holds {}, audited.\n", args.database.display(), count(events, "event"))))
    })
}
