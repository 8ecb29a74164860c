//! Payments in another currency than what they clear, held against the reference rate of their day.

use std::collections::BTreeMap;

use evenfare_engine::money::{Currency, Overflow, Ties, split};

use crate::error::Unreconciled;
use crate::loaded::Received;
use crate::matching::{Allocation, For, Matching, Open};

/// What a payment lost or gained on one invoice or quote, by a rate too far from the reference rate.
pub(super) struct OffRate {
    pub(super) payment: u32,
    pub(super) of: For,
    /// What it is at the reference rate, in the account's currency.
    pub(super) agreed_minor: i64,
    /// What came in for it less that.
    pub(super) minor: i64,
}

/// Finds the payments that were converted at a rate too far from the reference rate of their day.
pub(super) fn off_rate(matching: &Matching<'_, '_>) -> Result<Vec<OffRate>, Unreconciled> {
    let mut off = Vec::new();
    for (payment, received, _, parts) in matching.with_parts() {
        of_payment(matching, (payment, received), parts, &mut off)?;
    }
    Ok(off)
}

/// What a payment clears in its own currency it clears to the letter, so what is over came in for the rest. A
/// payment has one rate for all that: what it is off by is shared out by what each invoice is worth, and
/// does not depend on the order of invoices.
fn of_payment(
    matching: &Matching<'_, '_>,
    (payment, received): (u32, &Received<'_>),
    parts: &[Allocation],
    into: &mut Vec<OffRate>,
) -> Result<(), Unreconciled> {
    let own = received.currency();
    let currency = |part: &Allocation| matching.open.get(part.open).map(Open::currency);
    let held = matching.held_of(payment);
    if parts.iter().all(|part| currency(part) == Some(own)) && held.iter().all(|part| part.currency == own) {
        return Ok(());
    }
    let of_open = |part: &Allocation| Some((For::Open(part.open), currency(part)?, part.minor));
    let of_deal = held.iter().map(|part| (For::Deal(part.deal), part.currency, part.minor));
    let in_own = |minor, from| matching.rates.converted(minor, from, own, received.booked);
    let mut by_currency: BTreeMap<Currency, i64> = BTreeMap::new();
    let mut invoices = Vec::new();
    for (of, currency, minor) in parts.iter().filter_map(of_open).chain(of_deal) {
        let sum = by_currency.entry(currency).or_default();
        *sum = sum.checked_add(minor).ok_or(Overflow)?;
        if currency != own {
            invoices.push((of, in_own(minor, currency)?));
        }
    }
    let mut apart = received.minor.saturating_add(matching.charges(payment, received));
    let mut whole = 0_i64;
    for (currency, minor) in by_currency {
        let expected = in_own(minor, currency)?;
        apart = apart.checked_sub(expected).ok_or(Overflow)?;
        if currency != own {
            whole = whole.checked_add(expected.saturating_abs()).ok_or(Overflow)?;
        }
    }
    if matching.within_rate(apart, whole)? {
        return Ok(());
    }
    // Every weight is above nothing, so there is one.
    let weights: Vec<i64> = invoices.iter().map(|(_, agreed)| agreed.saturating_abs().max(1)).collect();
    let shares = split(apart, &weights, Ties::First).map_err(|_| Overflow)?;
    let told = invoices.into_iter().zip(shares).filter(|(_, minor)| *minor != 0);
    into.extend(told.map(|((of, agreed_minor), minor)| OffRate { payment, of, agreed_minor, minor }));
    Ok(())
}
