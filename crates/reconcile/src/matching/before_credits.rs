//! Payments that name nothing, of what was asked for before a credit note of a later day took something off it.

use std::collections::HashMap;

use chrono::NaiveDate;

use super::open::Taken;
use super::payments::{Allocation, Matching, TOLD};
use super::question::Why;
use crate::error::Unreconciled;
use crate::loaded::Received;

/// What credit notes took off invoices.
pub(super) struct BeforeCredits {
    /// By invoice, how much and when.
    taken: HashMap<u32, Vec<(NaiveDate, i64)>>,
    /// By invoice, the last day of a payment that was found to be for it.
    came_in: HashMap<u32, NaiveDate>,
}

impl BeforeCredits {
    pub(super) fn new(matching: &Matching<'_, '_>) -> Self {
        let mut taken: HashMap<u32, Vec<(NaiveDate, i64)>> = HashMap::new();
        for Taken { credit, invoice, minor } in matching.open.taken() {
            let credit = matching.open.get(*credit);
            taken.entry(*invoice).or_default().extend(credit.map(|credit| (credit.invoice.issued, *minor)));
        }
        Self { taken, came_in: HashMap::new() }
    }

    /// Did a credit note take something off it?
    pub(super) fn is_lessened(&self, open: u32) -> bool {
        self.taken.contains_key(&open)
    }

    /// Notes what these parts of payments clear.
    pub(super) fn note(&mut self, matching: &Matching<'_, '_>, parts: &[Allocation]) {
        for part in parts {
            let Some(one) = matching.payment(part.payment) else { continue };
            let last = self.came_in.entry(part.open).or_insert(one.booked);
            *last = one.booked.max(*last);
        }
    }

    /// The first day of a payment that may be for an invoice. Nothing goes back before it came in.
    pub(super) fn earliest(&self, matching: &Matching<'_, '_>, open: u32) -> NaiveDate {
        let written = matching.earliest(open);
        self.came_in.get(&open).map_or(written, |last| written.max(*last))
    }

    /// What an invoice asked for on a day, where credit notes of later days took something off that.
    fn asked(&self, matching: &Matching<'_, '_>, open: u32, on: NaiveDate) -> Option<i64> {
        let later = self.taken.get(&open)?.iter().filter(|(issued, _)| *issued > on);
        let taken = later.fold(0_i64, |sum, (_, minor)| sum.saturating_add(*minor));
        let left = matching.rest(open).saturating_add(matching.rounding(open));
        (taken != 0).then_some(left.saturating_add(taken))
    }

    /// The day of the next credit note, from which it asked for less.
    fn until(&self, open: u32, on: NaiveDate) -> Option<NaiveDate> {
        self.taken.get(&open)?.iter().map(|(issued, _)| *issued).filter(|issued| *issued > on).min()
    }

    /// The invoices of these by all that they asked for before credit notes.
    fn by_amount(&self, matching: &Matching<'_, '_>, open: &[u32]) -> HashMap<i64, Vec<u32>> {
        let mut by_amount: HashMap<i64, Vec<u32>> = HashMap::new();
        for &open in open {
            let credits = self.taken.get(&open).into_iter().flatten();
            let mut before: Vec<NaiveDate> = credits.filter_map(|(issued, _)| issued.pred_opt()).collect();
            before.sort_unstable();
            before.dedup();
            for amount in before.into_iter().filter_map(|day| self.asked(matching, open, day)) {
                by_amount.entry(amount).or_default().push(open);
            }
        }
        by_amount
    }

    /// Clears what a payment was all of on its day, and is paid too much since. As many payments as there are such invoices
    /// clear all of them, first the one that asks for so much no longer; of fewer it is asked. Answers what is left.
    pub(super) fn clear(
        &self,
        matching: &mut Matching<'_, '_>,
        payments: Vec<u32>,
        open: &[u32],
    ) -> Result<Vec<u32>, Unreconciled> {
        let by_amount = self.by_amount(matching, open);
        if by_amount.is_empty() {
            return Ok(payments);
        }
        let fits = |matching: &Matching<'_, '_>, one: &Received<'_>| -> Vec<u32> {
            let alike = by_amount.get(&one.cleared()).into_iter().flatten().copied();
            let is_all = |open: &u32| {
                let asked = self.asked(matching, *open, one.booked);
                asked == Some(one.cleared()) && self.earliest(matching, *open) <= one.booked
            };
            alike.filter(is_all).collect()
        };
        let mut times: HashMap<i64, usize> = HashMap::new();
        for one in payments.iter().filter_map(|place| matching.payment(*place)) {
            if !fits(matching, one).is_empty() {
                let times = times.entry(one.cleared()).or_default();
                *times = times.saturating_add(1);
            }
        }
        let mut left = Vec::new();
        for place in payments {
            let Some(one) = matching.payment(place) else { continue };
            let amount = one.cleared();
            let fits = fits(matching, one);
            let Some(first) = fits.iter().min_by_key(|open| self.until(**open, one.booked)) else {
                left.push(place);
                continue;
            };
            let times = times.entry(amount).or_default();
            if fits.len() <= *times && !fits.iter().any(|open| matching.is_in_question(*open)) {
                matching.allocate(place, *first, amount)?;
            } else {
                let told: Vec<Vec<u32>> = fits.iter().take(TOLD).map(|open| vec![*open]).collect();
                matching.ask(place, Why::EquallyGood, &told)?;
                fits.iter().for_each(|open| matching.doubt(*open, amount < 0));
            }
            *times = times.saturating_sub(1);
        }
        Ok(left)
    }
}
