//! Payments on an account, and what comes of them.

use evenfare_reconcile::input::Payment;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::world::bank::Account;
use crate::world::{Plan, agreed, day, empty, invoice, payment};

/// Direct sales of these nets without VAT to one customer, invoiced in June.
pub fn sold(nets: &[i64]) -> Inputs {
    let mut inputs = empty();
    for (number, &net) in nets.iter().enumerate() {
        let mut of = agreed(&Plan { net, vat: [1; 3], day: 3, ..Plan::default() }, number);
        if let Some(first) = inputs.agreed.first() {
            of.sales[0].buyer = first.sales[0].buyer.clone();
        }
        inputs.invoices.push(invoice(&of, number, 0, &of.sales[0].vat, net));
        inputs.agreed.push(of);
    }
    inputs
}

/// A payment of the buyer of the first sale.
pub fn paid(inputs: &Inputs, minor: i64, words: &str) -> Payment {
    payment(minor, &inputs.agreed[0].sales[0].buyer, words)
}

/// What comes of payments on the days after the first of June.
pub fn booked(mut inputs: Inputs, payments: &[(u64, Payment)]) -> (Inputs, Reconciled) {
    let mut account = Account::default();
    payments.iter().for_each(|(on, payment)| account.book(day(*on), vec![payment.clone()]));
    inputs.statements = account.statements();
    let reconciled = reconcile(&inputs).unwrap();
    (inputs, reconciled)
}

/// The differences, each by its reason and amount.
pub fn reasons(reconciled: &Reconciled) -> Vec<(&'static str, i64)> {
    let told = reconciled.differences.iter().map(|found| &found.difference);
    told.map(|one| (one.reason.code(), one.amount_minor)).collect()
}
