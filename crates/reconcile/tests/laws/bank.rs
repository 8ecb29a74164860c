//! The bank account of the generated months.

use chrono::NaiveDate;
use evenfare_reconcile::input::{Balance, Batch, Payment, Statement, Status};

use super::{currency, place};

/// Entries of one bank account, before they are put into statements.
#[derive(Debug, Default)]
pub struct Account(Vec<(NaiveDate, bool, Vec<Payment>)>);

impl Account {
    pub fn book(&mut self, on: NaiveDate, payments: Vec<Payment>) {
        self.0.push((on, false, payments));
    }

    /// The same money the other way, as the bank takes payments back.
    pub fn take_back(&mut self, on: NaiveDate, payments: Vec<Payment>) {
        let back = |payment: Payment| Payment { minor: -payment.minor, ..payment };
        self.0.push((on, true, payments.into_iter().map(back).collect()));
    }

    /// A statement a month, each with the balances that tie it to the next.
    pub fn statements(mut self) -> Vec<Statement> {
        self.0.sort_by_key(|(on, _, _)| *on);
        let mut statements = Vec::new();
        let mut held = 1_000_000;
        for entries in self.0.chunk_by(|a, b| a.0.format("%m").to_string() == b.0.format("%m").to_string()) {
            let opening = Balance { day: entries[0].0, minor: held };
            let mut batches = Vec::new();
            for (line, (booked, reversal, payments)) in entries.iter().enumerate() {
                let minor = payments.iter().map(|payment| payment.minor).sum();
                held += minor;
                batches.push(Batch {
                    place: place("camt.xml", line + 1),
                    reference: None,
                    minor,
                    reversal: *reversal,
                    status: Status::Booked,
                    booked: *booked,
                    value: None,
                    payments: payments.clone(),
                });
            }
            statements.push(Statement {
                place: place("camt.xml", 1),
                id: format!("S{}", entries[0].0.format("%Y-%m")).into(),
                account: "DE02 1203 0000 0000 2020 51".into(),
                currency: currency("EUR"),
                opening,
                closing: Balance { day: entries[entries.len() - 1].0, minor: held },
                batches,
            });
        }
        statements
    }
}
