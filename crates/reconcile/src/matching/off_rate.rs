//! The rates at which payments in other currencies than their invoices were converted.

use std::collections::BTreeMap;

use evenfare_engine::money::{Currency, Overflow};

use super::open::Open;
use super::payments::{Allocation, Matching, OffRate};
use crate::error::Unreconciled;

impl Matching<'_, '_> {
    /// Notes payments that were converted at a rate too far from the reference rate of their day. What a payment
    /// clears in its own currency has no rate: the rest of it is held against what it clears in others, each by
    /// its own rate.
    pub(crate) fn hold_rates(&mut self) -> Result<(), Unreconciled> {
        self.allocations.sort_unstable();
        let mut off = Vec::new();
        for of_payment in self.allocations.chunk_by(|a, b| a.payment == b.payment) {
            off.extend(self.off_rate(of_payment)?);
        }
        self.off_rate = off;
        Ok(())
    }

    /// All that one payment clears.
    fn off_rate(&self, parts: &[Allocation]) -> Result<Option<OffRate>, Unreconciled> {
        let Some(received) = parts.first().and_then(|first| self.payment(first.payment)) else {
            return Ok(None);
        };
        let own = received.currency();
        let mut rest = received.cleared();
        let mut foreign: BTreeMap<Currency, i64> = BTreeMap::new();
        let mut first = None;
        for part in parts {
            let Some(currency) = self.open.get(part.open).map(Open::currency) else { continue };
            if currency == own {
                rest = rest.checked_sub(part.minor).ok_or(Overflow)?;
            } else {
                let sum = foreign.entry(currency).or_default();
                *sum = sum.checked_add(part.minor).ok_or(Overflow)?;
                first = first.or(Some(part));
            }
        }
        let Some(&Allocation { payment, open, .. }) = first else { return Ok(None) };
        let mut expected = 0_i64;
        for (currency, minor) in foreign {
            let converted = self.rates.converted(minor, currency, own, received.booked)?;
            expected = expected.checked_add(converted).ok_or(Overflow)?;
        }
        let apart = rest.checked_sub(expected).ok_or(Overflow)?;
        Ok((!self.within_rate(apart, expected)?).then_some(OffRate { payment, open, minor: apart }))
    }
}
