//! What an invoice asked for on the day of a payment: credit notes of later days took nothing off it yet.

use std::collections::HashMap;

use chrono::NaiveDate;

use super::open::Taken;
use super::payments::Matching;

/// By invoice, what credit notes took off it and when, in the order of days. Of none, all asks for what it asks for now.
#[derive(Default)]
pub(super) struct BeforeCredits(HashMap<u32, Vec<(NaiveDate, i64)>>);

/// What an invoice asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Asked {
    /// Rounded; below nothing, what is to go back.
    pub(super) minor: i64,
    pub(super) open: u32,
    /// The first day of a payment that it asks for so much.
    from: NaiveDate,
    /// The day from which it asks for less.
    until: NaiveDate,
}

impl Asked {
    /// Did it ask for so much on a day?
    pub(super) fn is_on(&self, day: NaiveDate) -> bool {
        (self.from..self.until).contains(&day)
    }

    /// Does it ask for so much now?
    pub(super) fn is_now(&self) -> bool {
        self.until == NaiveDate::MAX
    }

    pub(super) const fn from(&self) -> NaiveDate {
        self.from
    }

    pub(super) const fn until(&self) -> NaiveDate {
        self.until
    }
}

impl BeforeCredits {
    pub(super) fn new(matching: &Matching<'_, '_>) -> Self {
        let mut taken: HashMap<u32, Vec<(NaiveDate, i64)>> = HashMap::new();
        for Taken { credit, invoice, minor } in matching.open.taken() {
            let credit = matching.open.get(*credit);
            taken.entry(*invoice).or_default().extend(credit.map(|credit| (credit.invoice.issued, *minor)));
        }
        taken.values_mut().for_each(|credits| credits.sort_unstable());
        Self(taken)
    }

    /// Did a credit note take something off it?
    pub(super) fn is_lessened(&self, open: u32) -> bool {
        self.0.contains_key(&open)
    }

    /// What an invoice asked for on a day, less what was paid of it up to now.
    pub(super) fn asked(&self, matching: &Matching<'_, '_>, open: u32, on: NaiveDate) -> i64 {
        let later = self.0.get(&open).into_iter().flatten().filter(|(issued, _)| *issued > on);
        let taken = later.fold(0_i64, |sum, (_, minor)| sum.saturating_add(*minor));
        match matching.rest(open).saturating_add(taken) {
            _ if taken == 0 => matching.asks(open),
            0 => 0,
            left => left.saturating_add(matching.rounding(open)),
        }
    }

    /// What these ask for, and asked for before each of their credit notes, where it is anything; rising by how much.
    pub(super) fn asked_of(&self, matching: &Matching<'_, '_>, open: &[u32]) -> Vec<Asked> {
        let mut all = Vec::with_capacity(open.len());
        for &open in open {
            let mut from = matching.earliest(open);
            let mut push = |from, until, minor| {
                if minor != 0 {
                    all.push(Asked { minor, open, from, until });
                }
            };
            for (issued, _) in self.0.get(&open).into_iter().flatten() {
                if from < *issued {
                    push(from, *issued, self.asked(matching, open, from));
                    from = *issued;
                }
            }
            push(from, NaiveDate::MAX, matching.asks(open));
        }
        all.sort_unstable();
        all
    }
}
