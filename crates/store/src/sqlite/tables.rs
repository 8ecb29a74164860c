//! Statements on a connection of SQLite.

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use rusqlite::types::{ToSql, ToSqlOutput, ValueRef};
use rusqlite::{CachedStatement, Connection, ErrorCode};

use crate::refused::StoreError;
use crate::tables::{Ask, Cell, Fault, Row, Tables, Value};

/// A connection, inside or outside a transaction.
pub(crate) struct Open<'a>(pub(crate) &'a Connection);

/// The same without a savepoint around each request, which has SQLite copy every page before it is changed. What
/// cannot be written may be there by half: the transaction has to be given up.
pub(super) struct Unguarded<'a>(pub(super) Open<'a>);

/// What such a connection has to say is there at once.
pub(crate) fn ready<T>(future: impl Future<Output = T>) -> T {
    let mut future = pin!(future);
    let mut context = Context::from_waker(Waker::noop());
    loop {
        if let Poll::Ready(answer) = future.as_mut().poll(&mut context) {
            return answer;
        }
    }
}

impl Open<'_> {
    fn bound(&self, ask: &Ask<'_>) -> rusqlite::Result<CachedStatement<'_>> {
        let mut statement = self.0.prepare_cached(&ask.sql)?;
        for (index, value) in (1..).zip(&ask.values) {
            debug_assert_eq!(
                statement.parameter_name(index),
                Some(format!("${index}").as_str()),
                "{}",
                ask.sql
            );
            statement.raw_bind_parameter(index, value)?;
        }
        Ok(statement)
    }

    fn rows(&self, ask: &Ask<'_>) -> rusqlite::Result<Vec<Row>> {
        let mut statement = self.bound(ask)?;
        let columns = statement.column_count();
        let mut answers = statement.raw_query();
        let mut rows = Vec::new();
        while let Some(answer) = answers.next()? {
            let cell = |column| Ok(cell_of(answer.get_ref(column)?));
            let cells = (0..columns).map(cell).collect::<rusqlite::Result<Vec<_>>>()?;
            rows.push(Row(cells.into_iter()));
        }
        Ok(rows)
    }

    fn insert(&self, asks: &[Ask<'_>]) -> rusqlite::Result<()> {
        asks.iter().try_for_each(|ask| self.bound(ask)?.raw_execute().map(drop))
    }

    fn insert_guarded(&self, asks: &[Ask<'_>]) -> rusqlite::Result<()> {
        self.run("SAVEPOINT request")?;
        self.insert(asks)?;
        self.run("RELEASE request")
    }

    /// A statement without values and rows.
    pub(crate) fn run(&self, sql: &str) -> rusqlite::Result<()> {
        self.0.prepare_cached(sql)?.raw_execute().map(|_| ())
    }
}

impl Tables for Open<'_> {
    async fn read(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Row>>, Fault> {
        asks.iter().map(|ask| self.rows(ask).map_err(fault)).collect()
    }

    async fn keep(&self, asks: &[Ask<'_>]) -> Result<(), Fault> {
        let Err(error) = self.insert_guarded(asks) else { return Ok(()) };
        // A full disk may have rolled everything back by itself.
        for undo in ["ROLLBACK TO request", "RELEASE request"] {
            self.run(undo).map_err(|_| Fault::Whole { error: unavailable(&error), again: false })?;
        }
        Err(fault(error))
    }
}

impl Tables for Unguarded<'_> {
    async fn read(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Row>>, Fault> {
        self.0.read(asks).await
    }

    async fn keep(&self, asks: &[Ask<'_>]) -> Result<(), Fault> {
        self.0.insert(asks).map_err(|error| match fault(error) {
            Fault::Alone(error) => Fault::Whole { error, again: true },
            whole => whole,
        })
    }
}

impl ToSql for Value<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self {
            Value::Int(Some(int)) => ToSqlOutput::from(*int),
            Value::Flag(flag) => ToSqlOutput::from(*flag),
            Value::Text(Some(text)) => ToSqlOutput::from(text.as_ref()),
            Value::Day(Some(day)) => ToSqlOutput::from(day.to_string()),
            Value::Bytes(Some(bytes)) => ToSqlOutput::from(bytes.as_ref()),
            Value::Int(None) | Value::Text(None) | Value::Day(None) | Value::Bytes(None) => {
                ToSqlOutput::Borrowed(ValueRef::Null)
            }
        })
    }
}

fn cell_of(value: ValueRef<'_>) -> Cell {
    match value {
        ValueRef::Null => Cell::Null,
        ValueRef::Integer(int) => Cell::Int(int),
        // Tables are strict: there are none.
        ValueRef::Real(real) => Cell::Garbled(real.to_string()),
        // A text in its place could have the digest of what was written.
        ValueRef::Text(text) => String::from_utf8(text.to_vec())
            .map_or_else(|_| Cell::Garbled(format!("{} bytes that are no text", text.len())), Cell::Text),
        ValueRef::Blob(bytes) => Cell::Bytes(bytes.to_vec()),
    }
}

fn fault(error: rusqlite::Error) -> Fault {
    match error.sqlite_error_code() {
        Some(ErrorCode::ConstraintViolation | ErrorCode::TooBig | ErrorCode::TypeMismatch) => {
            Fault::Alone(unavailable(&error))
        }
        _ => Fault::Whole { error: unavailable(&error), again: false },
    }
}

/// The database's own words.
pub(crate) fn unavailable(error: &rusqlite::Error) -> StoreError {
    let text = error.to_string();
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => StoreError::Corrupt(text),
        _ => StoreError::Unavailable(text),
    }
}
