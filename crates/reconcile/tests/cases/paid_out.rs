//! Money that went out to a party that is known, for nothing known: it is on the account, so it is told.

use std::sync::Arc;

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::Payment;
use evenfare_reconcile::{Inputs, reconcile};

use crate::booked::{booked, reasons};
use crate::world::{Plan, agreed, day, empty, invoice, invoice_number, payment};

fn partner() -> Arc<Firm> {
    Arc::new(Firm { id: "P-10".into(), name: "Partner P-10".into(), vat_id: None })
}

/// 2000.00 to partner P-10, who has a bonus of 1.5 %: 30.00 at the end of June.
fn sold() -> Inputs {
    let mut inputs = empty();
    let mut of = agreed(&Plan { net: 200_000, vat: [1; 3], day: 3, ..Plan::default() }, 1);
    of.sales[0].buyer = partner();
    inputs.invoices.push(invoice(&of, 1, 0, &of.sales[0].vat, 200_000));
    inputs.agreed.push(of);
    inputs
}

/// The account said that he owes 30.00, and no list did.
#[test]
fn a_bonus_that_is_paid_twice_is_told() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let out = |on, minor: i64| (on, payment(-minor, &partner(), "bonus"));
    for (payments, told, owes) in [
        (vec![out(32, 3_000)], vec![], 0),
        (vec![out(32, 3_000), out(40, 3_000)], vec![("paid_unknown", -3_000)], 3_000),
        (vec![out(32, 2_000), out(40, 1_000)], vec![], 0),
        (vec![out(29, 3_000)], vec![], 0),
        // Before the month was over nothing was owed, and more than is owed is none of it.
        (vec![out(20, 3_000)], vec![("paid_unknown", -3_000)], 0),
        (vec![out(32, 3_001)], vec![("paid_unknown", -3_001)], 1),
    ] {
        let all: Vec<(u64, Payment)> = [paid.clone()].into_iter().chain(payments).collect();
        let (_, books) = booked(sold(), &all);
        assert_eq!(reasons(&books), told, "{all:?}");
        assert_eq!(books.accounts.months().last().unwrap().closing_minor, owes, "{all:?}");
    }
}

#[test]
fn what_returns_what_came_in_is_not_told_and_strangers_are_no_business() {
    let paid = (10, payment(200_000, &partner(), &invoice_number(1)));
    let came = |minor| payment(minor, &partner(), "by mistake");
    let (_, books) = booked(sold(), &[paid.clone(), (11, came(700)), (12, came(-700))]);
    assert_eq!(reasons(&books), []);
    // Once it is back, the next one is for nothing.
    let (_, books) = booked(sold(), &[paid.clone(), (11, came(700)), (12, came(-700)), (13, came(-700))]);
    assert_eq!(reasons(&books), [("paid_unknown", -700)]);
    let stranger = Firm { id: "X".into(), name: "Parts Ltd".into(), vat_id: None };
    let (inputs, books) = booked(sold(), &[paid.clone(), (12, payment(-700, &stranger, "parts"))]);
    assert_eq!(reasons(&books), []);
    // What he sent by mistake, and got back, is left on no account.
    let (_, books) =
        booked(sold(), &[paid, (11, payment(700, &stranger, "")), (12, payment(-700, &stranger, ""))]);
    assert_eq!(reasons(&books), []);
    let balances = books.journal.balances().unwrap();
    assert!(balances.iter().all(|(role, minor)| *role != Role::Unapplied || *minor == 0));
    // Nothing of it is of a day that is not looked at.
    let mut early = inputs;
    early.terms.until = day(11);
    assert_eq!(reasons(&reconcile(&early).unwrap()), []);
}
