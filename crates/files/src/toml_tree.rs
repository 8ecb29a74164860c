//! TOML into the tree.

use std::borrow::Cow;
use std::collections::BTreeSet;

use chrono::NaiveDate;
use toml::Spanned;
use toml::de::{DeInteger, DeTable, DeValue};

use crate::hint;
use crate::log::Log;
use crate::node::{Entry, Kind, Node};
use crate::source::Bytes;

/// Parses the whole text. Every syntax error is reported, and what can be read beside them is
/// read: values on a line with a syntax error count as reported.
pub(crate) fn parse<'a>(text: &'a str, log: &mut Log) -> Node<'a> {
    let (root, errors) = DeTable::parse_recoverable(text);
    let mut broken = BTreeSet::new();
    let mut commas: usize = 0;
    for error in errors {
        // Where a list is not closed, every line after it lacks a comma.
        commas = if error.message().starts_with("missing comma") { commas.saturating_add(1) } else { 0 };
        let bytes = error.span().unwrap_or(0..0);
        // One mistake on a line often makes the parser stumble again on the same line.
        if broken.insert(log.line(bytes.start)) && commas <= 1 {
            let found = text.get(bytes.clone()).unwrap_or_default();
            let found = found.lines().next().unwrap_or_default().trim();
            match day_in(text, bytes.start) {
                Some((bytes, found, day)) => {
                    log.error(bytes, "toml_syntax", found, format!("{day}: year, month, day"));
                }
                None => log.error(bytes, "toml_syntax", found, expected(error.message())),
            }
        }
    }
    log.partial |= !broken.is_empty();
    let broken = Broken { lines: broken, log };
    Node::new(0..0, table(root.into_inner(), &broken))
}

/// The day that is written `2.11.2026` on the line of that byte, and where.
fn day_in(text: &str, at: usize) -> Option<(Bytes, &str, NaiveDate)> {
    let begin = text.get(..at)?.rfind('\n').map_or(0, |line| line.saturating_add(1));
    let line = text.get(begin..)?.lines().next()?;
    let (key, value) = line.split_once('=')?;
    let written = value.split('#').next()?.trim();
    let spaces = value.len().saturating_sub(value.trim_start().len());
    let start = begin.saturating_add(key.len()).saturating_add(1).saturating_add(spaces);
    Some((start..start.saturating_add(written.len()), written, hint::dotted_day(written)?))
}

/// What the parser says, as what was expected.
fn expected(message: &str) -> String {
    match message {
        "duplicate key" => String::from("each key once in a table"),
        message if message.starts_with("string values must be quoted") => {
            String::from("a value; text stands in quotes")
        }
        message => match message.split_once(", expected ") {
            Some((what, "nothing")) => format!("nothing more ({what})"),
            Some((what, expected)) => format!("{expected} ({what})"),
            None => format!("valid TOML: {message}"),
        },
    }
}

/// The lines with syntax errors.
struct Broken<'l> {
    lines: BTreeSet<usize>,
    log: &'l Log,
}

impl Broken<'_> {
    fn has(&self, at: usize) -> bool {
        self.within(&(at..at))
    }

    fn within(&self, bytes: &Bytes) -> bool {
        // Most files have none, and then no line has to be counted.
        let lines = || self.log.line(bytes.start)..=self.log.line(bytes.end);
        !self.lines.is_empty() && self.lines.range(lines()).next().is_some()
    }
}

fn table<'a>(table: DeTable<'a>, broken: &Broken) -> Kind<'a> {
    let mut entries: Vec<Entry> = table
        .into_iter()
        .map(|(key, value)| Entry {
            key_bytes: key.span(),
            key: key.into_inner(),
            value: node(value, broken),
        })
        .filter(|entry| !matches!(entry.value.kind, Kind::Table(_)) || !broken.has(entry.key_bytes.start))
        .collect();
    entries.sort_by_key(|entry| entry.key_bytes.start);
    Kind::Table(entries)
}

fn node<'a>(value: Spanned<DeValue<'a>>, broken: &Broken) -> Node<'a> {
    let bytes = value.span();
    let kind = match value.into_inner() {
        DeValue::Table(entries) => table(entries, broken),
        DeValue::Array(_) if broken.within(&bytes) => Kind::Unreadable,
        DeValue::Array(nodes) => Kind::List(nodes.into_iter().map(|value| node(value, broken)).collect()),
        // Without a place it is what the parser put where nothing could be read.
        _ if bytes.is_empty() || broken.has(bytes.start) => Kind::Unreadable,
        DeValue::String(text) => Kind::Text(text),
        DeValue::Integer(integer) => Kind::Integer(in_decimal(&integer)),
        DeValue::Float(float) => Kind::Float(Cow::Owned(float.as_str().to_owned())),
        DeValue::Boolean(boolean) => Kind::Boolean(boolean),
        DeValue::Datetime(datetime) => match (datetime.date, datetime.time) {
            (Some(date), None) => {
                NaiveDate::from_ymd_opt(date.year.into(), date.month.into(), date.day.into())
                    .map_or(Kind::Time, Kind::Date)
            }
            _ => Kind::Time,
        },
    };
    Node::new(bytes, kind)
}

/// Hexadecimal and the like keep their prefix, so that they are refused by name where digits are
/// expected.
fn in_decimal<'a>(integer: &DeInteger) -> Cow<'a, str> {
    if integer.radix() == 10 {
        let text = integer.as_str();
        Cow::Owned(text.strip_prefix('+').unwrap_or(text).to_owned())
    } else {
        Cow::Owned(integer.to_string())
    }
}
