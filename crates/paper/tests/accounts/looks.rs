//! How statements and the overview look, and what they say, held against what somebody has looked at.

use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use evenfare_engine::language::Language;
use evenfare_paper::sheet::{account_statement, margin_overview};
use evenfare_paper::workbook;
use evenfare_reconcile::{Inputs, reconcile};

use crate::books::{Books, month};
use crate::faults;
use crate::kinds::Fault;
use crate::looked_at::{check_lines, check_picture, check_text};
use crate::world::{Plan, Style, day, invoice_number};

pub fn plan(partners: usize, net: i64, day: u64, style: Style) -> Plan {
    Plan { partners, net, percents: [12, 8], vat: [0, 1, 0], style, day, ..Plan::default() }
}

/// Two months with a few things that are not as agreed; every second quote goes by `P-10`.
pub fn summer() -> Inputs {
    let plans = [
        plan(1, 248_000, 3, Style::ByInvoice),
        plan(0, 61_250, 8, Style::ByReference),
        plan(2, 395_500, 12, Style::InParts),
        plan(1, 120_000, 20, Style::ByQuote),
        plan(1, 187_340, 22, Style::ByInvoice),
        plan(2, 88_000, 33, Style::LessCharges),
        plan(1, 99_900, 40, Style::ByInvoice),
    ];
    let faults = [
        (0, Fault::ShareBelow),
        (2, Fault::UnpaidPart),
        (5, Fault::Courier),
        (6, Fault::VatAmount),
        (6, Fault::Overpaid),
    ];
    faults::month(&plans, &faults).inputs
}

/// The same, but June was closed before one of its invoices was there.
pub fn late() -> Inputs {
    let mut inputs = summer();
    let mut early = inputs.clone();
    early.invoices.retain(|invoice| *invoice.number != *invoice_number(4));
    early.terms.until = day(29);
    inputs.closings = vec![reconcile(&early).unwrap().close(month("2026-06")).unwrap()];
    inputs
}

/// What stands on the sheets of a book, row by row.
pub fn in_the_book(bytes: &[u8]) -> String {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let mut lines = Vec::new();
    for (name, page) in book.worksheets() {
        lines.push(format!("--- {name} ---"));
        for row in page.rows().filter(|row| row.iter().any(|cell| *cell != Data::Empty)) {
            lines.push(row.iter().map(Data::to_string).collect::<Vec<_>>().join("  "));
        }
    }
    lines.join("\n") + "\n"
}

fn check_statement(inputs: &Inputs, of: &str, language: Language, name: &str, pages: &[usize]) {
    // A month is shown by what is known at its end.
    let mut inputs = inputs.clone();
    inputs.terms.until = month(of).last_day();
    let books = Books::of(&inputs);
    let account = (&"P-10".into(), "EUR".parse().unwrap());
    books.with(account, month(of), language, |given| {
        let sheet = account_statement(given);
        check_text(name, &sheet);
        pages.iter().for_each(|page| check_picture(name, &sheet, *page));
    });
}

#[test]
fn statements_say_what_they_said() {
    for &language in Language::ALL {
        let pages: &[usize] = if language == Language::English { &[0] } else { &[] };
        check_statement(&summer(), "2026-06", language, &format!("statement-{language}"), pages);
    }
    check_statement(&late(), "2026-07", Language::English, "statement-late", &[0]);
}

#[test]
fn the_overview_says_what_it_said() {
    let books = Books::of(&late());
    for &language in Language::ALL {
        books.with_overview(&books.reconciled.overview, language, |given| {
            let sheet = margin_overview(given).unwrap();
            let name = format!("overview-{language}");
            check_text(&name, &sheet);
            if language == Language::English {
                [0, 1].iter().for_each(|page| check_picture(&name, &sheet, *page));
            }
            check_lines(&format!("{name}-book"), &in_the_book(&workbook::margin_overview(given).unwrap()));
        });
    }
}
