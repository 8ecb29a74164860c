//! Differences as they are known, held against those that months were closed with.

use std::collections::{HashMap, HashSet, VecDeque};

use evenfare_engine::money::Currency;

use crate::difference::{Difference, Paper, Reason};
use crate::differences::{InQuestion, Known};
use crate::firm::WORKSHOP;
use crate::matching::{By, Undecided};
use crate::period::{Closing, Found, Settled};

/// A difference without the places of its documents: a file that was renamed, or a line above theirs, makes no
/// other difference of it.
fn anywhere(difference: &Difference) -> Difference {
    let mut difference = difference.clone();
    difference.documents.iter_mut().for_each(|document| document.place = None);
    difference
}

/// What months were closed with and no closing says was settled. Two may be alike but for their places, as two rows of one
/// bill are: each is one.
#[derive(Default)]
struct Closed<'c>(HashMap<Difference, VecDeque<&'c Found>>);

impl<'c> Closed<'c> {
    fn put(&mut self, found: &'c Found) {
        self.0.entry(anywhere(&found.difference)).or_default().push_back(found);
    }

    /// The first of those that are alike, which is there no more then.
    fn take(&mut self, difference: &Difference) -> Option<&'c Found> {
        self.0.get_mut(&anywhere(difference))?.pop_front()
    }

    fn all(&self) -> impl Iterator<Item = &'c Found> + '_ {
        self.0.values().flatten().copied()
    }
}

/// What a difference is about, whatever it comes to: why, whom it concerns, the quote and the first paper behind it.
type About<'d> = (Reason, &'d str, Currency, Option<&'d str>, Option<&'d str>);

fn about(one: &Difference) -> About<'_> {
    let first = one.documents.iter().find(|document| document.paper != Paper::Quote);
    (one.reason, &one.party, one.currency, one.quote.as_deref(), first.map(|first| &*first.number))
}

/// Papers and payments of which it is asked what they are for, and papers that wait for the answer: what they are, the
/// number, and who wrote it.
pub(crate) struct Asked<'q>(HashSet<(Paper, &'q str, Option<&'q str>)>);

impl<'q> Asked<'q> {
    pub(crate) fn new(undecided: &'q [Undecided], waiting: &[By<'q>]) -> Self {
        let asked =
            undecided.iter().map(|one| (one.subject.paper, &*one.subject.number, one.seller.as_deref()));
        let waiting = waiting
            .iter()
            .map(|(written, seller)| (written.paper(), written.number(), seller.map(|seller| &**seller)));
        Self(asked.chain(waiting).collect())
    }

    /// Is one of the papers behind a difference among them?
    fn are_behind(&self, one: &Difference) -> bool {
        // Whoever wrote them, where that is known.
        let sellers = [None, Some(WORKSHOP), Some(&*one.party)];
        !self.0.is_empty()
            && one.documents.iter().any(|document| {
                let is_of = |seller| self.0.contains(&(document.paper, &*document.number, seller));
                sellers.into_iter().any(is_of)
            })
    }
}

/// Differences as they are known, held against those that months were closed with.
pub(crate) struct Held {
    /// What is a difference, with the day it counts for.
    pub(crate) differences: Vec<Found>,
    /// What closings say was settled.
    pub(crate) settled: Vec<Settled>,
    /// What is a difference no more, and no closing says so yet.
    pub(crate) gone: Vec<Found>,
}

/// The differences with the days they count for, and those of closed months that are differences no more. One that was
/// settled and is found again is a new one.
///
/// What a month was closed with and is in question stays as it was until that is decided: it is settled by what is
/// known, never by a question.
pub(crate) fn held(known: Known, asked: &Asked<'_>, closings: &[&Closing]) -> Held {
    let open = closings.last().map(|closing| closing.month.next().first_day());
    let mut closed = Closed::default();
    for closing in closings {
        for one in &closing.settled {
            closed.take(&one.found.difference);
        }
        closing.differences.iter().for_each(|one| closed.put(one));
    }
    let found = |difference: Difference, before: Option<&Found>| Found {
        posted: match before {
            Some(before) => before.posted,
            None => open.map_or(difference.day, |open| open.max(difference.day)),
        },
        difference,
    };
    let Known { told, in_question } = known;
    let mut differences: Vec<Found> = Vec::with_capacity(told.len());
    for one in told {
        let before = closed.take(&one);
        differences.push(found(one, before));
    }
    for (InQuestion { whole, told_minor }, before) in carried(&in_question, &closed) {
        let told = Difference { amount_minor: *told_minor, ..whole.clone() };
        let before = before.and_then(|before| closed.take(&before.difference));
        match before.filter(|before| anywhere(&before.difference) != anywhere(&told)) {
            Some(other) => differences.push(other.clone()),
            None if *told_minor != 0 => differences.push(found(told, before)),
            None => {}
        }
    }
    let (waits, mut gone) = closed.all().partition::<Vec<_>, _>(|one| asked.are_behind(&one.difference));
    if !waits.is_empty() {
        let is_told = differences.iter().map(|one| &one.difference);
        let in_question = in_question.iter().map(|one| &one.whole);
        let is_told: HashSet<About<'_>> = is_told.chain(in_question).map(about).collect();
        let (waits, others) =
            waits.into_iter().partition::<Vec<_>, _>(|one| !is_told.contains(&about(&one.difference)));
        differences.extend(waits.into_iter().cloned());
        gone.extend(others);
    }
    let mut gone: Vec<Found> = gone.into_iter().cloned().collect();
    gone.sort_unstable();
    differences.sort_unstable();
    let settled = closings.iter().flat_map(|closing| &closing.settled).cloned().collect();
    Held { differences, settled, gone }
}

/// What is in question, each with what a month was closed with of it, where that may be all of it still: no less than
/// is told, and no more than the whole.
fn carried<'k, 'c>(
    in_question: &'k [InQuestion],
    closed: &Closed<'c>,
) -> Vec<(&'k InQuestion, Option<&'c Found>)> {
    let mut by_about: HashMap<About<'_>, Vec<&'c Found>> = HashMap::new();
    if !in_question.is_empty() {
        let mut closed: Vec<&'c Found> = closed.all().collect();
        closed.sort_unstable();
        for found in closed {
            by_about.entry(about(&found.difference)).or_default().push(found);
        }
    }
    let may_be = |one: &InQuestion, found: &Found| {
        let (whole, minor) = (one.whole.amount_minor, found.difference.amount_minor);
        let within = one.told_minor.unsigned_abs()..=whole.unsigned_abs();
        minor.signum() == whole.signum() && within.contains(&minor.unsigned_abs())
    };
    let before = |one: &'k InQuestion| {
        let of_one = by_about.get(&about(&one.whole)).map(Vec::as_slice).unwrap_or_default();
        of_one.iter().copied().find(|found| may_be(one, found))
    };
    in_question.iter().map(|one| (one, before(one))).collect()
}
