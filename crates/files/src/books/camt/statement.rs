//! Statements: what the account held, what moved it, and that the one follows from the other.

use std::ops::RangeInclusive;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_reconcile::input::{Balance, Batch, Statement, Status};

use crate::books::camt::entry::{Book, Told, dated};
use crate::books::figure::{begin, currency, need, need_line, place, shown};
use crate::log::Log;
use crate::source::Bytes;
use crate::xml_tree::{Element, Root, parse_each};

/// The versions that are read.
const VERSIONS: [Root<'static>; 2] = [
    ("Document", "urn:iso:std:iso:20022:tech:xsd:camt.053.001.02"),
    ("Document", "urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"),
];

/// The entries of a statement, and where each says when it was booked.
#[derive(Default)]
struct Entries {
    batches: Vec<Batch>,
    booked_at: Vec<Bytes>,
}

/// Reads all statements of a text; what is wrong is in the log.
///
/// Transactions and entries are taken over as they end, so that of a long statement only what it says is
/// held, and not the tree of its elements.
pub(in crate::books) fn parse(text: &str, log: &mut Log) -> Vec<Statement> {
    let mut statements = Vec::new();
    let (mut entries, mut payments): (Entries, Vec<Told>) = Default::default();
    let root = parse_each(text, &VERSIONS, log, |open, element, log| {
        let [_, _, within @ ..] = open else { return Some(element) };
        match (within, element.name) {
            ([], "Stmt") => {
                statements.extend(statement(&element, std::mem::take(&mut entries), log));
                None
            }
            ([statement], "Ntry") => {
                let told = std::mem::take(&mut payments);
                if let Some(batch) = book(statement).and_then(|book| book.entry(&element, told, log)) {
                    entries.booked_at.push(booked_at(&element));
                    entries.batches.push(batch);
                }
                None
            }
            ([statement, entry, _], "TxDtls") => {
                payments.extend(book(statement).and_then(|book| book.transaction(&element, entry, log)));
                None
            }
            _ => Some(element),
        }
    });
    if let Some(root) = root {
        // Whatever stood in it was taken over; it may be empty by now.
        if root.first("BkToCstmrStmt").is_none() {
            log.error(begin(&root), "missing_key", "", "BkToCstmrStmt in Document");
        } else if statements.is_empty() && log.errors() == 0 {
            log.error(begin(&root), "missing_key", "", "a statement (Stmt)");
        }
    }
    statements
}

/// Of the account; where it does not say, of its first balance. None is reported at the statement's end.
fn book(statement: &Element<'_>) -> Option<Book> {
    Some(Book { currency: code(statement)?.parse::<Currency>().ok()?, any_label: false })
}

fn code<'e>(statement: &'e Element<'_>) -> Option<&'e str> {
    let own = statement.at(&["Acct", "Ccy"]).map(|code| &*code.text);
    own.or_else(|| statement.at(&["Bal", "Amt"])?.attribute("Ccy"))
}

fn statement(element: &Element<'_>, entries: Entries, log: &mut Log) -> Option<Statement> {
    let Entries { batches, booked_at } = entries;
    let id = need_line(element, &["Id"], log);
    let account = match element.at(&["Acct", "Id", "Othr", "Id"]) {
        Some(_) => need_line(element, &["Acct", "Id", "Othr", "Id"], log),
        None => need_line(element, &["Acct", "Id", "IBAN"], log),
    };
    let at = element.at(&["Acct", "Ccy"]).map_or_else(|| begin(element), |code| code.text_bytes.clone());
    let currency = currency(code(element).unwrap_or_default(), at, log)?;
    let book = Book { currency, any_label: false };
    // A statement in several parts has interim balances where one part follows another.
    let opening = balance(element, &["OPBD", "PRCD"], |all| all.first().copied());
    let closing = balance(element, &["CLBD"], |all| all.last().copied());
    let read = |found: Option<&Element<'_>>, name: &str, log: &mut Log| {
        let Some(found) = found else {
            log.error(begin(element), "missing_key", "", format!("a balance {name}"));
            return None;
        };
        let day = dated(found, "Dt", log).or_else(|| {
            need(found, &["Dt", "Dt"], log);
            None
        });
        Some(Balance { minor: book.signed(found, None, log)?, day: day? })
    };
    let open = read(opening, "OPBD (or PRCD)", log);
    let close = read(closing, "CLBD", log);
    let (open, close) = (open?, close?);
    let booked = batches.iter().filter(|batch| batch.status == Status::Booked);
    let sum = booked.fold(i128::from(open.minor), |sum, batch| sum.saturating_add(i128::from(batch.minor)));
    // Entries that were refused are not in the sum.
    if log.errors() == 0 && sum != i128::from(close.minor) {
        let at = closing
            .and_then(|balance| balance.first("Amt"))
            .map_or_else(|| begin(element), |amount| amount.text_bytes.clone());
        let found = shown(i128::from(close.minor), currency);
        let expected = format!("{}, the opening balance and every booked entry", shown(sum, currency));
        log.error(at, "does_not_tie", &found, expected);
    }
    if close.day < open.day {
        let at = closing.map_or_else(|| begin(element), |closing| day_at(closing, "Dt"));
        let expected = format!("{} or later, for that is the day of the opening balance", open.day);
        log.error(at, "out_of_range", &close.day.to_string(), expected);
    } else {
        in_its_days(&batches, booked_at, open.day..=close.day, log);
    }
    Some(Statement {
        place: place(element.bytes.start, log),
        id: id?,
        account: account?,
        currency,
        opening: open,
        closing: close,
        batches,
    })
}

/// What was booked on another day than the statement is of belongs to another statement.
fn in_its_days(batches: &[Batch], booked_at: Vec<Bytes>, days: RangeInclusive<NaiveDate>, log: &mut Log) {
    for (batch, at) in batches.iter().zip(booked_at) {
        if batch.status == Status::Booked && !days.contains(&batch.booked) {
            let (from, to) = (days.start(), days.end());
            let expected = format!("a day from {from} to {to}, the days of the statement's balances");
            log.error(at, "out_of_range", &batch.booked.to_string(), expected);
        }
    }
}

/// Where an entry says when it was booked.
fn booked_at(entry: &Element<'_>) -> Bytes {
    let name = if entry.first("BookgDt").is_some() { "BookgDt" } else { "ValDt" };
    day_at(entry, name)
}

/// Where the day or the moment at that name stands.
fn day_at(element: &Element<'_>, name: &str) -> Bytes {
    let day = element.first(name).and_then(|choice| choice.first("Dt").or_else(|| choice.first("DtTm")));
    day.map_or_else(|| begin(element), |day| day.text_bytes.clone())
}

/// The first balance of those kinds, in their order, else the interim one that is chosen.
fn balance<'e, 'a>(
    statement: &'e Element<'a>,
    kinds: &[&str],
    choose: impl Fn(&[&'e Element<'a>]) -> Option<&'e Element<'a>>,
) -> Option<&'e Element<'a>> {
    let of = |kind: &str| -> Vec<&'e Element<'a>> {
        let is_it = |balance: &&Element<'_>| {
            balance.at(&["Tp", "CdOrPrtry", "Cd"]).is_some_and(|code| code.text == kind)
        };
        statement.all("Bal").filter(is_it).collect()
    };
    kinds.iter().find_map(|kind| of(kind).first().copied()).or_else(|| choose(&of("ITBD")))
}
