//! Transfers between own accounts: which side is of which, and what is under way.
//!
//! Two sides belong together, in this order:
//!
//! 1. by a person's decision. What is missing of the money then was kept back on the way; where it is more than the terms
//!    allow a rate to be off, it is told;
//! 2. what the bank says to take back, with the last that it can take back: on the same account, with the same other side,
//!    of the opposite amount;
//! 3. those of one reference from end to end, as below: both banks repeat what the workshop wrote. One that stands on one
//!    side alone says nothing;
//! 4. in one currency those of one amount, between the same accounts and the same way: the nearest in time go together
//!    first. However late one comes, it is the other side;
//! 5. in two currencies those at most ten days apart and no further off the reference rates than the terms allow: the
//!    nearest in value go together first, of these the nearest in time, of these what left before it arrived. Of each day
//!    the eight nearest below and the eight nearest above are looked at. Where several are as near, it is asked, unless they
//!    are of one day and amount;
//! 6. on one account what was booked back: of the opposite amount, with the same other side.
//!
//! Each step takes what those before it left. Every look-up is by a sorted key, so the cost is that of sorting: n log n.

// Reading order: each module uses only those above it.
mod side;
mod lost;
mod nearest;
mod by_value;

pub(crate) use lost::Lost;
pub(crate) use side::Side;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use by_value::{ByValue, DAYS_APART, by_value};
use nearest::nearest;
use side::Moved;

use crate::difference::Document;
use crate::error::Unreconciled;
use crate::loaded::Received;
use crate::matching::{Matching, OtherSide, State, Undecided, Why, payment_document};
use crate::rates::Rates;
use crate::reference::{letters_and_digits, normal};
use crate::terms::{Part, Terms, other_side};

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
    /// Two sides each, the earlier one first.
    pub(crate) pairs: Vec<(u32, u32)>,
    /// What was put into transit, in the order of days, and the day that it came out of it.
    under_way: Vec<(InTransit, Option<NaiveDate>)>,
    /// Those whose other side is not there.
    alone: Vec<u32>,
    /// What sides lost, in the order of their pairs.
    pub(crate) lost: Vec<Lost>,
    /// Those of which it is asked which goes with which.
    in_question: BTreeSet<u32>,
}

impl Transit {
    /// Finds the other side of each; where several are equally good, it is asked.
    pub(crate) fn new(
        matching: &Matching<'_, '_>,
        rates: &Rates,
        terms: &Terms,
    ) -> Result<(Self, Vec<Undecided>), Unreconciled> {
        let mut sides = Sides::default();
        for (place, (one, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
            if *state == State::Transfer {
                sides.push(place, one, Side::of(one, rates, terms)?);
            }
        }
        let all = sides.left.clone();
        sides.decided(matching);
        sides.taken_back();
        let amount = |one: &Moved| (one.side.currency, one.side.minor.saturating_abs());
        sides.of_one_amount(|one| Some((one.way(), amount(one), one.reference?)));
        let mut asked = sides.by_value(matching, |one| Some((one.way(), one.reference?)))?;
        sides.of_one_amount(|one| Some((one.way(), amount(one))));
        asked.append(&mut sides.by_value(matching, |one| Some(one.way()))?);
        sides.of_one_amount(|one| Some((one.accounts, amount(one))));
        let Sides { left, pairs, mut alone, in_question, .. } = sides;
        alone.extend(left.into_keys());
        alone.sort_unstable();
        let side = |place: &u32| all.get(place).map(|one| one.side);
        let sent = pairs.iter().filter_map(|(first, later)| Some((*later, side(first)?))).collect();
        let mut lost = Vec::new();
        for (first, later) in pairs.iter().filter_map(|(first, later)| all.get(first).zip(all.get(later))) {
            lost.extend(Lost::between(first, later, matching, terms)?);
        }
        let came: HashMap<u32, NaiveDate> = pairs
            .iter()
            .filter_map(|(first, later)| Some((*first, matching.payment(*later)?.booked)))
            .collect();
        let is_later: BTreeSet<u32> = pairs.iter().map(|(_, later)| *later).collect();
        let put_in = all.values().filter(|one| !is_later.contains(&one.place));
        let under_way = put_in.filter_map(|one| {
            let told = in_transit(matching.payment(one.place)?, one.side);
            Some((told, came.get(&one.place).copied()))
        });
        let transit = Self { sent, under_way: under_way.collect(), alone, pairs, lost, in_question };
        let questions = asked.iter().filter_map(|(subject, among)| question(matching, *subject, among));
        Ok((transit, questions.collect()))
    }

    /// The side of a transfer that was booked before this one.
    pub(crate) fn sent(&self, place: u32) -> Option<Side> {
        self.sent.get(&place).copied()
    }

    /// What had no other side at the end of a day.
    pub(crate) fn at(&self, day: NaiveDate) -> Vec<InTransit> {
        let is_in = |(one, came): &&(InTransit, Option<NaiveDate>)| {
            one.day <= day && came.is_none_or(|came| came > day)
        };
        self.under_way.iter().filter(is_in).map(|(one, _)| one.clone()).collect()
    }

    /// What is without its other side for longer than the sides of a transfer are apart, the day from which it is, and is
    /// it asked about?
    pub(crate) fn overdue<'m, 'a>(
        &self,
        matching: &Matching<'m, 'a>,
        until: NaiveDate,
    ) -> impl Iterator<Item = (NaiveDate, &'m Received<'a>, bool)> {
        let alone = self.alone.iter().map(|place| (place, false));
        let in_question = self.in_question.iter().map(|place| (place, true));
        let from = move |(place, is_asked): (&u32, bool)| {
            let one = matching.payment(*place)?;
            let day = one.booked.checked_add_signed(chrono::TimeDelta::days(DAYS_APART))?;
            (day <= until).then_some((day, one, is_asked))
        };
        alone.chain(in_question).filter_map(from)
    }
}

/// Sides while they are put together.
#[derive(Default)]
struct Sides {
    /// Accounts by their numbers.
    accounts: HashMap<String, u32>,
    /// References by theirs.
    references: HashMap<String, u32>,
    /// Those without another side, by their places, which go by days.
    left: BTreeMap<u32, Moved>,
    pairs: Vec<(u32, u32)>,
    /// Those of which a person said what their other side is, and it is not there yet.
    alone: Vec<u32>,
    /// Those of which it is asked which goes with which.
    in_question: BTreeSet<u32>,
}

impl Sides {
    fn push(&mut self, place: u32, one: &Received<'_>, side: Side) {
        // Nothing is posted of nothing.
        if side.minor == 0 {
            return;
        }
        let number = |numbers: &mut HashMap<String, u32>, name: &str| {
            let next = u32::try_from(numbers.len()).unwrap_or(u32::MAX);
            *numbers.entry(normal(name)).or_insert(next)
        };
        let own = number(&mut self.accounts, &one.statement.account);
        let other = number(&mut self.accounts, one.payment.party_account.as_deref().unwrap_or_default());
        let reference =
            one.payment.end_to_end.as_deref().filter(|text| letters_and_digits(text).next().is_some());
        let reference = reference.map(|text| number(&mut self.references, text));
        let (booked, is_reversal) = (one.booked, one.reversal);
        self.left
            .insert(place, Moved { place, booked, is_reversal, accounts: (own, other), reference, side });
    }

    fn pair(&mut self, pairs: impl IntoIterator<Item = (u32, u32)>) {
        for (first, later) in pairs {
            self.left.remove(&first);
            self.left.remove(&later);
            self.pairs.push((first, later));
        }
    }

    /// What a person said.
    fn decided(&mut self, matching: &Matching<'_, '_>) {
        for (&place, other) in &matching.other_sides {
            match other {
                OtherSide::Is(Some(other)) if place < *other => self.pair([(place, *other)]),
                OtherSide::Is(None) => self.alone.extend(self.left.remove(&place).map(|one| one.place)),
                OtherSide::Is(Some(_)) | OtherSide::Unsaid => {}
            }
        }
    }

    /// What the bank says to take back, each with the last before it.
    fn taken_back(&mut self) {
        let mut before: HashMap<_, Vec<u32>> = HashMap::new();
        let mut pairs = Vec::new();
        for one in self.left.values() {
            let key = |minor: i64| (one.accounts, one.side.currency, minor);
            if !one.is_reversal {
                before.entry(key(one.side.minor)).or_default().push(one.place);
                continue;
            }
            let taken_back = before.get_mut(&key(one.side.minor.saturating_neg())).and_then(Vec::pop);
            pairs.extend(taken_back.map(|first| (first, one.place)));
        }
        self.pair(pairs);
    }

    /// Those that are left, by what makes them alike; without those that are like none.
    fn lines<K: Ord>(&self, alike: impl Fn(&Moved) -> Option<K>) -> Vec<Vec<Moved>> {
        let mut lines: BTreeMap<K, Vec<Moved>> = BTreeMap::new();
        for one in self.left.values() {
            if let Some(key) = alike(one) {
                lines.entry(key).or_default().push(*one);
            }
        }
        lines.into_values().collect()
    }

    /// Of those that are alike, the nearest in time.
    fn of_one_amount<K: Ord>(&mut self, alike: impl Fn(&Moved) -> Option<K>) {
        for line in self.lines(alike) {
            self.pair(nearest(&line));
        }
    }

    /// Of those in two currencies that are alike, the nearest in value. What is to be asked.
    fn by_value<K: Ord>(
        &mut self,
        matching: &Matching<'_, '_>,
        alike: impl Fn(&Moved) -> Option<K>,
    ) -> Result<Vec<(u32, Vec<u32>)>, Unreconciled> {
        let mut all = Vec::new();
        let may_ask = |place: u32| !matching.other_sides.contains_key(&place);
        for sides in self.lines(alike) {
            let ByValue { pairs, mut asked, in_question } = by_value(&sides, matching, may_ask)?;
            self.pair(pairs);
            self.in_question.extend(in_question);
            all.append(&mut asked);
        }
        self.left.retain(|place, _| !self.in_question.contains(place));
        Ok(all)
    }
}

/// What one side put into transit.
fn in_transit(one: &Received<'_>, side: Side) -> InTransit {
    InTransit {
        day: one.booked,
        account: one.statement.account.clone(),
        other: one.payment.party_account.clone().unwrap_or_default(),
        currency: side.currency,
        minor: side.minor.saturating_neg(),
        base_minor: side.base_minor.saturating_neg(),
        document: payment_document(one),
    }
}

/// Asks which of these is the other side.
fn question(matching: &Matching<'_, '_>, subject: u32, among: &[u32]) -> Option<Undecided> {
    let one = matching.payment(subject)?;
    let named = || among.iter().filter_map(|place| Some(other_side(&matching.payment(*place)?.name())));
    let (currency, minor) = (one.currency(), one.cleared());
    Some(Undecided {
        subject: payment_document(one),
        payment: Some(one.id()),
        seller: None,
        why: Why::OtherSide,
        currency,
        amount_minor: minor,
        candidates: named().map(|name| vec![name]).collect(),
        parts: named().map(|invoice| vec![Part { invoice, currency, minor }]).collect(),
    })
}
