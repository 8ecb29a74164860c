//! Tables that a party is given of his own, and the names of their files.

use std::collections::BTreeSet;
use std::io::{self, Write};

use evenfare_engine::money::{Currency, Net, Overflow};
use evenfare_files::push_row;
use evenfare_reconcile::columns;
use evenfare_reconcile::earned::Earned;
use evenfare_reconcile::left_open::OpenItem;

use super::done::Done;
use super::form::NotWritten;

/// Names of files, no two alike: two parties may differ in what no file name can have.
#[derive(Default)]
pub(super) struct Names(BTreeSet<String>);

impl Names {
    /// Of a party and what his file is.
    pub(super) fn of(&mut self, party: &str, what: &str) -> String {
        self.free(&format!("{}-{what}", file_name(party)))
    }

    /// That name; with a number behind it where another has it.
    fn free(&mut self, name: &str) -> String {
        let mut own = name.to_owned();
        let mut number = 1_u32;
        while !self.0.insert(own.to_lowercase()) {
            number = number.saturating_add(1);
            own = format!("{name}-{number}");
        }
        own
    }
}

/// A party's name as a file may have it: a code stays as it is.
fn file_name(party: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '-' || c == '_' { c } else { '_' };
    party.chars().take(60).map(plain).collect()
}

/// An amount with all decimals of its currency.
pub(super) fn major(minor: i64, currency: Currency) -> Result<String, Overflow> {
    Ok(Net::from_minor(minor)?.in_major_units(currency))
}

/// A row of a table.
pub(super) fn row<const N: usize>(to: &mut dyn Write, cells: [&str; N]) -> io::Result<()> {
    let mut text = String::new();
    push_row(&mut text, &cells);
    to.write_all(text.as_bytes())
}

/// The first row of a table: the names of its columns.
pub(super) fn header<const N: usize>(columns: [(&str, &str); N], to: &mut dyn Write) -> io::Result<()> {
    row(to, columns.map(|(name, _)| name))
}

/// Opening, movements and closing of a party's account.
pub(super) fn statement(
    done: &Done,
    party: &str,
    currency: Currency,
    to: &mut dyn Write,
) -> Result<(), NotWritten> {
    let (account, month) = (done.statement(party, currency)?, done.month_of_statements());
    header(columns::STATEMENT, to)?;
    for line in columns::statement(party, currency, month, &account)? {
        row(to, line.each_ref().map(String::as_str))?;
    }
    Ok(())
}

/// What is open at the end of the month.
pub(super) fn open(done: &Done, open: &[OpenItem], to: &mut dyn Write) -> Result<(), NotWritten> {
    header(columns::OPEN, to)?;
    for line in columns::open(done.month_of_statements(), open)? {
        row(to, line.each_ref().map(String::as_str))?;
    }
    Ok(())
}

/// Volume bonuses.
pub(super) fn bonuses<'d>(
    done: &Done,
    all: impl Iterator<Item = &'d Earned>,
    to: &mut dyn Write,
) -> Result<(), NotWritten> {
    header(columns::BONUS, to)?;
    for one in all {
        row(to, columns::bonus(one, done.currency)?.each_ref().map(String::as_str))?;
    }
    Ok(())
}

/// The differences that a partner is told.
pub(super) fn told(done: &Done, party: &str, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(columns::TOLD, to)?;
    for line in columns::told(party, &done.told(party))? {
        row(to, line.each_ref().map(String::as_str))?;
    }
    Ok(())
}
