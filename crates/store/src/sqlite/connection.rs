//! Connections to the file, and bringing it up to date.

use std::path::Path;
use std::time::{Duration, Instant};

use chrono::Utc;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension as _, TransactionBehavior, ffi};

use super::tables::unavailable;
use crate::refused::StoreError;

/// The versions of the tables, in order: the first is 1.
const MIGRATIONS: [&str; 5] = [
    include_str!("../../migrations/sqlite/0001_quotes.sql"),
    include_str!("../../migrations/sqlite/0002_callers.sql"),
    include_str!("../../migrations/sqlite/0003_invoices.sql"),
    include_str!("../../migrations/sqlite/0004_fewer_pages.sql"),
    include_str!("../../migrations/sqlite/0005_rows_stay.sql"),
];

/// How long one process waits for another that writes, or takes the log over.
const BUSY: Duration = Duration::from_secs(5);

/// A connection to write by, to a file that is up to date.
pub(super) fn prepared(path: &Path) -> Result<Connection, StoreError> {
    let mut connection = to_write(path)?;
    migrate(&mut connection)?;
    Ok(connection)
}

/// A connection to write by. A file of something else, or of a later version, is left as it is.
pub(super) fn to_write(path: &Path) -> Result<Connection, StoreError> {
    private(path);
    let connection = open_to_write(path).map_err(|error| unavailable(&error))?;
    known(&connection)?;
    set_to_write(&connection).map_err(|error| unavailable(&error))?;
    Ok(connection)
}

fn open_to_write(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    connection.busy_timeout(BUSY)?;
    Ok(connection)
}

fn set_to_write(connection: &Connection) -> rusqlite::Result<()> {
    patiently(|| connection.pragma_update(None, "journal_mode", "WAL"))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // Checkpoints have a thread of their own.
    connection.pragma_update(None, "wal_autocheckpoint", 0)?;
    // 8 MiB: the inner pages of all indexes.
    connection.pragma_update(None, "cache_size", -8_192)?;
    keep_plans(connection)?;
    patiently(|| flushed(connection))
}

/// Statements are planned once, and not again whenever other values are bound to them.
fn keep_plans(connection: &Connection) -> rusqlite::Result<()> {
    connection.set_prepared_statement_cache_capacity(64);
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true).map(drop)
}

/// A process that was killed may have written what it had not flushed. It is found in the log all the same, and would be
/// answered for: so the log is flushed first, which SQLite does where it takes it over into the file.
fn flushed(connection: &Connection) -> rusqlite::Result<()> {
    let busy = connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", (), |row| row.get(0))?;
    if busy { Err(rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_BUSY), None)) } else { Ok(()) }
}

/// Two processes that turn the log on or take it over at once are told that it is busy, without any waiting.
fn patiently(mut work: impl FnMut() -> rusqlite::Result<()>) -> rusqlite::Result<()> {
    let begun = Instant::now();
    loop {
        match work() {
            Err(error)
                if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) && begun.elapsed() < BUSY =>
            {
                // A server with much to do takes the log over again and again, with little time between.
                std::thread::sleep(Duration::from_millis(1));
            }
            done => return done,
        }
    }
}

/// Makes the file, where there is none, for its owner alone: costs, shares and the hashes of tokens stand in it.
/// SQLite gives the files beside it the same rights. Where it cannot be made, SQLite will say why.
pub(super) fn private(path: &Path) {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let _ = options.open(path);
}

/// A connection that cannot write.
pub(super) fn to_read(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags).map_err(|error| unavailable(&error))?;
    let set = connection.busy_timeout(BUSY).and_then(|()| keep_plans(&connection));
    set.map_err(|error| unavailable(&error))?;
    Ok(connection)
}

fn migrate(connection: &mut Connection) -> Result<(), StoreError> {
    let found = known(connection)?;
    for (to, sql) in (1..).zip(MIGRATIONS).filter(|(to, _)| *to > found) {
        step(connection, to, sql)?;
    }
    Ok(())
}

/// The version of the tables, which is none after those that are known here.
pub(super) fn known(connection: &Connection) -> Result<i64, StoreError> {
    let known = i64::try_from(MIGRATIONS.len()).unwrap_or(i64::MAX);
    match version(connection)? {
        found if found > known => Err(StoreError::Newer { found, known }),
        found => Ok(found),
    }
}

/// One migration, unless another process has been faster.
fn step(connection: &mut Connection, to: i64, sql: &str) -> Result<(), StoreError> {
    let failed = |error: rusqlite::Error| unavailable(&error);
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
    if version(&transaction)? >= to {
        return Ok(());
    }
    transaction
        .execute_batch(
            "CREATE TABLE IF NOT EXISTS evenfare_versions (version INTEGER PRIMARY KEY, applied INTEGER NOT NULL) STRICT",
        )
        .map_err(failed)?;
    transaction.execute_batch(sql).map_err(failed)?;
    transaction
        .execute("INSERT INTO evenfare_versions VALUES (?1, ?2)", (to, Utc::now().timestamp_micros()))
        .map_err(failed)?;
    transaction.commit().map_err(failed)
}

/// The version of the tables; 0 in an empty file.
pub(super) fn version(connection: &Connection) -> Result<i64, StoreError> {
    let failed = |error: rusqlite::Error| unavailable(&error);
    let table = "SELECT name FROM sqlite_schema ORDER BY name = 'evenfare_versions' DESC LIMIT 1";
    let found: Option<String> =
        connection.query_row(table, (), |row| row.get(0)).optional().map_err(failed)?;
    match found.as_deref() {
        None => Ok(0),
        Some("evenfare_versions") => connection
            .query_row("SELECT coalesce(max(version), 0) FROM evenfare_versions", (), |row| row.get(0))
            .map_err(failed),
        Some(_) => Err(StoreError::Corrupt("the file holds tables of something else".to_owned())),
    }
}
