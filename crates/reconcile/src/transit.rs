//! Transfers between own accounts: which side is of which, and what is under way.

use std::collections::HashMap;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::difference::Document;
use crate::error::Unreconciled;
use crate::loaded::Received;
use crate::matching::{Matching, State, payment_document};
use crate::rates::Rates;
use crate::reference::normal;
use crate::terms::Terms;

/// Days by which the two sides of a transfer in two currencies may be apart, and after which a side that is alone is told.
const DAYS_APART: i64 = 10;

/// What was put into transit with one side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Side {
    pub(crate) currency: Currency,
    pub(crate) minor: i64,
    /// In the currency of the books.
    pub(crate) base_minor: i64,
}

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

/// Transfers, as far as both sides are there.
pub(crate) struct Transit {
    /// Of each payment whose other side was booked before it, that side.
    sent: HashMap<u32, Side>,
    /// Those whose other side is not there, in the order of days.
    alone: Vec<(u32, Side)>,
}

impl Transit {
    /// The sides are of opposite direction and the same amount, or in two currencies as near as the terms allow.
    pub(crate) fn new(
        matching: &Matching<'_, '_>,
        rates: &Rates,
        terms: &Terms,
    ) -> Result<Self, Unreconciled> {
        let mut sent = HashMap::new();
        // By own account and other side, what has not arrived.
        let mut waiting: HashMap<(String, String), Vec<(u32, Side)>> = HashMap::new();
        for (place, (one, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
            let (State::Transfer, Some(other)) = (state, one.payment.party_account.as_deref()) else {
                continue;
            };
            let (own, other) = (normal(&one.statement.account), normal(other));
            let side = side(one, rates, terms)?;
            let before = waiting.entry((other.clone(), own.clone())).or_default();
            match first(matching, before, one, side)? {
                Some(at) => drop(sent.insert(place, before.remove(at).1)),
                None => waiting.entry((own, other)).or_default().push((place, side)),
            }
        }
        let mut alone: Vec<(u32, Side)> = waiting.into_values().flatten().collect();
        alone.sort_unstable_by_key(|(place, _)| (matching.payment(*place).map(|one| one.booked), *place));
        Ok(Self { sent, alone })
    }

    /// The side of a transfer that was booked before this one.
    pub(crate) fn sent(&self, place: u32) -> Option<Side> {
        self.sent.get(&place).copied()
    }

    /// What has no other side.
    pub(crate) fn alone(&self, matching: &Matching<'_, '_>) -> Vec<InTransit> {
        let told = |(place, side): &(u32, Side)| {
            let one = matching.payment(*place)?;
            Some(InTransit {
                day: one.booked,
                account: one.statement.account.clone(),
                other: one.payment.party_account.clone()?,
                currency: side.currency,
                minor: side.minor.saturating_neg(),
                base_minor: side.base_minor.saturating_neg(),
                document: payment_document(one),
            })
        };
        self.alone.iter().filter_map(told).collect()
    }

    /// What is alone for longer than the sides of a transfer are apart, with the day from which it is.
    pub(crate) fn overdue<'m, 'a>(
        &self,
        matching: &Matching<'m, 'a>,
        until: NaiveDate,
    ) -> impl Iterator<Item = (NaiveDate, &'m Received<'a>)> {
        let alone = self.alone.iter().filter_map(|(place, _)| matching.payment(*place));
        let from = move |one: &'m Received<'a>| {
            let day = one.booked.checked_add_signed(chrono::TimeDelta::days(DAYS_APART))?;
            (day <= until).then_some((day, one))
        };
        alone.filter_map(from)
    }
}

/// As it is posted: what moved, and what was kept back on the way.
fn side(one: &Received<'_>, rates: &Rates, terms: &Terms) -> Result<Side, Unreconciled> {
    let currency = one.currency();
    let worth = |minor| rates.converted(minor, currency, terms.currency, one.booked);
    let base_minor =
        worth(one.payment.minor)?.checked_add(worth(one.payment.charges_minor)?).ok_or(Overflow)?;
    Ok(Side { currency, minor: one.cleared(), base_minor })
}

/// The place of the first side before it that one is the other side of. In one currency sides may come late; one that
/// came in time goes first.
fn first(
    matching: &Matching<'_, '_>,
    before: &[(u32, Side)],
    one: &Received<'_>,
    side: Side,
) -> Result<Option<usize>, Unreconciled> {
    let mut late = None;
    for (at, (earlier, sent)) in before.iter().enumerate() {
        let Some(earlier) = matching.payment(*earlier) else { continue };
        let is_same = sent.currency == side.currency;
        let fits = match is_same {
            true => sent.minor == side.minor.saturating_neg(),
            false => {
                let apart = side.base_minor.checked_add(sent.base_minor).ok_or(Overflow)?;
                side.base_minor.signum() != sent.base_minor.signum()
                    && matching.within_rate(apart, sent.base_minor)?
            }
        };
        let in_time = one.booked.signed_duration_since(earlier.booked).num_days() <= DAYS_APART;
        match (fits, in_time) {
            (true, true) => return Ok(Some(at)),
            (true, false) if is_same => late = late.or(Some(at)),
            _ => {}
        }
    }
    Ok(late)
}
