//! One case after the other: what is matched, what is asked, what is posted.

use chrono::Days;
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::chart::{Chart, Charts, Role};
use evenfare_reconcile::columns;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::{InvoiceKind, Payment, Place};
use evenfare_reconcile::matching::{Undecided, Why};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::terms::{BankAccount, Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::{booked, reasons};
use crate::world::{self, Plan, agreed, day, empty, invoice, invoice_number, payment};

fn part(number: &str, minor: i64) -> Part {
    Part { invoice: number.into(), currency: world::currency("EUR"), minor }
}

/// Direct sales of these nets to one customer, invoiced as agreed, all in June.
fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = empty();
    for (number, &net) in nets.iter().enumerate() {
        let of = direct(net, number);
        let sale = &of.sales[0];
        inputs.invoices.push(invoice(&of, number, 0, &sale.vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

/// A direct sale without VAT; every number has the same customer.
fn direct(net: i64, number: usize) -> Agreed {
    let plan = Plan { net, vat: [1; 3], day: 3 + u64::try_from(number).unwrap(), ..Plan::default() };
    let mut of = agreed(&plan, number);
    of.sales[0].buyer = agreed(&plan, 0).sales[0].buyer.clone();
    of
}

fn from_customer(minor: i64, words: &str) -> Payment {
    payment(minor, &direct(1, 0).sales[0].buyer, words)
}

fn numbers(undecided: &Undecided) -> Vec<Vec<String>> {
    let one = |numbers: &Vec<Box<str>>| numbers.iter().map(|number| number.to_string()).collect();
    undecided.candidates.iter().map(one).collect()
}

/// A row of decisions.
fn row(line: u32) -> Place {
    Place { file: "decided.csv".into(), line }
}

fn june(entry: u32) -> PaymentId {
    PaymentId {
        account: "DE02 1203 0000 0000 2020 51".into(),
        statement: "S2026-06".into(),
        entry,
        payment: 1,
    }
}

#[test]
fn of_two_equal_invoices_neither_is_taken_and_a_decision_is_replayed() {
    let (mut inputs, asked) = booked(sold(&[5_000, 5_000]), &[(20, from_customer(5_000, "thanks"))]);
    assert_eq!(asked.undecided.len(), 1);
    assert_eq!(asked.undecided[0].why, Why::EquallyGood);
    assert_eq!(numbers(&asked.undecided[0]), [[invoice_number(0)], [invoice_number(1)]]);
    // Neither is said to be unpaid while the question is open.
    assert_eq!(reasons(&asked), []);
    let payment = asked.undecided[0].payment.clone().unwrap();
    assert_eq!(payment, june(1));
    let towards = vec![part(&invoice_number(1), 5_000)];
    inputs.decisions = vec![Decision::Payment { place: row(2), payment: payment.clone(), towards }];
    let decided = reconcile(&inputs).unwrap();
    assert_eq!(decided.undecided, []);
    assert_eq!(reasons(&decided), [("unpaid", -5_000)]);
    let unpaid = &decided.differences[0].difference.documents;
    assert!(unpaid.iter().any(|document| *document.number == *invoice_number(0)));
    // It may be for nothing that was agreed as well.
    inputs.decisions =
        vec![Decision::Payment { place: row(2), payment: payment.clone(), towards: Vec::new() }];
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("unpaid", -5_000), ("unpaid", -5_000)]);
    // Of two that differ neither is followed, and the same twice is one.
    let other = Decision::Payment {
        place: row(2),
        payment: payment.clone(),
        towards: vec![part(&invoice_number(0), 5_000)],
    };
    inputs.decisions.push(inputs.decisions[0].clone());
    assert!(reconcile(&inputs).is_ok());
    inputs.decisions.push(other);
    assert!(matches!(reconcile(&inputs), Err(Unreconciled::Undecidable(_))));
    // What does not add up, or names what is not there, is no decision.
    for (number, minor) in [(invoice_number(1), 4_999), ("R-1".to_owned(), 5_000)] {
        let towards = vec![part(&number, minor)];
        inputs.decisions = vec![Decision::Payment { place: row(2), payment: payment.clone(), towards }];
        assert!(matches!(reconcile(&inputs), Err(Unreconciled::Undecidable(_))));
    }
}

#[test]
fn equal_payments_for_as_many_equal_invoices_leave_nothing_open() {
    let twice = [(20, from_customer(5_000, "")), (25, from_customer(5_000, ""))];
    let (_, reconciled) = booked(sold(&[5_000, 5_000]), &twice);
    assert_eq!((reasons(&reconciled), reconciled.undecided.len()), (vec![], 0));
}

#[test]
fn several_ways_to_add_up_are_asked_about() {
    let (mut inputs, asked) = booked(sold(&[3_000, 7_000, 4_000, 6_000]), &[(30, from_customer(10_000, ""))]);
    assert_eq!(asked.undecided[0].why, Why::EquallyGood);
    assert_eq!(asked.undecided[0].candidates.len(), 2);
    // Either answer leaves the other two invoices to be paid.
    for (parts, left) in asked.undecided[0].parts.iter().zip([[4_000, 6_000], [3_000, 7_000]]) {
        let towards = parts.clone();
        let payment = asked.undecided[0].payment.clone().unwrap();
        inputs.decisions = vec![Decision::Payment { place: row(2), payment, towards }];
        let decided = reconcile(&inputs).unwrap();
        assert_eq!(reasons(&decided), left.map(|minor| ("unpaid", -minor)));
    }
    let (_, reconciled) = booked(sold(&[3_000, 7_000, 4_500, 6_000]), &[(30, from_customer(10_000, ""))]);
    assert_eq!(reconciled.undecided, []);
    assert_eq!(reasons(&reconciled), [("unpaid", -4_500), ("unpaid", -6_000)]);
}

#[test]
fn beyond_the_bound_it_is_asked_not_searched() {
    let nets: Vec<i64> = (0..25).map(|n| 1_000 + n).collect();
    let (_, reconciled) = booked(sold(&nets), &[(40, from_customer(2_003, ""))]);
    assert_eq!(reconciled.undecided.len(), 1);
    assert_eq!(reconciled.undecided[0].why, Why::TooMany);
    assert_eq!(reconciled.undecided[0].candidates.len(), 8);
    assert_eq!(reasons(&reconciled), [], "any may be paid by it, also those that are not told");
    // With 24 it is searched: 1000 + 1003 and 1001 + 1002 are equally good.
    let (_, reconciled) = booked(sold(&nets[..24]), &[(40, from_customer(2_003, ""))]);
    assert_eq!(reconciled.undecided[0].why, Why::EquallyGood);
}

#[test]
fn a_part_is_taken_where_one_invoice_only_can_take_it() {
    let (_, reconciled) = booked(sold(&[9_000, 700]), &[(30, from_customer(1_000, ""))]);
    assert_eq!(reconciled.undecided, []);
    assert_eq!(reasons(&reconciled), [("unpaid", -700), ("unpaid", -8_000)]);
    let (_, reconciled) = booked(sold(&[9_000, 7_000]), &[(30, from_customer(1_000, ""))]);
    assert_eq!(reconciled.undecided[0].why, Why::PartOfSeveral);
    let told = [("unpaid", -8_000), ("unpaid", -6_000)];
    assert_eq!(reasons(&reconciled), told, "all but what was paid is owed whatever the answer is");
    // Two parts of one invoice, and two parts that fit two invoices.
    let parts = [(30, from_customer(1_000, "")), (31, from_customer(8_000, ""))];
    assert_eq!(reasons(&booked(sold(&[9_000, 9_500]), &parts).1), [("unpaid", -9_500)]);
    let (_, reconciled) = booked(sold(&[9_000, 9_000]), &parts);
    assert_eq!(reconciled.undecided.len(), 2);
    assert_eq!(reasons(&reconciled), []);
}

#[test]
fn a_payment_of_a_stranger_is_asked_about_where_its_amount_fits() {
    let mut stranger = from_customer(5_000, "");
    stranger.party = Some("Nobody We Know".into());
    let (inputs, reconciled) = booked(sold(&[5_000]), &[(20, stranger.clone())]);
    assert_eq!(numbers(&reconciled.undecided[0]), [[invoice_number(0)]]);
    // His account tells who he is, and so does an account from which an invoice was paid before.
    stranger.party_account = Some("FR76 3000".into());
    let (mut inputs, _) = booked(inputs, &[(20, stranger.clone())]);
    let firm = direct(1, 0).sales[0].buyer.id.clone();
    let place = Place { file: "bank_accounts.csv".into(), line: 2 };
    inputs.terms.accounts = vec![BankAccount { place, account: "fr763000".into(), firm }];
    let reconciled = reconcile(&inputs).unwrap();
    assert_eq!((reasons(&reconciled), reconciled.undecided.len()), (vec![], 0));
    inputs.terms.accounts.clear();
    let mut named = stranger.clone();
    (named.minor, named.remittance) = (6_000, invoice_number(1).into());
    let (_, reconciled) = booked(sold(&[5_000, 6_000]), &[(20, named), (21, stranger)]);
    assert_eq!((reasons(&reconciled), reconciled.undecided.len()), (vec![], 0));
}

#[test]
fn a_reversal_takes_a_payment_back() {
    for words in [invoice_number(0), String::new()] {
        let there = from_customer(5_000, &words);
        let back = Payment { minor: -5_000, ..there.clone() };
        let (mut inputs, _) = booked(sold(&[5_000]), &[(20, there), (24, back)]);
        inputs.statements[0].batches[1].reversal = true;
        let reconciled = reconcile(&inputs).unwrap();
        assert_eq!(reasons(&reconciled), [("unpaid", -5_000)], "{words}");
        let party = &direct(1, 0).sales[0].buyer.id;
        let june: Month = "2026-06".parse().unwrap();
        let eur = world::currency("EUR");
        let account = reconciled.accounts.statement(&reconciled.journal, party, eur, june).unwrap();
        assert_eq!(account.closing_minor, 5_000, "{words}");
    }
}

#[test]
fn what_a_bank_keeps_back_of_an_entry_is_posted() {
    let (mut inputs, _) = booked(sold(&[5_000]), &[(20, from_customer(5_000, &invoice_number(0)))]);
    inputs.statements[0].batches[0].minor = 4_880;
    let reconciled = reconcile(&inputs).unwrap();
    assert_eq!(reasons(&reconciled), []);
    let balance = |role| {
        let balances = reconciled.journal.balances().unwrap();
        balances.iter().find(|(of, _)| *of == role).unwrap().1
    };
    assert_eq!(balance(Role::Bank), 4_880);
    assert_eq!(balance(Role::BankCharges), 120);
    assert_eq!(balance(Role::Receivable), 0);
}

#[test]
fn credit_notes_take_invoices_back() {
    let mut inputs = sold(&[5_000]);
    let mut credit = inputs.invoices[0].clone();
    (credit.kind, credit.number) = (InvoiceKind::CreditNote, "G-1".into());
    (credit.preceding, credit.issued) = (Some(invoice_number(0).into()), day(9));
    inputs.invoices.push(credit);
    // The whole: nothing is invoiced then, and a new invoice sets it right.
    assert_eq!(reasons(&reconcile(&inputs).unwrap()), [("invoice_missing", -5_000)]);
    let mut again = inputs.invoices[0].clone();
    (again.number, again.issued) = ("R-NEW-9".into(), day(10));
    inputs.invoices.push(again);
    let (inputs, reconciled) = booked(inputs, &[(20, from_customer(5_000, "Q-2026-0000"))]);
    assert_eq!(reasons(&reconciled), []);
    // Paid before it was taken back: the money is still to go back.
    let paid_old = [(20, from_customer(5_000, "Q-2026-0000")), (8, from_customer(5_000, &invoice_number(0)))];
    assert_eq!(reasons(&booked(inputs, &paid_old).1), [("overpaid", 5_000)]);
    // A part: less is to be paid than was agreed.
    let mut inputs = sold(&[5_000]);
    let mut part = inputs.invoices[0].clone();
    (part.kind, part.number) = (InvoiceKind::CreditNote, "G-2".into());
    (part.net_minor, part.gross_minor, part.vat[0].base_minor) = (700, 700, 700);
    inputs.invoices.push(part);
    let (_, reconciled) = booked(inputs, &[(20, from_customer(4_300, &invoice_number(0)))]);
    assert_eq!(reasons(&reconciled), [("charged_less", -700)]);
}

#[test]
fn an_invoice_without_a_number_is_matched_by_whom_what_and_when() {
    let mut inputs = sold(&[5_000, 6_000]);
    inputs.invoices[0].quote = None;
    let paid = [(20, from_customer(11_000, ""))];
    assert_eq!(reasons(&booked(inputs.clone(), &paid).1), []);
    // Two quotes of one amount: a person says which, and it is replayed.
    let mut inputs = sold(&[5_000, 5_000]);
    inputs.invoices.truncate(1);
    inputs.invoices[0].quote = None;
    let asked = reconcile(&inputs).unwrap();
    assert_eq!(asked.undecided.len(), 1);
    assert_eq!(numbers(&asked.undecided[0]), [["Q-2026-0000"], ["Q-2026-0001"]]);
    inputs.decisions = vec![Decision::Invoice {
        place: row(2),
        seller: "workshop".into(),
        number: invoice_number(0).into(),
        quote: Some("Q-2026-0001".into()),
    }];
    let decided = reconcile(&inputs).unwrap();
    assert_eq!(decided.undecided, []);
    let missing = decided.differences.iter().find(|one| one.difference.reason.code() == "invoice_missing");
    assert_eq!(missing.unwrap().difference.quote.as_deref(), Some("Q-2026-0000"));
}

/// The buyer's own order stood before it. Of two sales of that amount it was asked which is meant.
#[test]
fn a_quote_is_named_by_whatever_an_invoice_refers_to() {
    let mut inputs = sold(&[5_000, 5_000]);
    inputs.invoices.truncate(1);
    let missing = |inputs: &Inputs| {
        let books = reconcile(inputs).unwrap();
        let told = books.differences.iter().map(|one| &one.difference);
        let missing = told.filter(|one| one.reason.code() == "invoice_missing");
        let quotes: Vec<_> = missing.map(|one| one.quote.as_deref().unwrap().to_owned()).collect();
        (books.undecided.len(), quotes)
    };
    let mention = |texts: &[&str]| texts.iter().map(|text| (*text).into()).collect();
    // Of two it is asked, as if there were none.
    inputs.invoices[0].references = mention(&["Q-2026-0001", "Q-2026-0000"]);
    inputs.invoices[0].quote = Some("4500012345".into());
    assert_eq!(missing(&inputs), (1, vec![]));
    inputs.invoices[0].references = mention(&["thank you", "your quote q 2026-0001", "Q-2026-0001"]);
    for (quote, without) in [(Some("4500012345"), "Q-2026-0000"), (Some("Q-2026-0000"), "Q-2026-0001")] {
        inputs.invoices[0].quote = quote.map(Into::into);
        assert_eq!(missing(&inputs), (0, vec![without.to_owned()]));
    }
}

#[test]
fn the_revision_that_was_accepted_last_counts() {
    let mut inputs = sold(&[5_000]);
    let mut before = inputs.agreed[0].clone();
    before.sales[0].net = evenfare_engine::money::Net::from_minor(4_000).unwrap();
    inputs.agreed[0].revision = 2;
    inputs.agreed.push(before.clone());
    let (mut inputs, reconciled) = booked(inputs, &[(20, from_customer(5_000, &invoice_number(0)))]);
    assert_eq!(reasons(&reconciled), []);
    before.revision = 2;
    inputs.agreed.push(before);
    assert!(matches!(reconcile(&inputs), Err(Unreconciled::AgreedTwice { revision: 2, .. })));
}

#[test]
fn what_is_found_late_is_posted_to_the_open_month() {
    let (mut inputs, open) = booked(sold(&[5_000]), &[(20, from_customer(5_000, &invoice_number(0)))]);
    let (june, july): (Month, Month) = ("2026-06".parse().unwrap(), "2026-07".parse().unwrap());
    assert!(matches!(open.close(july), Err(Unreconciled::ClosingOutOfOrder { .. })));
    inputs.closings = vec![open.close(june).unwrap()];
    // An invoice of June turns up that nobody had.
    let late = direct(8_000, 4);
    inputs.invoices.push(invoice(&late, 4, 0, &late.sales[0].vat, 8_000));
    inputs.agreed.push(late);
    let after = reconcile(&inputs).unwrap();
    let (one, postings) = after.journal.transactions().last().unwrap();
    assert_eq!((one.day, one.posted), (day(7), july.first_day()));
    assert_eq!(postings.len(), 2);
    let eur = world::currency("EUR");
    let party = &direct(1, 0).sales[0].buyer.id;
    let account = |month| after.accounts.statement(&after.journal, party, eur, month).unwrap();
    assert_eq!((account(june).closing_minor, account(july).opening_minor), (0, 0));
    assert_eq!(account(july).closing_minor, 8_000);
    assert_eq!(after.differences[0].posted, july.first_day());
    assert!(after.close(june).is_err());
    inputs.terms.until = july.last_day().pred_opt().unwrap();
    let early = reconcile(&inputs).unwrap().close(july);
    assert!(matches!(early, Err(Unreconciled::MonthNotOver { .. })));
    inputs.terms.until = july.last_day();
    let second = after.close(july).unwrap();
    inputs.closings.push(second);
    assert!(reconcile(&inputs).is_ok());
    inputs.closings.remove(0);
    assert_eq!(reconcile(&inputs), Err(Unreconciled::ClosingMissing { month: june, next: july }));
}

#[test]
fn one_invoice_is_paid_in_another_currency_within_the_bound() {
    let mut inputs = sold(&[111_720]);
    let usd = world::currency("USD");
    inputs.agreed[0].currency = usd;
    inputs.invoices[0].currency = usd;
    // 1117.20 USD are 1000.00 EUR; the bank takes nine per mille.
    let check = |came: i64, expect: &[(&str, i64)]| {
        let (_, reconciled) = booked(inputs.clone(), &[(20, from_customer(came, &invoice_number(0)))]);
        assert_eq!(reasons(&reconciled), expect, "{came}");
        let balances = reconciled.journal.balances().unwrap();
        balances.iter().find(|(role, _)| *role == Role::Exchange).unwrap().1
    };
    assert_eq!(check(100_000, &[]), 0);
    assert_eq!(check(99_100, &[]), 900);
    assert_eq!(check(100_900, &[]), -900);
    // Further off, and it is a part payment at the reference rate.
    assert_eq!(check(90_000, &[("unpaid", -11_172)]), 0);
}

#[test]
fn the_chart_names_accounts() {
    let chart = Chart::new([(Role::Bank, "1800".into())]);
    let (inputs, reconciled) = booked(sold(&[5_000]), &[(20, from_customer(4_999, &invoice_number(0)))]);
    let charts = Charts::new(chart.clone(), []);
    let lines = columns::lines(&reconciled.journal, &charts, inputs.terms.currency);
    let lines: Vec<String> = lines.map(|line| line.unwrap().join(",")).collect();
    let payment = "payment,DE02 1203 0000 0000 2020 51/S2026-06/1.1,FR000000000";
    assert_eq!(
        lines,
        [
            format!(
                "1,2026-06-04,2026-06-04,invoice,{},FR000000000,receivable,50.00,,EUR,50.00,EUR",
                invoice_number(0)
            ),
            format!(
                "1,2026-06-04,2026-06-04,invoice,{},FR000000000,revenue,,50.00,EUR,-50.00,EUR",
                invoice_number(0)
            ),
            format!("2,2026-06-21,2026-06-21,{payment},1800,49.99,,EUR,49.99,EUR"),
            format!("2,2026-06-21,2026-06-21,{payment},receivable,,49.99,EUR,-49.99,EUR"),
            format!(
                "3,2026-06-21,2026-06-21,rounding,{},FR000000000,receivable,,0.01,EUR,-0.01,EUR",
                invoice_number(0)
            ),
            format!(
                "3,2026-06-21,2026-06-21,rounding,{},FR000000000,rounding,0.01,,EUR,0.01,EUR",
                invoice_number(0)
            ),
        ]
    );
    assert_eq!((chart.account(Role::Bank), chart.account(Role::Revenue)), ("1800", "revenue"));
    let last = day(30) + Days::new(1);
    assert_eq!(Month::of(last).to_string(), "2026-07");
}
