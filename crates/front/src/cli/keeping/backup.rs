//! `evenfare backup` and `evenfare restore`: a copy of an SQLite store, checked on both ways.

use std::path::Path;

use evenfare_store::audit::Audited;
use evenfare_store::sqlite::{BackupError, Sqlite};

use super::audit::anchor;
use super::place::{there, wait};
use crate::cli::args::keeping::{BackupArgs, RestoreArgs};
use crate::cli::outcome::{Answer, Failure};
use crate::cli::output::has_folder;
use crate::cli::text::words::count;
use crate::cli::text::{Page, style};
use crate::serve::database::Database;

/// Copies the store while it may be written to.
pub(in crate::cli) fn backup(args: &BackupArgs) -> Result<Answer, Failure> {
    let path = file(&args.place.database)?;
    there(&args.place)?;
    has_folder(&args.file)?;
    wait(async {
        let audited = Sqlite::backup(path, &args.file).await.map_err(|error| failure(&args.file, error))?;
        let done = format!("Copied {} to {}, and audited the copy", path.display(), args.file.display());
        Ok(Answer::new(said(&done, &audited)))
    })
}

/// Makes a store of a backup.
pub(in crate::cli) fn restore(args: &RestoreArgs) -> Result<Answer, Failure> {
    let path = file(&args.place.database)?;
    if !args.file.is_file() {
        return Err(Failure::File(format!("there is no backup {}", args.file.display())));
    }
    has_folder(path)?;
    wait(async {
        let audited = Sqlite::restore(&args.file, path).await.map_err(|error| match error {
            BackupError::Exists(_) => Failure::File(format!("{error} by --database")),
            error => failure(&args.file, error),
        })?;
        let care = "what was issued after this backup was made is not in it, and its numbers and request ids would be \
                    given out again. Where such quotes or invoices have gone out, issue in another series from now on.";
        let mut note = Page::default();
        note.labelled(style::CARE, "warning", care);
        let done = format!("Made {} from {}, and audited it", path.display(), args.file.display());
        Ok(Answer::new(said(&done, &audited)).with_note(note.finish()))
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

/// What was done, and how far the copy goes: whoever restores an older one gives numbers a second time.
fn said(done: &str, audited: &Audited) -> String {
    let events = usize::try_from(audited.events).unwrap_or(usize::MAX);
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, &format!("{done}: {}.", count(events, "event")));
    let numbers: Vec<String> = audited.numbers.iter().map(ToString::to_string).collect();
    if !numbers.is_empty() {
        page.paragraph(0, style::PLAIN, &format!("The last numbers in it: {}.", numbers.join(", ")));
    }
    if let Some(head) = audited.head {
        page.blank();
        let words = "Note this down where nobody can change it. Give it to `evenfare audit`, and it shows whether a \
                     store still has all that the copy has:";
        page.paragraph(0, style::PLAIN, words);
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
