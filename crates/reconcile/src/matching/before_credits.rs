//! Payments that name nothing, of what was asked for before a credit note of a later day took something off it.

use std::collections::HashMap;

use chrono::NaiveDate;

use super::open::{Open, Taken};
use super::payments::{Matching, TOLD};
use super::question::Why;
use crate::error::Unreconciled;
use crate::loaded::Received;

/// By invoice, what credit notes took off it and when.
pub(super) struct BeforeCredits(HashMap<u32, Vec<(NaiveDate, i64)>>);

impl BeforeCredits {
    pub(super) fn new(matching: &Matching<'_, '_>) -> Self {
        let mut taken: HashMap<u32, Vec<(NaiveDate, i64)>> = HashMap::new();
        for Taken { credit, invoice, minor } in matching.open.taken() {
            let credit = matching.open.get(*credit);
            taken.entry(*invoice).or_default().extend(credit.map(|credit| (credit.invoice.issued, *minor)));
        }
        Self(taken)
    }

    /// Did a credit note take something off it?
    pub(super) fn is_lessened(&self, open: u32) -> bool {
        self.0.contains_key(&open)
    }

    /// What an invoice asked for on a day, where credit notes of later days took something off that.
    fn asked(&self, matching: &Matching<'_, '_>, open: u32, on: NaiveDate) -> Option<i64> {
        let later = self.0.get(&open)?.iter().filter(|(issued, _)| *issued > on);
        let taken = later.fold(0_i64, |sum, (_, minor)| sum.saturating_add(*minor));
        let left = matching.rest(open).saturating_add(matching.rounding(open));
        (taken != 0).then_some(left.saturating_add(taken))
    }

    /// The day of the next credit note, from which it asked for less.
    fn until(&self, open: u32, on: NaiveDate) -> Option<NaiveDate> {
        self.0.get(&open)?.iter().map(|(issued, _)| *issued).filter(|issued| *issued > on).min()
    }

    /// The invoices of these by all that they asked for before credit notes.
    fn by_amount(&self, matching: &Matching<'_, '_>, open: &[u32]) -> HashMap<i64, Vec<u32>> {
        let mut by_amount: HashMap<i64, Vec<u32>> = HashMap::new();
        for &open in open {
            let credits = self.0.get(&open).into_iter().flatten();
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
    /// clear all of them, first the one that asks for so much no longer; of fewer it is asked. What goes out later and is all of what is over gives
    /// it back. Answers what is left.
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
                asked == Some(one.cleared()) && matching.in_time(one.booked, *open)
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
        let (mut left, mut over) = (Vec::new(), HashMap::<i64, Vec<u32>>::new());
        for place in payments {
            let Some(one) = matching.payment(place) else { continue };
            let amount = one.cleared();
            if let Some(open) = over.get_mut(&amount).and_then(Vec::pop) {
                matching.allocate(place, open, amount)?;
                continue;
            }
            let fits = fits(matching, one);
            let Some(first) = fits.iter().min_by_key(|open| self.until(**open, one.booked)) else {
                left.push(place);
                continue;
            };
            let times = times.entry(amount).or_default();
            let is_asked = |open: &u32| matching.open.get(*open).is_some_and(Open::is_in_question);
            if fits.len() <= *times && !fits.iter().any(is_asked) {
                matching.allocate(place, *first, amount)?;
                over.entry(matching.asks(*first)).or_default().push(*first);
            } else {
                let told: Vec<Vec<u32>> = fits.iter().take(TOLD).map(|open| vec![*open]).collect();
                matching.ask(place, Why::EquallyGood, &told)?;
                fits.iter().for_each(|open| matching.doubt(*open, false));
            }
            *times = times.saturating_sub(1);
        }
        Ok(left)
    }
}
