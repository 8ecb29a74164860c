//! What was lost between two sides, beyond what the terms allow.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use super::side::Moved;
use crate::error::Unreconciled;
use crate::matching::Matching;
use crate::terms::Terms;

/// Two sides that are further apart than the terms allow a bank's rate to be: a person said that they belong together, as
/// else none such do.
pub(crate) struct Lost {
    /// The payments, the earlier one first.
    pub(crate) sides: (u32, u32),
    /// The day of the later one.
    pub(crate) day: NaiveDate,
    /// Are they of two currencies, so that a rate made it?
    pub(crate) is_by_rate: bool,
    /// Of the sides; of two currencies that of the books.
    pub(crate) currency: Currency,
    /// What left.
    pub(crate) left_minor: i64,
    /// What arrived less that.
    pub(crate) minor: i64,
}

impl Lost {
    /// What two sides lost, where it is to be told. In one currency it was posted as charges, of two to exchange.
    pub(super) fn between(
        first: &Moved,
        later: &Moved,
        matching: &Matching<'_, '_>,
        terms: &Terms,
    ) -> Result<Option<Self>, Unreconciled> {
        let is_by_rate = first.side.currency != later.side.currency;
        let amount = |one: &Moved| if is_by_rate { one.side.base_minor } else { one.side.minor };
        let left_minor = amount(if first.leaves() { first } else { later }).checked_neg().ok_or(Overflow)?;
        let minor = amount(first).checked_add(amount(later)).ok_or(Overflow)?;
        let currency = if is_by_rate { terms.currency } else { later.side.currency };
        let sides = (first.place, later.place);
        let lost = Self { sides, day: later.booked, is_by_rate, currency, left_minor, minor };
        Ok((!matching.within_rate(minor, left_minor)?).then_some(lost))
    }
}
