//! What was paid in advance for quotes that were taken back.

use evenfare_reconcile::chart::Role;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};
use evenfare_reconcile::{Inputs, Reconciled};

use crate::world::{Plan, agreed, currency, day, empty, place};

/// So many quotes of 50.00 to one customer, which were taken back on the ninth of June.
pub fn taken_back(quotes: usize) -> Inputs {
    let mut inputs = empty();
    for number in 0..quotes {
        let mut of = agreed(&Plan { net: 5_000, vat: [1; 3], day: 60, ..Plan::default() }, number);
        (of.accepted, of.reversed) = (day(2), Some(day(8)));
        if let Some(first) = inputs.agreed.first() {
            of.sales[0].buyer = first.sales[0].buyer.clone();
        }
        inputs.agreed.push(of);
    }
    inputs.terms.until = day(50);
    inputs
}

pub fn unapplied(books: &Reconciled) -> i128 {
    let balances = books.journal.balances().unwrap();
    balances.iter().find(|(of, _)| *of == Role::Unapplied).map_or(0, |(_, minor)| *minor)
}

pub fn quotes(numbers: &[usize]) -> Vec<Vec<Box<str>>> {
    numbers.iter().map(|number| vec![format!("Q-2026-{number:04}").into()]).collect()
}

/// What the entry of June is for.
pub fn decided(entry: u32, parts: &[(&str, i64)]) -> Decision {
    let account = "DE02 1203 0000 0000 2020 51".into();
    let part = |(number, minor): &(&str, i64)| Part {
        invoice: (*number).into(),
        currency: currency("EUR"),
        minor: *minor,
    };
    Decision::Payment {
        place: place("decided_payments.csv", 2),
        payment: PaymentId { account, statement: "S2026-06".into(), entry, payment: 1 },
        towards: parts.iter().map(part).collect(),
    }
}

/// What is told to be owed for each quote.
pub fn owed(books: &Reconciled) -> Vec<(String, i64)> {
    let told = books.differences.iter().map(|one| &one.difference);
    let told = told.filter(|one| one.reason == Reason::Overpaid);
    told.map(|one| (one.quote.as_deref().unwrap().to_owned(), one.amount_minor)).collect()
}
