//! Differences as they are known, held against those that months were closed with.

use std::collections::{HashMap, HashSet, VecDeque};

use crate::difference::{About, Difference, Paper};
use crate::differences::{InQuestion, Known};
use crate::firm::WORKSHOP;
use crate::matching::{By, Undecided};
use crate::period::{Closing, Found, Settled};

/// A difference without the places of its documents: a file that was renamed, or a line above theirs, makes no
/// other difference of it; nor does what was agreed, which closings did not always keep.
fn anywhere(difference: &Difference) -> Difference {
    let mut difference = Difference { agreed_minor: None, ..difference.clone() };
    difference.documents.iter_mut().for_each(|document| document.place = None);
    difference
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
    /// What is a difference no more as it was closed, and no closing says so yet.
    pub(crate) gone: Vec<Gone>,
}

/// What a month was closed with, and is not so any more.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Gone {
    pub(crate) found: Found,
    /// The same of another amount, where it is a difference still; it is not among the others yet.
    pub(crate) now: Option<Difference>,
}

/// What months were closed with and was not met yet. Two may be alike but for their places, as two rows of one bill are:
/// each is one.
struct Closed<'c> {
    all: Vec<Option<&'c Found>>,
    exactly: HashMap<Difference, VecDeque<usize>>,
    by_about: HashMap<About<'c>, Vec<usize>>,
}

impl<'c> Closed<'c> {
    fn new(closings: &[&'c Closing]) -> Self {
        let mut open: HashMap<Difference, VecDeque<&'c Found>> = HashMap::new();
        for closing in closings {
            for one in &closing.settled {
                open.get_mut(&anywhere(&one.found.difference)).and_then(VecDeque::pop_front);
            }
            for one in &closing.differences {
                open.entry(anywhere(&one.difference)).or_default().push_back(one);
            }
        }
        let alike = |(one, of): (Difference, VecDeque<&'c Found>)| {
            of.into_iter().map(move |found| (found, one.clone()))
        };
        let mut sorted: Vec<(&'c Found, Difference)> = open.into_iter().flat_map(alike).collect();
        sorted.sort_unstable();
        let mut closed = Self { all: Vec::new(), exactly: HashMap::new(), by_about: HashMap::new() };
        for (at, (found, one)) in sorted.into_iter().enumerate() {
            closed.all.push(Some(found));
            closed.exactly.entry(one).or_default().push_back(at);
            closed.by_about.entry(found.difference.about()).or_default().push(at);
        }
        closed
    }

    /// The same, wherever its documents were read; the first of those that are alike.
    fn take_same(&mut self, one: &Difference) -> Option<&'c Found> {
        if self.exactly.is_empty() {
            return None;
        }
        let at = self.exactly.get_mut(&anywhere(one))?.pop_front()?;
        self.all.get_mut(at)?.take()
    }

    /// The first about the same that fits.
    fn take(&mut self, one: &Difference, fits: impl Fn(i64) -> bool) -> Option<&'c Found> {
        let of_one = self.by_about.get(&one.about())?;
        let is_it = |at: &&usize| {
            let found = self.all.get(**at).copied().flatten();
            found.is_some_and(|found| fits(found.difference.amount_minor))
        };
        let at = of_one.iter().find(is_it).copied()?;
        self.all.get_mut(at)?.take()
    }
}

/// The differences with the days they count for, and those of closed months that are differences no more. One that was
/// settled and is found again is a new one.
///
/// One of the same amount about the same is the same, whatever papers came to stand behind it since; one of another amount
/// is the same that changed. What a month was closed with and is in question stays as it was until that is decided: it is
/// settled by what is known, never by a question. Where it can be that no more, it is as near to it as it may be.
pub(crate) fn held(known: Known, asked: &Asked<'_>, closings: &[&Closing]) -> Held {
    let open = closings.last().map(|closing| closing.month.next().first_day());
    let mut closed = Closed::new(closings);
    let found = |difference: Difference, before: Option<&Found>| Found {
        posted: match before {
            Some(before) => before.posted,
            None => open.map_or(difference.day, |open| open.max(difference.day)),
        },
        difference,
    };
    let Known { told, in_question } = known;
    let mut differences: Vec<Found> = Vec::with_capacity(told.len());
    let (mut new, mut gone) = (Vec::new(), Vec::new());
    for one in told {
        match closed.take_same(&one) {
            Some(before) => differences.push(found(one, Some(before))),
            None => new.push(one),
        }
    }
    new.sort_unstable();
    let mut others = Vec::new();
    for one in new {
        match closed.take(&one, |minor| minor == one.amount_minor) {
            Some(before) => differences.push(found(one, Some(before))),
            None => others.push(one),
        }
    }
    let mut beyond = Vec::new();
    for one in &in_question {
        let InQuestion { whole, told_minor } = one;
        let told = Difference { amount_minor: *told_minor, ..whole.clone() };
        let before = closed.take(whole, |minor| one.may_be(minor));
        match before.filter(|before| anywhere(&before.difference) != anywhere(&told)) {
            Some(other) => differences.push(other.clone()),
            None if before.is_some() => differences.push(found(told, before)),
            None => beyond.push((one, told)),
        }
    }
    let mut changed = |before: &Found, now| gone.push(Gone { found: before.clone(), now: Some(now) });
    for one in others {
        match closed.take(&one, |minor| minor.signum() == one.amount_minor.signum()) {
            Some(before) => changed(before, one),
            None => differences.push(found(one, None)),
        }
    }
    for (InQuestion { whole, .. }, told) in beyond {
        match closed.take(whole, |minor| minor.signum() == whole.amount_minor.signum()) {
            Some(before) => {
                let is_more =
                    before.difference.amount_minor.unsigned_abs() > whole.amount_minor.unsigned_abs();
                changed(before, if is_more { whole.clone() } else { told });
            }
            None if told.amount_minor != 0 => differences.push(found(told, None)),
            None => {}
        }
    }
    let left = closed.all.into_iter().flatten();
    let (waits, mut left) = left.partition::<Vec<_>, _>(|one| asked.are_behind(&one.difference));
    if !waits.is_empty() {
        let is_told = differences.iter().map(|one| &one.difference);
        let is_told = is_told.chain(gone.iter().filter_map(|gone| gone.now.as_ref()));
        let in_question = in_question.iter().map(|one| &one.whole);
        let is_told: HashSet<About<'_>> = is_told.chain(in_question).map(Difference::about).collect();
        let (waits, others) =
            waits.into_iter().partition::<Vec<_>, _>(|one| !is_told.contains(&one.difference.about()));
        differences.extend(waits.into_iter().cloned());
        left.extend(others);
    }
    gone.extend(left.into_iter().map(|found| Gone { found: found.clone(), now: None }));
    gone.sort_unstable();
    differences.sort_unstable();
    let settled = closings.iter().flat_map(|closing| &closing.settled).cloned().collect();
    Held { differences, settled, gone }
}
