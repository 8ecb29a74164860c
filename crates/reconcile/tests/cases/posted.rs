//! What is posted of payments: on whose account, against which part of the books, and of which days.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::booked::{booked, reasons};
use crate::held_back::decided;
use crate::own::{balance, between, sold};
use crate::world::{Plan, agreed, currency, day, empty, invoice_number, payment};

fn stranger() -> Firm {
    Firm { id: "X".into(), name: "Somebody".into(), vat_id: None }
}

/// A payment of the customer of a sale.
fn from(inputs: &Inputs, sale: usize, minor: i64, words: &str) -> Payment {
    payment(minor, &inputs.agreed[sale].sales[0].buyer, words)
}

/// Whose accounts payments are on.
fn parties(books: &Reconciled) -> Vec<Option<&str>> {
    let payments = books.journal.transactions().filter(|(one, _)| one.source.event == Event::Payment);
    payments.map(|(one, _)| one.source.party.as_deref()).collect()
}

/// Between accounts of ours it is nobody's money, whatever name the bank writes beside it.
#[test]
fn a_transfer_is_on_no_account() {
    let mut inputs = between(&[(3, -50_000, false)], "EUR", &[(5, 50_000, false)]);
    let customer = inputs.agreed[0].sales[0].buyer.name.clone();
    for statement in &mut inputs.statements {
        statement.batches[0].payments[0].party = Some(customer.as_ref().into());
    }
    let books = reconcile(&inputs).unwrap();
    assert_eq!((parties(&books), reasons(&books)), (vec![None, None], vec![]));
    assert_eq!((balance(&books, Role::Transit), balance(&books, Role::Bank)), (0, 0));
}

/// What is for nothing that was agreed is cleared with the rest of the books: by a person's word, or as it went to nobody
/// known. What came in from nobody known may still be for something.
#[test]
fn what_is_no_business_of_these_books_is_cleared_elsewhere() {
    let inputs = sold(&[5_000]);
    let paid = (8, from(&inputs, 0, 5_000, &invoice_number(0)));
    let of_customer = from(&inputs, 0, 700, "for the flowers");
    let [came, went] = [700, -700].map(|minor| payment(minor, &stranger(), "for the flowers"));
    // What banks kept back on the way was sent as well.
    let [in_part, all] =
        [100, 700].map(|kept| Payment { minor: 700 - kept, charges_minor: kept, ..came.clone() });
    for (one, decisions, cleared, unapplied, told) in [
        (of_customer.clone(), vec![decided(2, &[])], -700, 0, vec![]),
        (of_customer, vec![], 0, -700, vec![("payment_unknown", 700)]),
        (went, vec![], 700, 0, vec![]),
        (came, vec![], 0, -700, vec![("payment_unknown", 700)]),
        (in_part, vec![], 0, -700, vec![("payment_unknown", 700)]),
        (all, vec![], 0, -700, vec![("payment_unknown", 700)]),
    ] {
        let (mut inputs, _) = booked(inputs.clone(), &[paid.clone(), (9, one.clone())]);
        inputs.decisions = decisions;
        let books = reconcile(&inputs).unwrap();
        let posted = [Role::Clearing, Role::Unapplied].map(|role| balance(&books, role));
        assert_eq!((posted, reasons(&books)), ([cleared, unapplied], told), "{one:?}");
    }
}

/// Somebody without papers of his own pays two invoices of one customer, and between them one of another.
#[test]
fn what_is_paid_for_several_is_on_the_account_of_each() {
    let mut inputs = sold(&[5_000, 6_000, 7_000]);
    let buyer = inputs.agreed[0].sales[0].buyer.clone();
    (inputs.agreed[2].sales[0].buyer, inputs.invoices[2].buyer) = (buyer, inputs.invoices[0].buyer.clone());
    let all = [0, 1, 2].map(invoice_number).join(", ");
    let (_, books) = booked(inputs, &[(20, payment(18_000, &stranger(), &all))]);
    assert_eq!((reasons(&books), balance(&books, Role::Clearing)), (vec![], 0));
    let accounts = books.accounts.months().iter();
    let accounts: Vec<_> = accounts.map(|one| (&*one.party, one.paid_minor, one.closing_minor)).collect();
    assert_eq!(accounts, [("FR000000000", -12_000, 0), ("FR000000001", -6_000, 0)]);
}

#[test]
fn what_rounding_leaves_is_written_off_and_not_a_cent_more() {
    let inputs = sold(&[5_000]);
    for (paid, written_off, left, told) in [
        (4_998, 2, 0, ("rounding", -2)),
        (4_997, 0, 3, ("unpaid", -3)),
        (5_002, -2, 0, ("rounding", 2)),
        (5_003, 0, -3, ("overpaid", 3)),
    ] {
        let one = from(&inputs, 0, paid, &invoice_number(0));
        let (_, books) = booked(inputs.clone(), &[(20, one)]);
        let posted = [Role::Rounding, Role::Receivable].map(|role| balance(&books, role));
        assert_eq!((posted, reasons(&books)), ([written_off, left], vec![told]), "{paid}");
    }
}

/// An invoice of the fourth that is due on the 18th, and paid on the 21st.
#[test]
fn what_is_of_the_last_day_is_there() {
    let inputs = sold(&[5_000]);
    let paid = from(&inputs, 0, 5_000, &invoice_number(0));
    let (mut inputs, _) = booked(inputs, &[(20, paid)]);
    for (until, invoiced, told) in [
        (2, 0, vec![]),
        (3, 5_000, vec![]),
        (16, 5_000, vec![]),
        (17, 5_000, vec![("unpaid", -5_000)]),
        (19, 5_000, vec![("unpaid", -5_000)]),
        (20, 5_000, vec![]),
    ] {
        inputs.terms.until = day(until);
        let books = reconcile(&inputs).unwrap();
        assert_eq!((books.overview.invoiced_minor(), reasons(&books)), (Ok(invoiced), told), "{until}");
        assert_eq!(books.overview.all.workshop_net_minor, invoiced, "{until}");
    }
}

/// Two quotes of 100.05 USD are paid in advance on an account of dollars. Each is 89.55 EUR, and what came in 179.11: no
/// rate made anything of it.
#[test]
fn what_is_held_for_several_quotes_is_worth_what_came_in() {
    let mut inputs = empty();
    for number in 0..2 {
        let plan = Plan { net: 10_005, vat: [1; 3], day: 60, in_dollars: true, ..Plan::default() };
        let mut of = agreed(&plan, number);
        of.accepted = day(2);
        if let Some(first) = inputs.agreed.first() {
            of.sales[0].buyer = first.sales[0].buyer.clone();
        }
        inputs.agreed.push(of);
    }
    inputs.terms.until = day(50);
    let paid = from(&inputs, 0, 20_010, "Q-2026-0000 Q-2026-0001");
    let (mut inputs, _) = booked(inputs, &[(8, paid)]);
    inputs.statements[0].currency = currency("USD");
    let books = reconcile(&inputs).unwrap();
    let (_, postings) = books.journal.transactions().next().unwrap();
    let posted: Vec<_> = postings.iter().map(|one| (one.role, one.minor, one.base_minor)).collect();
    let held = |base| (Role::Unapplied, -10_005, base);
    assert_eq!(posted, [(Role::Bank, 20_010, 17_911), held(-8_955), held(-8_956)]);
    assert_eq!((reasons(&books), books.undecided.len()), (vec![], 0));
}

/// A bank may list a transfer of nothing, or one that its charges took: nothing is on its way, however long ago it was.
#[test]
fn a_transfer_of_nothing_is_not_in_transit() {
    let nothing = between(&[(3, 0, false)], "EUR", &[]);
    let mut charged = between(&[(3, -500, false)], "CHF", &[]);
    charged.statements[0].batches[0].payments[0].charges_minor = 500;
    for inputs in [nothing, charged] {
        let books = reconcile(&inputs).unwrap();
        assert_eq!((books.in_transit.len(), reasons(&books)), (0, vec![]));
    }
}
