//! Questions to a database and rows out of it, in the terms that both databases share.
//!
//! Statements name their values `$1`, `$2`, in the order in which these first appear: so both count them
//! alike.

use std::borrow::Cow;
use std::fmt::Display;
use std::str::FromStr;

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::text::Code;

use crate::digest::Digest;
use crate::refused::{Refused, StoreError};

/// A value of a statement.
#[derive(Debug, Clone)]
pub(crate) enum Value<'a> {
    Int(Option<i64>),
    Flag(bool),
    Text(Option<Cow<'a, str>>),
    Day(Option<NaiveDate>),
    Bytes(Option<Cow<'a, [u8]>>),
}

/// A statement with its values.
#[derive(Debug, Clone)]
pub(crate) struct Ask<'a> {
    pub(crate) sql: Cow<'static, str>,
    pub(crate) values: Vec<Value<'a>>,
}

/// A value out of a database.
#[derive(Debug, Clone)]
pub(crate) enum Cell {
    Null,
    Int(i64),
    Text(String),
    Day(NaiveDate),
    Bytes(Vec<u8>),
    /// What a column cannot hold, in words: nobody reads it.
    Garbled(String),
}

/// A row, read from left to right.
#[derive(Debug)]
pub(crate) struct Row(pub(crate) std::vec::IntoIter<Cell>);

/// Why a statement or a request was not done.
#[derive(Debug)]
pub(crate) enum Fault {
    /// The request is against the rules. Nothing of it was written.
    Refused(Refused),
    /// The request alone failed.
    Alone(StoreError),
    /// The transaction failed; whether it is worth doing it again.
    Whole { error: StoreError, again: bool },
}

/// A transaction, or a connection to read from.
pub(crate) trait Tables {
    /// Asks all of it at once; the rows of each.
    async fn read(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Row>>, Fault>;

    /// Writes all of it, in order, or none of it.
    async fn keep(&self, asks: &[Ask<'_>]) -> Result<(), Fault>;
}

impl From<Refused> for Fault {
    fn from(refused: Refused) -> Self {
        Self::Refused(refused)
    }
}

impl From<Fault> for StoreError {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Refused(refused) => Self::Refused(refused),
            Fault::Alone(error) | Fault::Whole { error, .. } => error,
        }
    }
}

/// What is kept does not read as what it should be.
pub(crate) fn corrupt(what: impl Into<String>) -> Fault {
    Fault::Alone(StoreError::Corrupt(what.into()))
}

/// The same, and of what.
pub(crate) fn said_of(whose: impl Display, fault: Fault) -> Fault {
    match fault {
        Fault::Alone(StoreError::Corrupt(what)) => corrupt(format!("{whose}: {what}")),
        fault => fault,
    }
}

/// The same, and of which event.
pub(crate) fn of_event(sequence: impl Display, fault: Fault) -> Fault {
    said_of(format_args!("event {sequence}"), fault)
}

impl<'a> Ask<'a> {
    pub(crate) fn new(sql: impl Into<Cow<'static, str>>, values: Vec<Value<'a>>) -> Self {
        Self { sql: sql.into(), values }
    }
}

/// One question alone.
pub(crate) async fn ask(tables: &impl Tables, ask: Ask<'_>) -> Result<Vec<Row>, Fault> {
    Ok(tables.read(&[ask]).await?.pop().unwrap_or_default())
}

/// A sequence as databases count. There are never more events than fit.
pub(crate) fn sequence_value(sequence: u64) -> Value<'static> {
    i64::try_from(sequence).unwrap_or(i64::MAX).into()
}

impl From<i64> for Value<'_> {
    fn from(int: i64) -> Self {
        Self::Int(Some(int))
    }
}

impl From<u32> for Value<'_> {
    fn from(int: u32) -> Self {
        i64::from(int).into()
    }
}

impl From<bool> for Value<'_> {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(Some(text.into()))
    }
}

impl From<String> for Value<'_> {
    fn from(text: String) -> Self {
        Self::Text(Some(text.into()))
    }
}

impl<'a> From<&'a Code> for Value<'a> {
    fn from(code: &'a Code) -> Self {
        code.as_str().into()
    }
}

impl From<NaiveDate> for Value<'_> {
    fn from(day: NaiveDate) -> Self {
        Self::Day(Some(day))
    }
}

impl<'a> From<&'a [u8]> for Value<'a> {
    fn from(bytes: &'a [u8]) -> Self {
        Self::Bytes(Some(bytes.into()))
    }
}

impl<'a> From<&'a Digest> for Value<'a> {
    fn from(digest: &'a Digest) -> Self {
        digest.as_bytes().as_slice().into()
    }
}

impl From<DateTime<Utc>> for Value<'_> {
    fn from(moment: DateTime<Utc>) -> Self {
        moment.timestamp_micros().into()
    }
}

impl Row {
    fn next(&mut self) -> Cell {
        self.0.next().unwrap_or(Cell::Null)
    }

    /// An integer that fits the type asked for.
    pub(crate) fn optional_int<T: TryFrom<i64>>(&mut self, column: &str) -> Result<Option<T>, Fault> {
        match self.next() {
            Cell::Null => Ok(None),
            Cell::Int(int) => T::try_from(int).map(Some).map_err(|_| unreadable(column, &Cell::Int(int))),
            other => Err(unreadable(column, &other)),
        }
    }

    pub(crate) fn int<T: TryFrom<i64>>(&mut self, column: &str) -> Result<T, Fault> {
        self.optional_int(column)?.ok_or_else(|| unreadable(column, &Cell::Null))
    }

    pub(crate) fn flag(&mut self, column: &str) -> Result<bool, Fault> {
        match self.int(column)? {
            0 => Ok(false),
            1 => Ok(true),
            // One way to write it: the digests are taken over what it says.
            other => Err(unreadable(column, &Cell::Int(other))),
        }
    }

    pub(crate) fn optional_text(&mut self, column: &str) -> Result<Option<String>, Fault> {
        match self.next() {
            Cell::Null => Ok(None),
            Cell::Text(text) => Ok(Some(text)),
            other => Err(unreadable(column, &other)),
        }
    }

    pub(crate) fn text(&mut self, column: &str) -> Result<String, Fault> {
        self.optional_text(column)?.ok_or_else(|| unreadable(column, &Cell::Null))
    }

    /// What is written as text.
    pub(crate) fn parsed<T: FromStr>(&mut self, column: &str) -> Result<T, Fault> {
        let text = self.text(column)?;
        text.parse().map_err(|_| unreadable(column, &Cell::Text(text)))
    }

    pub(crate) fn optional_parsed<T: FromStr>(&mut self, column: &str) -> Result<Option<T>, Fault> {
        let Some(text) = self.optional_text(column)? else { return Ok(None) };
        text.parse().map(Some).map_err(|_| unreadable(column, &Cell::Text(text)))
    }

    /// What has a stable name.
    pub(crate) fn named<T>(
        &mut self,
        column: &str,
        from_name: impl FnOnce(&str) -> Option<T>,
    ) -> Result<T, Fault> {
        let text = self.text(column)?;
        from_name(&text).ok_or_else(|| unreadable(column, &Cell::Text(text)))
    }

    pub(crate) fn optional_day(&mut self, column: &str) -> Result<Option<NaiveDate>, Fault> {
        match self.next() {
            Cell::Null => Ok(None),
            Cell::Day(day) => Ok(Some(day)),
            Cell::Text(text) => match text.parse::<NaiveDate>() {
                // One way to write a day: the digests are taken over that.
                Ok(day) if day.to_string() == text => Ok(Some(day)),
                _ => Err(unreadable(column, &Cell::Text(text))),
            },
            other => Err(unreadable(column, &other)),
        }
    }

    pub(crate) fn day(&mut self, column: &str) -> Result<NaiveDate, Fault> {
        self.optional_day(column)?.ok_or_else(|| unreadable(column, &Cell::Null))
    }

    pub(crate) fn optional_moment(&mut self, column: &str) -> Result<Option<DateTime<Utc>>, Fault> {
        let Some(micros) = self.optional_int(column)? else { return Ok(None) };
        let moment = DateTime::from_timestamp_micros(micros);
        moment.map(Some).ok_or_else(|| unreadable(column, &Cell::Int(micros)))
    }

    pub(crate) fn moment(&mut self, column: &str) -> Result<DateTime<Utc>, Fault> {
        self.optional_moment(column)?.ok_or_else(|| unreadable(column, &Cell::Null))
    }

    pub(crate) fn bytes(&mut self, column: &str) -> Result<Vec<u8>, Fault> {
        match self.next() {
            Cell::Bytes(bytes) => Ok(bytes),
            other => Err(unreadable(column, &other)),
        }
    }

    pub(crate) fn digest(&mut self, column: &str) -> Result<Digest, Fault> {
        self.optional_digest(column)?.ok_or_else(|| unreadable(column, &Cell::Null))
    }

    pub(crate) fn optional_digest(&mut self, column: &str) -> Result<Option<Digest>, Fault> {
        match self.next() {
            Cell::Null => Ok(None),
            Cell::Bytes(bytes) => match Digest::try_from(bytes.as_slice()) {
                Ok(digest) => Ok(Some(digest)),
                Err(_) => Err(unreadable(column, &Cell::Bytes(bytes))),
            },
            other => Err(unreadable(column, &other)),
        }
    }
}

fn unreadable(column: &str, found: &Cell) -> Fault {
    corrupt(match found {
        Cell::Null => format!("{column} is missing"),
        Cell::Int(int) => format!("{column} cannot be {int}"),
        Cell::Day(day) => format!("{column} cannot be {day}"),
        Cell::Text(text) => format!("{column} cannot be `{}`", text.chars().take(60).collect::<String>()),
        Cell::Bytes(bytes) => format!("{column} cannot be {} bytes", bytes.len()),
        Cell::Garbled(what) => format!("{column} cannot be {what}"),
    })
}
