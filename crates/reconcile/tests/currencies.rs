//! Invoices of several currencies paid at once.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

#[path = "laws/world.rs"]
#[allow(dead_code)]
mod world;
mod booked;

use booked::{booked, reasons};
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Place;
use evenfare_reconcile::reconcile;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use world::{Plan, agreed, empty, invoice, invoice_number, payment};

/// Two direct sales to one customer, of these nets; the one that is said is in dollars (1.1172 for a euro).
/// He pays both at once, in euro, and a person decides that he did.
fn paid_at_once(nets: [i64; 2], dollars: usize, euro: i64) -> Vec<(&'static str, i64)> {
    let mut inputs = empty();
    let of = |number: usize| {
        let in_dollars = number == dollars;
        Plan { net: nets[number], vat: [1; 3], day: 3 + number as u64, in_dollars, ..Plan::default() }
    };
    let buyer = agreed(&of(0), 0).sales[0].buyer.clone();
    let mut towards = Vec::new();
    for (number, net) in nets.into_iter().enumerate() {
        let mut of = agreed(&of(number), number);
        of.sales[0].buyer = buyer.clone();
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        towards.push(Part { invoice: invoice_number(number).into(), currency: of.currency, minor: net });
        inputs.agreed.push(of);
    }
    let (mut inputs, _) = booked(inputs, &[(20, payment(euro, &buyer, "both"))]);
    let statement = &inputs.statements[0];
    let payment = PaymentId {
        account: (&*statement.account).into(),
        statement: (&*statement.id).into(),
        entry: 1,
        payment: 1,
    };
    let place = Place { file: "decided.csv".into(), line: 2 };
    inputs.decisions = vec![Decision::Payment { place, payment, towards }];
    let decided = reconcile(&inputs).unwrap();
    assert_eq!(decided.undecided, []);
    let sum: i128 = decided.journal.balances().unwrap().iter().map(|(_, sum)| sum).sum();
    assert_eq!(sum, 0);
    let owed = decided.journal.balances().unwrap().into_iter().find(|(role, _)| *role == Role::Receivable);
    assert_eq!(owed.unwrap().1, 0, "both are cleared");
    reasons(&decided)
}

/// 100 USD are 89.51 EUR. Minor units of several currencies were added up, and went by the rate of the first.
#[test]
fn a_decision_over_two_currencies_is_held_against_the_rate_of_each() {
    for dollars in [0, 1] {
        let mut nets = [1_000_000; 2];
        nets[dollars] = 10_000;
        assert_eq!(paid_at_once(nets, dollars, 1_008_951), []);
        // 1 % of what is in dollars may be the bank's: 0.89 EUR.
        assert_eq!(paid_at_once(nets, dollars, 1_008_951 + 89), []);
        assert_eq!(paid_at_once(nets, dollars, 1_008_951 - 90), [("currency", -90)]);
        assert_eq!(paid_at_once(nets, dollars, 1_000_001), [("currency", 1 - 8_951)]);
    }
}
