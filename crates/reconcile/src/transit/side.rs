//! One side of a transfer.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::error::Unreconciled;
use crate::loaded::Received;
use crate::rates::Rates;
use crate::terms::Terms;

/// What was put into transit with one side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Side {
    pub(crate) currency: Currency,
    pub(crate) minor: i64,
    /// In the currency of the books.
    pub(crate) base_minor: i64,
}

impl Side {
    /// As it is posted: what moved, and what was kept back on the way.
    pub(crate) fn of(one: &Received<'_>, rates: &Rates, terms: &Terms) -> Result<Self, Unreconciled> {
        let currency = one.currency();
        let worth = |minor| rates.converted(minor, currency, terms.currency, one.booked);
        let base_minor =
            worth(one.payment.minor)?.checked_add(worth(one.payment.charges_minor)?).ok_or(Overflow)?;
        Ok(Self { currency, minor: one.cleared(), base_minor })
    }
}

/// A side whose other side is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moved {
    /// The payment; places go by days.
    pub(super) place: u32,
    pub(super) booked: NaiveDate,
    /// Does the bank say that it takes an earlier one back?
    pub(super) is_reversal: bool,
    /// The account that it was booked on, and the one at the other side; each account has a number.
    pub(super) accounts: (u32, u32),
    /// Its reference from end to end, where it has one; each has a number.
    pub(super) reference: Option<u32>,
    pub(super) side: Side,
}

impl Moved {
    /// Does it leave the account that it was booked on?
    pub(super) fn leaves(&self) -> bool {
        self.side.minor < 0
    }

    /// The account that the money leaves, and the one that it is for.
    pub(super) fn way(&self) -> (u32, u32) {
        let (own, other) = self.accounts;
        if self.leaves() { (own, other) } else { (other, own) }
    }
}
