//! What payments did, and the opposite of it.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use evenfare_engine::money::Currency;

use super::open::{For, Open};
use super::payments::Matching;
use crate::error::Unreconciled;

/// What payments did: what they cleared of which invoices, and what is held of them for which quotes.
#[derive(Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Did {
    pub(super) cleared: Vec<(u32, i64)>,
    pub(super) held: Vec<(u32, Currency, i64)>,
}

impl Did {
    pub(super) fn is_nothing(&self) -> bool {
        self.cleared.is_empty() && self.held.is_empty()
    }

    /// The invoices and quotes that they were for.
    pub(super) fn of(&self) -> BTreeSet<For> {
        let invoices = self.cleared.iter().map(|(open, _)| For::Open(*open));
        invoices.chain(self.held.iter().map(|(deal, ..)| For::Deal(*deal))).collect()
    }

    /// Both together; what comes to nothing is left out.
    pub(super) fn and(&self, other: &Self) -> Self {
        let mut cleared: BTreeMap<u32, i64> = BTreeMap::new();
        for &(open, minor) in self.cleared.iter().chain(&other.cleared) {
            let sum = cleared.entry(open).or_default();
            *sum = sum.saturating_add(minor);
        }
        let mut held: BTreeMap<(u32, Currency), i64> = BTreeMap::new();
        for &(deal, currency, minor) in self.held.iter().chain(&other.held) {
            let sum = held.entry((deal, currency)).or_default();
            *sum = sum.saturating_add(minor);
        }
        let held = held.into_iter().map(|((deal, currency), minor)| (deal, currency, minor));
        Self {
            cleared: cleared.into_iter().filter(|(_, minor)| *minor != 0).collect(),
            held: held.filter(|(.., minor)| *minor != 0).collect(),
        }
    }

    pub(super) fn opposite(&self) -> Self {
        Self {
            cleared: self.cleared.iter().map(|(open, minor)| (*open, minor.saturating_neg())).collect(),
            held: self.held.iter().map(|&(deal, of, minor)| (deal, of, minor.saturating_neg())).collect(),
        }
    }

    /// As much more, in the currency of a payment, of the last that was done.
    pub(super) fn more(
        &self,
        matching: &Matching<'_, '_>,
        payment: u32,
        minor: i64,
    ) -> Result<Self, Unreconciled> {
        let mut more = Self::default();
        let Some(one) = matching.payment(payment).filter(|_| minor != 0) else { return Ok(more) };
        let to = |to| matching.rates.converted(minor, one.currency(), to, one.booked);
        if let Some((open, _)) = self.cleared.last() {
            let currency = matching.open.get(*open).map_or(one.currency(), Open::currency);
            more.cleared.push((*open, to(currency)?));
        } else if let Some((deal, currency, _)) = self.held.last() {
            more.held.push((*deal, *currency, to(*currency)?));
        }
        Ok(more)
    }

    /// Lets a payment do it.
    pub(super) fn act(&self, matching: &mut Matching<'_, '_>, payment: u32) -> Result<(), Unreconciled> {
        for &(deal, currency, minor) in &self.held {
            matching.hold(payment, deal, (currency, minor));
        }
        self.cleared.iter().try_for_each(|&(open, minor)| matching.allocate(payment, open, minor))
    }

    /// Lets the payments of an entry do it together, each as much as it cleared, the largest of the largest. Of an entry
    /// with money both ways, or in another currency, nothing says which did what: then none does anything.
    pub(super) fn act_together(
        &self,
        matching: &mut Matching<'_, '_>,
        payments: Range<u32>,
    ) -> Result<bool, Unreconciled> {
        if payments.len() == 1 {
            return self.act(matching, payments.start).map(|()| true);
        }
        let Some(currency) = matching.payment(payments.start).map(|first| first.currency()) else {
            return Ok(false);
        };
        let own = |open: u32| matching.open.get(open).is_some_and(|open| open.currency() == currency);
        let is_own = self.cleared.iter().all(|(open, _)| own(*open))
            && self.held.iter().all(|(_, of, _)| *of == currency);
        let of_invoices = self.cleared.iter().map(|&(open, minor)| (minor, For::Open(open)));
        let of_quotes = self.held.iter().map(|&(deal, _, minor)| (minor, For::Deal(deal)));
        let mut parts: Vec<(i64, For)> = of_invoices.chain(of_quotes).collect();
        let cleared = |place: u32| Some((matching.payment(place)?.cleared(), place));
        let mut payments: Vec<(i64, u32)> = payments.filter_map(cleared).collect();
        parts.sort_unstable();
        payments.sort_unstable();
        let sign = parts.first().map_or(0, |(minor, _)| minor.signum());
        let minors = || parts.iter().map(|(minor, _)| minor).chain(payments.iter().map(|(minor, _)| minor));
        if !is_own || minors().any(|minor| minor.signum() != sign) {
            return Ok(false);
        }
        let mut parts = parts.into_iter();
        let mut next = parts.next();
        for (mut left, payment) in payments {
            while left != 0
                && let Some((rest, what)) = &mut next
            {
                let taken = left.saturating_abs().min(rest.saturating_abs()).saturating_mul(sign);
                match *what {
                    For::Open(open) => matching.allocate(payment, open, taken)?,
                    For::Deal(deal) => matching.hold(payment, deal, (currency, taken)),
                }
                left = left.saturating_sub(taken);
                *rest = rest.saturating_sub(taken);
                if *rest == 0 {
                    next = parts.next();
                }
            }
        }
        Ok(true)
    }
}
