//! Payments on an account, and what comes of them.

use evenfare_reconcile::input::Payment;
use evenfare_reconcile::{Inputs, Reconciled, reconcile};

use crate::world::bank::Account;
use crate::world::day;

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
