//! Bank statements, as ISO 20022 camt.053 has them.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::Place;

/// One statement of one account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// Where it was read.
    pub place: Place,
    /// The bank's own name for it. With the account it is known again: loaded twice, it counts once.
    pub id: Box<str>,
    /// The account, by IBAN or the bank's own number.
    pub account: Box<str>,
    /// Of the account, and of every entry.
    pub currency: Currency,
    /// What the account held at its beginning.
    pub opening: Balance,
    /// What it held at its end: the opening balance and every booked entry.
    pub closing: Balance,
    /// Its entries, in the order of the file.
    pub batches: Vec<Batch>,
}

impl Statement {
    /// Has it the entries of the other, wherever the one and the other were read?
    pub(crate) fn has_entries_of(&self, other: &Self) -> bool {
        let mut copy = self.batches.clone();
        for (own, other) in copy.iter_mut().zip(&other.batches) {
            own.place = other.place.clone();
            for (own, other) in own.payments.iter_mut().zip(&other.payments) {
                own.place = other.place.clone();
            }
        }
        copy == other.batches
    }
}

/// A balance: what the bank owes us; below nothing, what we owe the bank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Balance {
    /// The day.
    pub day: NaiveDate,
    /// How much.
    pub minor: i64,
}

/// Is the money there?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Status {
    /// Booked: part of the closing balance.
    Booked,
    /// Announced only.
    Pending,
    /// For information.
    Information,
}

/// One entry of the account: a payment, or several booked as one sum.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch {
    /// Where it was read.
    pub place: Place,
    /// The bank's reference of the entry, where it gives one.
    pub reference: Option<Box<str>>,
    /// What came in; below nothing, what went out. A reversal of money that came in goes out.
    pub minor: i64,
    /// Does it take back an earlier entry?
    pub reversal: bool,
    /// Is it booked?
    pub status: Status,
    /// The day it was booked.
    pub booked: NaiveDate,
    /// The day from which interest counts, where it is said.
    pub value: Option<NaiveDate>,
    /// The payments it is the sum of; one at least. Charges that the bank kept back are the difference.
    pub payments: Vec<Payment>,
}

/// One payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Payment {
    /// Where it was read.
    pub place: Place,
    /// What came in by it, in the currency of the account; below nothing, what went out.
    pub minor: i64,
    /// What the payer sent and in which currency, where that is another one.
    pub instructed: Option<(i64, Currency)>,
    /// Charges that a bank kept back on the way, where they are said.
    pub charges_minor: i64,
    /// The payer's own reference, from end to end, where it was given.
    pub end_to_end: Option<Box<str>>,
    /// References by which the creditor asked to be paid (ISO 11649 and others).
    pub structured: Vec<Box<str>>,
    /// What the payer wrote.
    pub remittance: Box<str>,
    /// The other side's name.
    pub party: Option<Box<str>>,
    /// The other side's account.
    pub party_account: Option<Box<str>>,
}
