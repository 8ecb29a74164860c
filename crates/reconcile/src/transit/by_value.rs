//! Sides in two currencies, by what they are worth.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::ops::Range;

use chrono::{NaiveDate, TimeDelta};
use evenfare_engine::money::Currency;

use super::side::Moved;
use crate::error::Unreconciled;
use crate::matching::{Matching, TOLD};

/// Days by which the two sides of a transfer in two currencies may be apart.
pub(super) const DAYS_APART: i64 = 10;
/// Of each day so many of those that are worth less than a side are looked at, and as many that are worth more.
const NEAREST: usize = 8;

/// What came of it.
#[derive(Default)]
pub(super) struct ByValue {
    /// Two sides each, the earlier one first.
    pub(super) pairs: Vec<(u32, u32)>,
    /// Sides that several others are as near to, each with some of these.
    pub(super) asked: Vec<(u32, Vec<u32>)>,
    /// All that is asked about.
    pub(super) in_question: Vec<u32>,
}

/// Sides that are told alike: of one day and amount, the same way. Any of them is as right as another.
struct Alike {
    leave: bool,
    currency: Currency,
    booked: NaiveDate,
    /// In the currency of the books, above nothing.
    worth: i64,
    /// Those that are left.
    places: VecDeque<u32>,
}

/// How far two sides are apart, in the currency of the books and in days, and does one arrive before it left? The least
/// goes together first.
type Apart = (i64, i64, bool);

/// What leaves and what arrives, by their places among the kinds.
type Between = (usize, usize);

/// Pairs of sides that go the same way: the nearest in value go together first, of these the nearest in time, of these what
/// left before it arrived. Where several are as near and it shows which is taken, it is asked; `may_ask` says about which
/// sides, and others stay alone then.
pub(super) fn by_value(
    sides: &[Moved],
    matching: &Matching<'_, '_>,
    may_ask: impl Fn(u32) -> bool,
) -> Result<ByValue, Unreconciled> {
    let mut found = ByValue::default();
    let mut kinds = kinds(sides);
    let mut near = near(&kinds, matching)?;
    near.sort_unstable();
    for as_near in near.chunk_by(|a, b| a.0 == b.0) {
        let is_left = |kind: usize| kinds.get(kind).is_some_and(|kind| !kind.places.is_empty());
        let left = as_near.iter().map(|(_, between)| *between);
        let left: Vec<Between> = left.filter(|(from, to)| is_left(*from) && is_left(*to)).collect();
        for tied in tied(&left) {
            let (from, to) = (
                tied.iter().map(|(from, _)| *from).collect::<BTreeSet<_>>(),
                tied.iter().map(|(_, to)| *to).collect::<BTreeSet<_>>(),
            );
            let (leave, arrive) = (count(&kinds, &from), count(&kinds, &to));
            // Who is left over, if anybody, is of one kind: it shows nowhere which are taken.
            if from.len() == 1 && leave >= arrive || to.len() == 1 && arrive >= leave {
                let most = leave.min(arrive);
                let (leave, arrive) = (take(&mut kinds, &from, most), take(&mut kinds, &to, most));
                let both = leave.into_iter().zip(arrive);
                found.pairs.extend(both.map(|(one, other)| (one.min(other), one.max(other))));
                continue;
            }
            let is_fewer = leave <= arrive;
            let mut others: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
            for &(from, to) in &tied {
                let (one, other) = if is_fewer { (from, to) } else { (to, from) };
                others.entry(one).or_default().push(other);
            }
            let before = found.asked.len();
            for (kind, others) in &others {
                let among = others.iter().filter_map(|kind| kinds.get(*kind)).flat_map(|kind| &kind.places);
                let among: Vec<u32> = among.take(TOLD).copied().collect();
                let own = kinds.get(*kind).into_iter().flat_map(|kind| &kind.places).copied();
                found.asked.extend(own.filter(|place| may_ask(*place)).map(|place| (place, among.clone())));
            }
            let (fewer, more) = if is_fewer { (from, to) } else { (to, from) };
            let chose = take(&mut kinds, &fewer, usize::MAX);
            if found.asked.len() > before {
                found.in_question.extend(chose);
                found.in_question.extend(take(&mut kinds, &more, usize::MAX));
            }
        }
    }
    Ok(found)
}

/// The kinds of sides, by direction, currency, day and worth.
fn kinds(sides: &[Moved]) -> Vec<Alike> {
    let key = |one: &Moved| {
        let worth = one.side.base_minor.saturating_abs();
        (one.leaves(), one.side.currency, one.booked, worth, one.side.minor)
    };
    let mut sorted: Vec<&Moved> = sides.iter().collect();
    sorted.sort_by_key(|one| key(one));
    let alike = sorted.chunk_by(|a, b| key(a) == key(b));
    let kind = |alike: &[&Moved]| {
        let (leave, currency, booked, worth, _) = key(alike.first()?);
        let places = alike.iter().map(|one| one.place).collect();
        Some(Alike { leave, currency, booked, worth, places })
    };
    alike.filter_map(kind).collect()
}

/// The kinds that may belong together: in two currencies, no more than so many days apart, and no further off the
/// reference rates than the terms allow. Of each day the nearest in value, so the cost is that of sorting.
fn near(kinds: &[Alike], matching: &Matching<'_, '_>) -> Result<Vec<(Apart, Between)>, Unreconciled> {
    let mut near = Vec::new();
    // What leaves stands behind what arrives.
    let arrive = kinds.partition_point(|kind| !kind.leave);
    let mut days: BTreeMap<(Currency, NaiveDate), Range<usize>> = BTreeMap::new();
    for (at, kind) in kinds.iter().enumerate().skip(arrive) {
        let day = days.entry((kind.currency, kind.booked)).or_insert(at..at);
        day.end = at.saturating_add(1);
    }
    let currencies: BTreeSet<Currency> = days.keys().map(|(currency, _)| *currency).collect();
    for (to, one) in kinds.iter().enumerate().take(arrive) {
        let apart = TimeDelta::days(DAYS_APART);
        let first = one.booked.checked_sub_signed(apart).unwrap_or(NaiveDate::MIN);
        let last = one.booked.checked_add_signed(apart).unwrap_or(NaiveDate::MAX);
        for &currency in currencies.iter().filter(|currency| **currency != one.currency) {
            for (_, day) in days.range((currency, first)..=(currency, last)) {
                let of_day = kinds.get(day.clone()).unwrap_or_default();
                let at = day.start.saturating_add(of_day.partition_point(|kind| kind.worth < one.worth));
                let nearest =
                    at.saturating_sub(NEAREST).max(day.start)..at.saturating_add(NEAREST).min(day.end);
                for from in nearest {
                    let Some(left) = kinds.get(from) else { continue };
                    let value = left.worth.abs_diff(one.worth);
                    let value = i64::try_from(value).unwrap_or(i64::MAX);
                    if matching.within_rate(value, left.worth)? {
                        let days = one.booked.signed_duration_since(left.booked).num_days();
                        near.push(((value, days.saturating_abs(), days < 0), (from, to)));
                    }
                }
            }
        }
    }
    Ok(near)
}

/// Those that hang together, by one end or the other.
fn tied(all: &[Between]) -> Vec<Vec<Between>> {
    let mut of_kind: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, (from, to)) in all.iter().enumerate() {
        of_kind.entry(*from).or_default().push(at);
        of_kind.entry(*to).or_default().push(at);
    }
    let mut tied = Vec::new();
    while let Some((first, _)) = of_kind.first_key_value() {
        let (mut met, mut own) = (vec![*first], BTreeSet::new());
        while let Some(kind) = met.pop() {
            for at in of_kind.remove(&kind).unwrap_or_default() {
                if let Some((from, to)) = all.get(at).filter(|_| own.insert(at)) {
                    met.extend([*from, *to]);
                }
            }
        }
        tied.push(own.into_iter().filter_map(|at| all.get(at).copied()).collect());
    }
    tied
}

/// How many sides there are of these kinds.
fn count(kinds: &[Alike], of: &BTreeSet<usize>) -> usize {
    let left = of.iter().filter_map(|kind| kinds.get(*kind)).map(|kind| kind.places.len());
    left.fold(0, usize::saturating_add)
}

/// Takes so many sides of these kinds, in their order.
fn take(kinds: &mut [Alike], of: &BTreeSet<usize>, most: usize) -> Vec<u32> {
    let mut taken = Vec::new();
    for kind in of {
        let Some(kind) = kinds.get_mut(*kind) else { continue };
        let own = kind.places.len().min(most.saturating_sub(taken.len()));
        taken.extend(kind.places.drain(..own));
    }
    taken
}
