//! Transfers between own accounts: which side is of which, and what is under way.

use std::collections::HashMap;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::difference::Document;
use crate::error::Unreconciled;
use crate::matching::{Matching, State, payment_document};
use crate::rates::Rates;
use crate::reference::normal;
use crate::terms::Terms;

/// Days by which the two sides of a transfer may be apart.
const DAYS_APART: i64 = 10;

/// A side of a transfer between own accounts of which the other side is not known: together they are what is posted
/// against the part `transit`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InTransit {
    /// The day it was booked.
    pub day: NaiveDate,
    /// The account that it was booked on.
    pub account: Box<str>,
    /// The account at the other side, as the bank names it.
    pub other: Box<str>,
    /// Of the account.
    pub currency: Currency,
    /// What has left the account, in minor units; below nothing, what has arrived on it.
    pub minor: i64,
    /// What it is worth in the currency of the books.
    pub base_minor: i64,
    /// The payment.
    pub document: Document,
}

/// Transfers, one side held against the other.
pub(crate) struct Transfers {
    /// Of each transfer whose other side was booked before it, what that side is worth in the books' currency.
    pub(crate) other_sides: HashMap<u32, i64>,
    /// Those without another side, in the order of days.
    pub(crate) in_transit: Vec<InTransit>,
}

/// Which side is of which. They are of opposite direction and the same amount, or in two currencies as near as the
/// terms allow.
pub(crate) fn transfers(
    matching: &Matching<'_, '_>,
    rates: &Rates,
    terms: &Terms,
) -> Result<Transfers, Unreconciled> {
    let mut found = HashMap::new();
    // By own account and other side, what has not arrived.
    let mut waiting: HashMap<(String, String), Vec<(u32, i64)>> = HashMap::new();
    for (place, (one, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
        let (State::Transfer, Some(other)) = (state, one.payment.party_account.as_deref()) else { continue };
        let (own, other) = (normal(&one.statement.account), normal(other));
        // As they are posted: what moved, and what was kept back on the way.
        let worth = |minor| rates.converted(minor, one.currency(), terms.currency, one.booked);
        let base =
            worth(one.payment.minor)?.checked_add(worth(one.payment.charges_minor)?).ok_or(Overflow)?;
        let before = waiting.entry((other.clone(), own.clone())).or_default();
        let mut first = None;
        for (at, (earlier, worth)) in before.iter().enumerate() {
            let Some(sent) = matching.payment(*earlier) else { continue };
            let apart = base.checked_add(*worth).ok_or(Overflow)?;
            let fits = match sent.currency() == one.currency() {
                true => sent.cleared() == one.cleared().saturating_neg(),
                false => base.signum() != worth.signum() && matching.within_rate(apart, *worth)?,
            };
            if fits && one.booked.signed_duration_since(sent.booked).num_days() <= DAYS_APART {
                first = Some(at);
                break;
            }
        }
        match first {
            Some(at) => {
                let (_, worth) = before.remove(at);
                found.insert(place, worth);
            }
            None => waiting.entry((own, other)).or_default().push((place, base)),
        }
    }
    let mut alone: Vec<(u32, i64)> = waiting.into_values().flatten().collect();
    alone.sort_unstable_by_key(|(place, _)| (matching.payment(*place).map(|one| one.booked), *place));
    let in_transit = alone.into_iter().filter_map(|(place, base)| {
        let one = matching.payment(place)?;
        Some(InTransit {
            day: one.booked,
            account: one.statement.account.clone(),
            other: one.payment.party_account.clone()?,
            currency: one.currency(),
            minor: one.cleared().saturating_neg(),
            base_minor: base.saturating_neg(),
            document: payment_document(one),
        })
    });
    Ok(Transfers { other_sides: found, in_transit: in_transit.collect() })
}
