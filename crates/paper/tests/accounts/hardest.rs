//! The hardest that books can ask of a page.

use std::sync::Arc;

use evenfare_engine::language::Language;
use evenfare_paper::accounts::AccountStatement;
use evenfare_paper::pdf::set;
use evenfare_paper::sheet::{Block, account_statement, margin_overview};
use evenfare_paper::words::Words;
use evenfare_paper::workbook;
use evenfare_reconcile::Inputs;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::overview::{Margin, Overview};
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::told::Told;

use crate::books::{Books, month};
use crate::faults;
use crate::kinds::Fault;
use crate::looks::{plan, summer};
use crate::pages::{
    check_no_heading_ends_a_page, check_nothing_overflows, check_pages_are_filled, check_rows_stand_together,
    check_sentences_stand_with_the_rest, runs, text,
};
use crate::world::{Plan, Style, agreed, currency, day, empty, invoice};

/// A hundred letters, and no place where a line could break.
fn long() -> String {
    "Mühlenstraßenbäckereimaschinensteuerung".chars().cycle().take(100).collect()
}

/// This many invoices to one customer in June, in that currency.
fn invoiced(count: usize, net: i64, code: &str) -> Inputs {
    let mut inputs = empty();
    let rate = |code: &str, rate: &str| (day(0), currency(code), rate.parse().unwrap());
    inputs.rates = Rates::new([rate("JPY", "165.2"), rate("KWD", "0.3391")]);
    for number in 0..count {
        let plan = Plan {
            net: net + i64::try_from(number).unwrap(),
            day: u64::try_from(number % 28).unwrap(),
            ..Plan::default()
        };
        let mut of = agreed(&plan, number);
        of.currency = currency(code);
        of.sales[0].buyer = agreed(&plan, 0).sales[0].buyer.clone();
        let sale = &of.sales[0];
        inputs.invoices.push(invoice(&of, number, 0, &sale.vat, plan.net));
        inputs.agreed.push(of);
    }
    inputs
}

#[test]
fn two_hundred_lines_go_over_pages_with_a_head_on_each() {
    // Up to nine digits before the point, with no decimals, two and three.
    for (code, language) in [("JPY", Language::English), ("EUR", Language::German), ("KWD", Language::French)]
    {
        let books = Books::of(&invoiced(200, 123_456_789, code));
        let party: Arc<str> = "FR000000000".into();
        books.with((&party, currency(code)), month("2026-06"), language, |given| {
            let given = AccountStatement { differences: &Told::default(), ..*given };
            assert_eq!(given.account.lines.len(), 200);
            let sheet = account_statement(&given);
            let document = set(&sheet, &[]).unwrap();
            check_nothing_overflows(&format!("200 lines in {code}"), &document);
            check_rows_stand_together(&format!("200 lines in {code}"), &sheet, &document);
            let pages = document.pages().len();
            assert!((4..=9).contains(&pages), "{pages} pages");
            let Some(Block::Table { columns, totals, .. }) =
                sheet.blocks.iter().find(|block| matches!(block, Block::Table { .. }))
            else {
                panic!("no table")
            };
            let runs = runs(&document);
            let head = columns[0].head.as_str();
            let mut with_head: Vec<usize> =
                runs.iter().filter(|run| run.text == head).map(|run| run.page).collect();
            // Where one table ends, what is open begins.
            with_head.dedup();
            assert_eq!(with_head, (0..pages).collect::<Vec<_>>(), "the head stands on each page");
            for amount in &totals[0].cells[3..] {
                assert!(runs.iter().any(|run| run.text == *amount), "{amount} is broken");
            }
        });
    }
}

#[test]
fn long_names_wrap_and_nothing_is_nothing() {
    let books = Books::of(&summer());
    for language in [Language::Polish, Language::German] {
        let account = (&"P-10".into(), currency("EUR"));
        books.with(account, month("2026-06"), language, |given| {
            let firm = Firm { id: long().into(), name: long().into(), vat_id: Some(long().into()) };
            let given = AccountStatement { firm: &firm, address: None, ..*given };
            check_nothing_overflows("long names", &set(&account_statement(&given), &[]).unwrap());
            assert!(workbook::account_statement(&given).is_ok());
        });
        let nothing = (&"P-10".into(), currency("KWD"));
        books.with(nothing, month("2026-08"), language, |given| {
            let given = AccountStatement { differences: &Told::default(), ..*given };
            let document = set(&account_statement(&given), &[]).unwrap();
            check_nothing_overflows("no lines", &document);
            assert_eq!(document.pages().len(), 1);
            assert!(text(&document).matches("0,000").count() >= 2, "{}", text(&document));
        });
    }
}

/// A month in which each of this many quotes was charged less share than was agreed.
fn shared_too_little(count: usize) -> Inputs {
    let day = |number: usize| u64::try_from(number % 28).unwrap();
    let plans: Vec<Plan> = (0..count).map(|number| plan(1, 248_000, day(number), Style::ByInvoice)).collect();
    let faults: Vec<(usize, Fault)> = (0..count).map(|number| (number, Fault::ShareBelow)).collect();
    faults::month(&plans, &faults).inputs
}

#[test]
fn differences_stand_on_the_page_of_what_they_follow() {
    // In an account of its own currency nothing moved: what is to be told is all that there is.
    let (few, many) = (Books::of(&summer()), Books::of(&shared_too_little(60)));
    for (books, code, pages) in [(&few, "EUR", 1), (&few, "KWD", 1), (&many, "KWD", 2)] {
        for language in [Language::English, Language::German, Language::French] {
            books.with((&"P-10".into(), currency(code)), month("2026-08"), language, |given| {
                let name = format!("{} differences in {language}", given.differences.iter().count());
                let sheet = account_statement(given);
                let document = set(&sheet, &[]).unwrap();
                check_nothing_overflows(&name, &document);
                check_rows_stand_together(&name, &sheet, &document);
                check_sentences_stand_with_the_rest(&name, &sheet, &document);
                check_pages_are_filled(&name, &document);
                check_no_heading_ends_a_page(&name, &document);
                assert_eq!(document.pages().len(), pages, "{name}");
            });
        }
    }
}

/// Margins of any size, some below nothing.
fn margin(number: i64) -> Margin {
    let end_net_minor = 123_456_789 + number * 7_654_321;
    let shares_minor = end_net_minor / 10;
    let cost_minor = end_net_minor / 2 + number * 9_000_000;
    Margin {
        quotes: u64::try_from(number).unwrap() + 1,
        end_net_minor,
        shares_minor,
        workshop_net_minor: end_net_minor - shares_minor,
        cost_minor,
    }
}

/// Many partners with long names, thirty months with a gap, losses among them.
fn large() -> Overview {
    let mut overview = Overview { all: margin(40), ..Overview::default() };
    let codes: Vec<Arc<str>> =
        (0..40).map(|number| format!("P-{number:03}-{}", &long()[..30]).into()).collect();
    let mut month: Month = month("2024-01");
    for (number, code) in (0_i64..).zip(&codes) {
        if number % 2 == 0 {
            overview.by_partner.insert(code.clone(), margin(number));
            overview.by_family.insert(code.clone(), margin(number));
            let route = vec![code.clone(), codes[0].clone(), codes[1].clone()];
            overview.by_route.insert(route, margin(number));
        }
        if number != 35 {
            overview.by_month.insert(month, margin(number));
        }
        month = month.next();
    }
    overview.by_route.insert(Vec::new(), margin(1));
    overview
}

#[test]
fn a_large_overview_stays_within_its_pages() {
    let books = Books::of(&summer());
    {
        books.with_overview(&large(), Language::French, |given| {
            let sheet = margin_overview(given).unwrap();
            let document = set(&sheet, &[]).unwrap();
            check_nothing_overflows("overview", &document);
            check_rows_stand_together("overview", &sheet, &document);
            let months = sheet.blocks.iter().find_map(|block| match block {
                Block::Months { months, zero, .. } => Some((months, *zero)),
                _ => None,
            });
            let (months, zero) = months.unwrap();
            assert_eq!(months.len(), 24, "of forty months the last");
            assert!(zero > 0 && zero < 1_000, "some are below nothing");
            // April 2025 is the first; December 2026 the one of which there is nothing.
            assert_eq!((months[0].name.as_str(), months[0].year.as_deref()), ("05", Some("2025")));
            assert_eq!(months[19].columns, [(zero, 0), (zero, 0)]);
            assert_eq!((months[20].name.as_str(), months[20].year.as_deref()), ("01", Some("2027")));
            assert!(workbook::margin_overview(given).is_ok());
        });
    }
}

/// Two columns alone are no course of time: a few months are bars with their names, and one has its row alone.
#[test]
fn a_few_months_are_told_by_their_names() {
    let books = Books::of(&summer());
    let heading = Words::of(Language::English).say("over-time");
    for (count, bars, columns) in [(1, 0, 0), (2, 2, 0), (5, 5, 0), (6, 0, 6)] {
        let months = std::iter::successors(Some(month("2026-10")), |month| Some(month.next()));
        let by_month = months.take(count).map(|month| (month, margin(4))).collect();
        books.with_overview(&Overview { by_month, ..large() }, Language::English, |given| {
            let sheet = margin_overview(given).unwrap();
            let is_other = |block: &&Block| !matches!(block, Block::Heading { text } if *text == heading);
            let charted = match sheet.blocks.iter().skip_while(is_other).nth(1) {
                Some(Block::Bars { bars, .. }) => (bars.len(), 0),
                Some(Block::Months { months, .. }) => (0, months.len()),
                _ => (0, 0),
            };
            assert_eq!(charted, (bars, columns), "{count}");
        });
    }
}

#[test]
fn bars_of_losses_hang_to_the_left_of_nothing() {
    let books = Books::of(&summer());
    let mut overview = large();
    overview.by_family.retain(|_, margin| margin.quotes < 3 || margin.quotes > 38);
    assert_eq!(overview.by_route.len(), 21);
    books.with_overview(&overview, Language::English, |given| {
        let sheet = margin_overview(given).unwrap();
        let charts = sheet.blocks.iter().filter_map(|block| match block {
            Block::Bars { bars, zero, .. } => Some((bars, *zero)),
            _ => None,
        });
        let charts: Vec<_> = charts.collect();
        // Of twenty-one routes the one with the least on either side has no bar.
        let (routes, _) = charts[2];
        assert_eq!(routes.len(), 20);
        assert!(routes.iter().all(|bar| bar.length > 15), "{routes:?}");
        let (bars, zero) = charts[1];
        let (gain, loss) = (&bars[0], &bars[bars.len() - 1]);
        assert!(zero > 0 && gain.from == zero && gain.length > 0, "{gain:?}");
        assert!(loss.from + loss.length == zero && loss.length > 0, "{loss:?}");
        assert!(loss.amount.starts_with('\u{2212}'));
    });
}
