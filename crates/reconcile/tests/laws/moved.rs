//! Transfers between accounts of the workshop, right and wrong.

use chrono::{Days, NaiveDate};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::Agreed;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::input::{Payment, Place, Statement};
use evenfare_reconcile::terms::{BankAccount, Decision, Part, PaymentId};

use super::{Expected, Month};
use crate::kinds::Fault;
use crate::world::bank::Account;
use crate::world::{currency, payment, place};

const MAIN: &str = "DE02 1203 0000 0000 2020 51";
const EUROS: &str = "DE79 0000 0000 1234 5678 90";
const FRANCS: &str = "CH93 0076 2011 6238 5295 7";

/// What moves on the other accounts of the workshop.
#[derive(Debug, Default)]
pub(super) struct Moved {
    euros: Account,
    francs: Account,
    /// What leaves and what arrives, of which a person says that they are the sides of a transfer.
    decided: Vec<(i64, i64)>,
    is_any: bool,
}

/// A payment of ours, to or from that account.
fn own(of: &Agreed, minor: i64, other: &str) -> Vec<Payment> {
    let mut own = payment(minor, &of.sales[0].seller, "between our accounts");
    own.party_account = Some(other.replace(' ', "").into());
    vec![own]
}

impl Month {
    /// Transfers that are taken back, that lose charges, and two that are much alike. Amounts of different quotes are
    /// further apart than rates may be.
    pub(super) fn transfers(&mut self, of: &Agreed, number: usize, faults: &[Fault]) {
        let apart = i64::try_from(number).unwrap() * 120_000;
        let after = |days: u64| -> NaiveDate { of.invoice_by.checked_add_days(Days::new(days)).unwrap() };
        for fault in faults {
            match fault {
                Fault::TransferTakenBack => {
                    let minor = 2_000_000 + apart;
                    self.account.book(after(3), own(of, -minor, EUROS));
                    // By the bank, or by the account itself.
                    match number.is_multiple_of(2) {
                        true => self.account.take_back(after(8), own(of, -minor, EUROS)),
                        false => self.account.book(after(8), own(of, minor, EUROS)),
                    }
                }
                Fault::TransferLessCharges => {
                    // Charges, or more than the terms allow.
                    let lost = if number.is_multiple_of(4) { 100_100 } else { 1_500 };
                    let (left, came) = (3_000_000 + apart, 3_000_000 + apart - lost);
                    self.account.book(after(4), own(of, -left, EUROS));
                    self.moved.euros.book(after(6), own(of, came, MAIN));
                    if number.is_multiple_of(2) {
                        self.moved.decided.push((-left, came));
                        let is_told = lost > 1_500;
                        self.expected.extend(is_told.then_some((Reason::InTransit, None, -lost)));
                    } else {
                        let told =
                            [-left, came].map(|minor| -> Expected { (Reason::InTransit, None, minor) });
                        self.expected.extend(told);
                    }
                }
                Fault::TransfersAlike => {
                    let (first, second) = (4_000_000 + apart, (4_000_000 + apart) * 1_008 / 1_000);
                    let rate = |minor: i64| {
                        let rates = &self.inputs.rates;
                        rates.converted(minor, currency("EUR"), currency("CHF"), after(5)).unwrap()
                    };
                    // What arrives of the second comes first and would fit the first too; what arrives of the first is too
                    // far off the second.
                    let came = [rate(second) * 999 / 1_000, rate(first) * 995 / 1_000];
                    self.account.book(after(5), own(of, -first, FRANCS));
                    self.account.book(after(5), own(of, -second, FRANCS));
                    self.moved.francs.book(after(6), own(of, came[0], MAIN));
                    self.moved.francs.book(after(7), own(of, came[1], MAIN));
                }
                Fault::TransfersNamed => {
                    // What arrives is as near to the one as to the other, and has the reference of one.
                    let first = 6_000_000 + apart;
                    let rates = &self.inputs.rates;
                    let (euros, francs) = (currency("EUR"), currency("CHF"));
                    let came = rates.converted(first + 500, euros, francs, after(5)).unwrap();
                    let of_reference = |minor, other, reference: &str| {
                        let mut own = own(of, minor, other);
                        own[0].end_to_end = Some(reference.into());
                        own
                    };
                    self.account.book(after(5), of_reference(-first, FRANCS, "E-1"));
                    self.account.book(after(5), of_reference(-first - 1_000, FRANCS, "E-2"));
                    self.moved.francs.book(after(6), of_reference(came, MAIN, "e 2"));
                    self.expected.push((Reason::InTransit, None, -first));
                }
                _ => continue,
            }
            self.moved.is_any = true;
        }
    }
}

impl Moved {
    /// Puts the other accounts into what month end takes in, behind the one that is there.
    pub(super) fn put_into(self, inputs: &mut Inputs) {
        if !self.is_any {
            return;
        }
        for (own, account, money) in [(self.euros, EUROS, "EUR"), (self.francs, FRANCS, "CHF")] {
            inputs.statements.extend(own.statements().into_iter().map(|statement| Statement {
                account: account.into(),
                currency: currency(money),
                ..statement
            }));
        }
        let listed = |account: &str| BankAccount {
            place: Place { file: "bank_accounts.csv".into(), line: 2 },
            account: account.into(),
            firm: "workshop".into(),
        };
        inputs.terms.accounts.extend([MAIN, EUROS, FRANCS].map(listed));
        for (left, came) in self.decided {
            let other = format!("payment {}", named(&inputs.statements, came));
            decide(inputs, left, &other);
        }
    }
}

/// A person says that all of the only payment of that amount is for that.
pub(super) fn decide(inputs: &mut Inputs, minor: i64, what: &str) {
    let line = inputs.decisions.len() + 2;
    inputs.decisions.push(Decision::Payment {
        place: place("decided_payments.csv", line),
        payment: named(&inputs.statements, minor),
        towards: vec![Part { invoice: what.into(), currency: currency("EUR"), minor }],
    });
}

/// The only payment of that amount.
fn named(statements: &[Statement], minor: i64) -> PaymentId {
    for statement in statements {
        for (entry, batch) in (1..).zip(&statement.batches) {
            if batch.payments[0].minor == minor {
                let (account, statement) = (statement.account.as_ref().into(), statement.id.as_ref().into());
                return PaymentId { account, statement, entry, payment: 1 };
            }
        }
    }
    panic!("no payment of {minor}")
}
