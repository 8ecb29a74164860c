//! `evenfare backup` and `evenfare restore`: a copy of an SQLite store, checked on both ways.

use std::path::Path;

use evenfare_store::audit::Audited;
use evenfare_store::sqlite::{BackupError, Sqlite};

use super::audit::anchor;
use super::place::{there, wait};
use crate::cli::args::keeping::{BackupArgs, RestoreArgs};
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::words::count;
use crate::cli::text::{Page, style};
use crate::serve::database::Database;

/// Copies the store while it may be written to.
pub(in crate::cli) fn backup(args: &BackupArgs) -> Result<Answer, Failure> {
    let path = file(&args.place.database)?;
    there(&args.place)?;
    wait(async {
        let audited = Sqlite::backup(path, &args.file).await.map_err(|error| failure(&args.file, error))?;
        Ok(Answer::new(said(&args.file, &audited)))
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
        let care = "what was issued after this backup is not in it: its numbers and request ids are free again. Begin \
                    another series where such quotes have gone out.";
        let mut note = Page::default();
        note.labelled(style::CARE, "warning", care);
        Ok(Answer::new(said(path, &audited)).with_note(note.finish()))
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

/// How far it goes. Whoever restores an older copy gives numbers a second time.
fn said(file: &Path, audited: &Audited) -> String {
    let events = usize::try_from(audited.events).unwrap_or(usize::MAX);
    let mut page = Page::default();
    page.paragraph(
        0,
        style::PLAIN,
        &format!("{} holds {}, audited.", file.display(), count(events, "event")),
    );
    for number in &audited.numbers {
        page.paragraph(0, style::PLAIN, &format!("The last number of its series is {number}."));
    }
    if let Some(head) = audited.head {
        page.drawn(&format!("--anchor {}", anchor(head)));
    }
    page.finish()
}

fn failure(file: &Path, error: BackupError) -> Failure {
    match error {
        BackupError::InUse(_) => Failure::Usage(error.to_string()),
        BackupError::Exists(_) => Failure::File(error.to_string()),
        BackupError::Source(_) => Failure::Database(error.to_string()),
        BackupError::Io(why) => Failure::File(format!("{}: {why}", file.display())),
        BackupError::Damaged(_) | BackupError::Audit(_) => {
            Failure::Database(format!("{}: {error}", file.display()))
        }
    }
}
