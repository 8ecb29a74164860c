//! Statements tie to the cent in every form in which they go out.

use std::io::Cursor;

use calamine::{Data, Range, Reader, Xlsx};
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Net};
use evenfare_paper::accounts::AccountStatement;
use evenfare_paper::sheet::{self, Block};
use evenfare_paper::words::Words;
use evenfare_paper::workbook;
use evenfare_reconcile::account::PartyStatement;
use evenfare_reconcile::columns;
use proptest::prelude::*;
use proptest::sample::Index;

use crate::books::{Books, month};
use crate::faults::{self, some_faults};
use crate::world::empty;

/// A statement as one of its forms says it: in minor units, read back from what stands there.
#[derive(Debug, PartialEq, Eq)]
struct Said {
    opening: i64,
    /// Charged, credited, and the balance after it.
    lines: Vec<[i64; 3]>,
    closing: [i64; 3],
    /// What is open, item by item.
    open: Vec<i64>,
}

/// What the books say.
fn said(account: &PartyStatement<'_>) -> Said {
    let line = |minor: i64, balance: i64| [minor.max(0), (-minor).max(0), balance];
    Said {
        opening: account.opening_minor,
        lines: account.lines.iter().map(|one| line(one.minor, one.balance_minor)).collect(),
        closing: [account.charged_minor, -account.credited_minor, account.closing_minor],
        open: account.open.iter().map(|one| one.minor).collect(),
    }
}

/// An amount as any language writes it, with all decimals of its currency.
fn minor(written: &str) -> i64 {
    let digits: String = written.chars().filter(char::is_ascii_digit).collect();
    let minor: i64 = if digits.is_empty() { 0 } else { digits.parse().unwrap() };
    if written.starts_with(['\u{2212}', '-']) { -minor } else { minor }
}

fn on_the_sheet(given: &AccountStatement<'_>) -> Said {
    let sheet = sheet::account_statement(given);
    let table = |block: &'_ Block| match block {
        Block::Table { groups, totals, .. } => Some((groups[0].rows.clone(), totals.clone())),
        _ => None,
    };
    let (rows, totals) = sheet.blocks.iter().find_map(table).unwrap();
    let heading = Words::of(given.language).say("open-items");
    let is_heading = |block: &&Block| matches!(block, Block::Heading { text } if *text == heading);
    let below = sheet.blocks.iter().skip_while(|block| !is_heading(block)).find_map(table);
    let open = below.map(|(rows, totals)| {
        assert_eq!(minor(&totals[0].cells[4]), given.account.closing_minor);
        rows.iter().map(|row| minor(&row.cells[4])).collect()
    });
    let amounts = |cells: &[String]| [3, 4, 5].map(|place| minor(&cells[place]));
    let (opening, lines) = rows.split_first().unwrap();
    Said {
        opening: amounts(&opening.cells)[2],
        lines: lines.iter().map(|row| amounts(&row.cells)).collect(),
        closing: amounts(&totals[0].cells),
        open: open.unwrap_or_default(),
    }
}

/// A number of a book as an amount of that currency.
pub fn typed(cell: Option<&Data>, currency: Currency) -> i64 {
    match cell {
        None | Some(Data::Empty) => 0,
        Some(Data::Float(number)) => minor(&format!("{number:.*}", usize::from(currency.exponent()))),
        Some(other) => panic!("{other:?} is no amount"),
    }
}

fn in_the_book(given: &AccountStatement<'_>) -> Said {
    let bytes = workbook::account_statement(given).unwrap();
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let page: Range<Data> = book.worksheet_range_at(0).unwrap().unwrap();
    let words = Words::of(given.language);
    let at = |id: &str| {
        let text = words.say(id);
        page.rows().position(|row| matches!(&row[1], Data::String(found) if *found == text)).unwrap()
    };
    let rows: Vec<&[Data]> = page.rows().collect();
    let amounts = |row: usize| [3, 4, 5].map(|place| typed(rows[row].get(place), given.currency));
    let (first, last) = (at("opening-balance"), at("closing-balance"));
    let of_open = |row: &[Data]| typed(row.get(4), given.currency);
    let open = book.worksheet_range(&words.say("open-items")).map(|page| {
        let rows: Vec<i64> = page
            .rows()
            .skip_while(|row| row[0] != Data::String(words.say("date")))
            .skip(1)
            .map(of_open)
            .collect();
        let (closing, items) = rows.split_last().unwrap();
        assert_eq!(*closing, given.account.closing_minor);
        items.to_vec()
    });
    Said {
        opening: amounts(first)[2],
        lines: (first + 1..last).map(amounts).collect(),
        closing: amounts(last),
        open: open.unwrap_or_default(),
    }
}

fn in_the_lines(given: &AccountStatement<'_>) -> Said {
    let lines = columns::statement(&given.firm.id, given.currency, given.month, given.account).unwrap();
    let amounts = |line: &[String; 10]| [7, 8, 9].map(|place| minor(&line[place]));
    let [opening, between @ .., closing] = lines.as_slice() else { panic!("{lines:?}") };
    Said {
        opening: amounts(opening)[2],
        lines: between.iter().map(amounts).collect(),
        closing: amounts(closing),
        open: columns::open(given.month, &given.account.open)
            .unwrap()
            .iter()
            .map(|line| minor(&line[7]))
            .collect(),
    }
}

/// Opening and lines come to the closing, and so does what is open.
fn check(said: &Said) {
    let mut balance = said.opening;
    let mut sides = [0, 0];
    for [charged, credited, after] in &said.lines {
        balance += charged - credited;
        sides = [sides[0] + charged, sides[1] + credited];
        assert_eq!(balance, *after);
    }
    assert_eq!([sides[0], sides[1], balance], said.closing);
    assert_eq!(said.open.iter().sum::<i64>(), balance);
}

/// As many cases as are asked for; a failure is shown, not kept in a file.
fn config() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn statement_ties_to_the_cent(
        (plans, faults) in some_faults(),
        language in prop::sample::select(Language::ALL.to_vec()),
        chosen in any::<Index>(),
    ) {
        let books = Books::of(&faults::month(&plans, &faults).inputs);
        let accounts = books.accounts();
        // A book takes longer than all the rest; it is made of one account a case.
        let chosen = (!accounts.is_empty()).then(|| chosen.index(accounts.len()));
        for (place, (party, currency)) in accounts.iter().enumerate() {
            let mut opening = 0;
            for month in ["2026-06", "2026-07", "2026-08"].map(month) {
                books.with((party, *currency), month, language, |given| {
                    let expected = said(given.account);
                    check(&expected);
                    assert_eq!(expected.opening, opening, "the closing of a month is the opening of the next");
                    opening = expected.closing[2];
                    assert_eq!(on_the_sheet(given), expected);
                    assert_eq!(in_the_lines(given), expected);
                    if chosen == Some(place) {
                        assert_eq!(in_the_book(given), expected);
                    }
                });
            }
        }
    }

    /// No amount is so large that a spreadsheet changes it.
    #[test]
    fn every_amount_comes_back_from_a_book(
        minor in -Net::MAX_MINOR..=Net::MAX_MINOR,
        code in prop::sample::select(vec!["JPY", "EUR", "KWD", "CLF"]),
    ) {
        let books = Books::of(&empty());
        let account = PartyStatement {
            opening_minor: minor,
            lines: Vec::new(),
            charged_minor: 0,
            credited_minor: 0,
            closing_minor: minor,
            open: Vec::new(),
        };
        let currency = code.parse().unwrap();
        books.with((&"P-10".into(), currency), month("2026-06"), Language::English, |given| {
            let given = AccountStatement { account: &account, ..*given };
            assert_eq!(in_the_book(&given), said(&account));
        });
    }
}
