//! What settles a difference, in which month; and bonuses that are paid out.

use evenfare_reconcile::difference::{Document, Paper, Reason};
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::input::{Invoice, InvoiceKind, Payment, Trader};
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Closing;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::world::bank::Account;
use crate::world::{Plan, agreed, charge, currency, day, empty, invoice, invoice_number, payment, place};

fn months() -> [Month; 3] {
    ["2026-06", "2026-07", "2026-08"].map(|month| month.parse().unwrap())
}

/// A quote by one partner, invoiced by us and charged by him in June.
fn sold() -> Inputs {
    let mut inputs = empty();
    let of = agreed(
        &Plan { partners: 1, net: 900_000, percents: [10, 1], vat: [1; 3], day: 3, ..Plan::default() },
        0,
    );
    inputs.invoices.push(invoice(&of, 0, 0, &of.sales[0].vat, of.sales[0].net.minor()));
    inputs.invoices[0].due = Some(day(20));
    inputs.charges.push(charge(&of, 0, 1, &of.sales[1].vat, 900_000));
    inputs.agreed.push(of);
    inputs
}

fn pay(inputs: &mut Inputs, payments: &[(u64, i64, &str)]) {
    let mut account = Account::default();
    for (on, minor, words) in payments {
        let one: Payment = payment(*minor, &inputs.agreed[0].sales[0].buyer, words);
        account.book(day(*on), vec![one]);
    }
    inputs.statements = account.statements();
}

fn at_the_end(inputs: &mut Inputs, month: Month) -> Reconciled {
    inputs.terms.until = month.last_day();
    reconcile(inputs).unwrap()
}

fn closed(inputs: &mut Inputs, month: Month) -> Reconciled {
    let books = at_the_end(inputs, month);
    inputs.closings.push(books.close(month).unwrap());
    books
}

/// What was settled, on which day and by which papers.
type Told = (Reason, String, Vec<(Paper, String)>);

fn told(books: &Reconciled) -> Vec<Told> {
    let by = |one: &Document| (one.paper, one.number.to_string());
    let told = books
        .settled
        .iter()
        .map(|one| (one.found.difference.reason, one.posted.to_string(), one.by.iter().map(by).collect()));
    told.collect()
}

#[test]
fn a_payment_settles_in_its_own_month() {
    let [june, july, august] = months();
    let mut inputs = sold();
    let first = closed(&mut inputs, june);
    assert_eq!(first.differences.len(), 1, "it is unpaid: {:?}", first.differences);
    assert_eq!(told(&first), []);
    pay(&mut inputs, &[(45, 810_000, &invoice_number(0))]);
    let name = "DE02 1203 0000 0000 2020 51/S2026-07/1.1".to_owned();
    let by_payment = [(Reason::Unpaid, "2026-07-16".into(), vec![(Paper::Payment, name)])];
    assert_eq!(told(&closed(&mut inputs, july)), by_payment);
    // It stays in July, and is settled no second time.
    assert_eq!(told(&closed(&mut inputs, august)), by_payment);
    assert_eq!(inputs.closings[1].settled.len(), 1);
    assert_eq!(inputs.closings[2].settled, []);
    // Looked back at, June has it open.
    assert_eq!(at_the_end(&mut inputs, june).differences, first.differences);
}

/// A credit note of all that our invoice asks for, that spells its number in its own way.
fn taken_back(inputs: &Inputs, on: u64) -> Invoice {
    let own = inputs.invoices[0].clone();
    let preceding = Some(own.number.to_lowercase().replace('-', " ").into());
    Invoice {
        kind: InvoiceKind::CreditNote,
        number: "G-1".into(),
        issued: day(on),
        due: None,
        quote: None,
        preceding,
        ..own
    }
}

#[test]
fn a_credit_note_settles_what_it_takes_back_and_nothing_of_another() {
    let [june, july, _] = months();
    // Of July, and of June but not there when that was closed.
    for (on, posted) in [(45, "2026-07-16"), (20, "2026-07-01")] {
        let mut inputs = sold();
        closed(&mut inputs, june);
        inputs.invoices.push(taken_back(&inputs, on));
        let by_credit = [(Reason::Unpaid, posted.into(), vec![(Paper::CreditNote, "G-1".into())])];
        assert_eq!(told(&closed(&mut inputs, july)), by_credit);
        // To somebody else it settles nothing; what did is named alone.
        let stranger = Trader { name: "Somebody Else".into(), vat_id: None, country: None };
        inputs.closings.pop();
        (inputs.invoices[1].buyer, inputs.invoices[1].quote) = (stranger.into(), Some("Q-2026-0000".into()));
        assert_eq!(told(&at_the_end(&mut inputs, july)), []);
        pay(&mut inputs, &[(46, 810_000, &invoice_number(0))]);
        let books = closed(&mut inputs, july);
        let papers: Vec<Paper> = books.settled.iter().flat_map(|one| &one.by).map(|by| by.paper).collect();
        assert_eq!(papers, [Paper::Payment]);
    }
}

/// What is settled by a change of what a closed month rests on counts for the first month that is open.
#[test]
fn a_paper_that_changed_settles_in_the_open_month() {
    let [june, july, _] = months();
    let mut inputs = sold();
    pay(&mut inputs, &[(18, 810_000, &invoice_number(0))]);
    inputs.charges[0].net_minor += 500;
    assert_eq!(closed(&mut inputs, june).differences.len(), 1);
    inputs.charges[0].net_minor -= 500;
    let by_charge = |books: &Reconciled| {
        assert_eq!(
            told(books),
            [(Reason::ChargedMore, "2026-07-01".into(), vec![(Paper::Invoice, "7000".into())])]
        );
    };
    let books = at_the_end(&mut inputs, july);
    by_charge(&books);
    assert_eq!(books.settled[0].by[0].place.as_ref().map(|at| at.line), Some(1));
    by_charge(&closed(&mut inputs, july));
    // When it changes back, it is a new difference of the month that is open then.
    inputs.charges[0].net_minor += 500;
    inputs.terms.until = day(91);
    let again = reconcile(&inputs).unwrap();
    assert_eq!(
        again.differences.iter().map(|one| one.posted.to_string()).collect::<Vec<_>>(),
        ["2026-08-01"]
    );
    by_charge(&again);
}

#[test]
fn a_decision_settles_where_no_paper_does() {
    let [june, july, _] = months();
    let mut inputs = sold();
    pay(&mut inputs, &[(18, 810_000, &invoice_number(0)), (19, 5_000, "no idea"), (20, 6_000, "nor here")]);
    let first = closed(&mut inputs, june);
    assert!(first.differences.iter().all(|one| one.difference.reason == Reason::PaymentUnknown), "{first:?}");
    let decided = |line, entry, towards| {
        let account = "DE02 1203 0000 0000 2020 51".into();
        let payment = PaymentId { account, statement: "S2026-06".into(), entry, payment: 1 };
        Decision::Payment { place: place("decided.csv", line), payment, towards }
    };
    let of_invoice = Part { invoice: invoice_number(0).into(), currency: currency("EUR"), minor: 5_000 };
    inputs.decisions = vec![decided(7, 2, vec![of_invoice]), decided(8, 3, vec![])];
    let books = at_the_end(&mut inputs, july);
    // Each by its own.
    let by = |one: &Document| (one.paper, one.place.as_ref().map(|at| at.line));
    let settled: Vec<Vec<_>> = books.settled.iter().map(|one| one.by.iter().map(by).collect()).collect();
    assert_eq!(settled, [7, 8].map(|line| vec![(Paper::Payment, Some(line))]));
}

#[test]
fn a_closed_month_has_no_books_of_a_part_of_it() {
    let [june, july, _] = months();
    let mut inputs = sold();
    closed(&mut inputs, june);
    for (until, is_refused) in [(day(28), true), (day(29), false), (day(30), false), (day(0), true)] {
        inputs.terms.until = until;
        let refused = matches!(reconcile(&inputs), Err(Unreconciled::InsideClosed { .. }));
        assert_eq!(refused, is_refused, "{until}");
    }
    closed(&mut inputs, july);
}

#[test]
fn closings_are_one_chain() {
    let [june, july, august] = months();
    let mut inputs = sold();
    months().into_iter().for_each(|month| drop(closed(&mut inputs, month)));
    let [first, second, third]: [Closing; 3] = inputs.closings.clone().try_into().unwrap();
    let mut other = sold();
    other.charges[0].net_minor += 500;
    closed(&mut other, june);
    let [other]: [Closing; 1] = other.closings.try_into().unwrap();
    let mut told = |closings: &[&Closing]| {
        inputs.closings = closings.iter().copied().cloned().collect();
        reconcile(&inputs).err()
    };
    // In any order, and what is handed in twice is one.
    assert_eq!(told(&[&third, &first, &second, &first]), None);
    assert_eq!(told(&[&first, &third]), Some(Unreconciled::ClosingMissing { month: july, next: august }));
    assert_eq!(told(&[&other, &second]), Some(Unreconciled::ClosingUnlinked { month: july }));
    assert_eq!(told(&[&first, &other]), Some(Unreconciled::ClosingUnlinked { month: june }));
    let changed = Closing { in_transit: Vec::new(), differences: Vec::new(), ..first.clone() };
    assert_eq!(told(&[&changed]), Some(Unreconciled::ClosingChanged { month: june }));
}

/// Of the bonus of 1 % or more that June comes to, what is paid out is told from what is returned.
#[test]
fn a_bonus_that_is_paid_out_is_known() {
    let [_, july, august] = months();
    let mut inputs = sold();
    let owed = at_the_end(&mut inputs, august).bonuses[0].due_minor;
    assert!(owed > 0);
    pay(
        &mut inputs,
        &[(18, 810_000, &invoice_number(0)), (31, 777, "?"), (40, -777, "back"), (41, -owed, "bonus")],
    );
    let books = at_the_end(&mut inputs, august);
    let statement = books.accounts.statement(&books.journal, "P-10", currency("EUR"), july).unwrap();
    let paid: Vec<_> = statement
        .lines
        .iter()
        .filter(|line| line.transaction.source.event == Event::Payment)
        .map(|line| (line.minor, line.is_bonus_paid))
        .collect();
    assert_eq!(paid, [(-777, false), (777, false), (owed, true)]);
    // More than is owed is no bonus.
    pay(&mut inputs, &[(18, 810_000, &invoice_number(0)), (41, -owed - 1, "bonus")]);
    let books = at_the_end(&mut inputs, august);
    let statement = books.accounts.statement(&books.journal, "P-10", currency("EUR"), july).unwrap();
    assert!(statement.lines.iter().all(|line| !line.is_bonus_paid));
}
