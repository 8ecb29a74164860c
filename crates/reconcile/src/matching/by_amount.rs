//! Payments that name nothing, by who paid, how much and when.
//!
//! For each party and currency, in this order: a payment of what is left of one invoice; a payment of what is
//! left of several; several payments of what is left of one invoice; a payment of what was left of one before a
//! credit note of a later day; a part payment where only one invoice can take it. Each is taken only where nothing else
//! is as good, and what takes a part in an open question only where it is paid to the letter. Combinations are tried
//! among at most [`subset::MOST`] open invoices, or payments, of a party; where there are more it is asked. What went out
//! comes last, and is all of what was paid too much of one invoice, or of what a credit note is.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::before_credits::BeforeCredits;
use super::payers::Payers;
use super::payments::{Matching, State, TOLD};
use super::question::Why;
use super::subset::{self, subsets};
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::month::Month;

/// An amount, and the day it was paid on.
type Amount = (i64, NaiveDate);

/// Payments, and the open invoices that they may be for.
type Both = (Vec<u32>, Vec<u32>);

/// Matches what is left by party and amount.
pub(crate) fn by_amount(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) -> Result<(), Unreconciled> {
    let new = matching.new_ones();
    if new.is_empty() {
        return Ok(());
    }
    let payers = Payers::default();
    let mut of_party: BTreeMap<(Arc<str>, Currency), Both> = BTreeMap::new();
    let mut strangers = Vec::new();
    for place in new {
        let Some(one) = matching.payment(place) else { continue };
        match payers.of(matching, loaded, place) {
            Some(party) => of_party.entry((party, one.currency())).or_default().0.push(place),
            None => strangers.push(place),
        }
    }
    let mut stranger_amounts: HashMap<(Currency, i64), Vec<u32>> = HashMap::new();
    let mut before = BeforeCredits::new(matching);
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        if open.rest() == 0 && !before.is_lessened(place) || !open.is_owed() {
            continue;
        }
        if let Some(known) = of_party.get_mut(&(Arc::clone(open.party), open.currency())) {
            known.1.push(place);
        }
        let asks = if strangers.is_empty() { 0 } else { matching.asks(place) };
        if asks != 0 {
            stranger_amounts.entry((open.currency(), asks)).or_default().push(place);
        }
    }
    for (payments, open) in of_party.into_values() {
        party(matching, payments, &open, &mut before)?;
    }
    // Less may be left by now. What was written in time stands before what was not.
    for ((_, amount), open) in &mut stranger_amounts {
        open.retain(|open| matching.asks(*open) == *amount);
        open.sort_by_key(|open| matching.open.get(*open).map(|open| open.invoice.issued));
    }
    let mut asked: BTreeMap<(Currency, i64), NaiveDate> = BTreeMap::new();
    for place in strangers {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        // Who paid is not known, so even one invoice of that amount is no more than a candidate.
        let fits = stranger_amounts.get(&(one.currency(), amount)).into_iter().flatten();
        let fits = fits.take_while(|open| matching.in_time(one.booked, **open));
        let candidates: Vec<Vec<u32>> = fits.take(TOLD).map(|open| vec![*open]).collect();
        if candidates.is_empty() {
            matching.set(place, State::Unknown);
            continue;
        }
        matching.ask(place, Why::EquallyGood, &candidates)?;
        asked.insert((one.currency(), amount), one.booked);
    }
    // Not all of many are told; they are in question all the same.
    for ((currency, amount), booked) in asked {
        for open in stranger_amounts.remove(&(currency, amount)).unwrap_or_default() {
            if matching.in_time(booked, open) {
                matching.doubt(open, amount < 0);
            }
        }
    }
    Ok(())
}

/// The payments of one party in one currency, and its open invoices.
fn party(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &mut BeforeCredits,
) -> Result<(), Unreconciled> {
    let first = matching.allocations.len();
    let comes_in = |place: &u32| matching.payment(*place).is_some_and(|one| one.cleared() > 0);
    let (payments, outgoing): (Vec<u32>, Vec<u32>) = payments.into_iter().partition(comes_in);
    let payments = one_for_one(matching, payments, open, before)?;
    let (payments, too_many) = one_for_many(matching, payments, open)?;
    let payments = many_for_one(matching, payments, open)?;
    let payments = before.clear(matching, payments, open)?;
    let by_rest = by_rest(matching, open);
    let mut parts = Vec::new();
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let more = by_rest.iter().rev().take_while(|(rest, _)| *rest > amount);
        let takes = |open: &u32| matching.asks(*open) >= amount && matching.in_time(one.booked, *open);
        let takers: Vec<u32> = more.map(|(_, open)| *open).filter(takes).take(TOLD).collect();
        match takers.as_slice() {
            [] => matching.set(place, State::Unknown),
            [only] if !matching.is_in_question(*only) => matching.allocate(place, *only, amount)?,
            several => {
                let told: Vec<Vec<u32>> = several.iter().map(|open| vec![*open]).collect();
                matching.ask(place, Why::PartOfSeveral, &told)?;
                parts.push((amount, one.booked));
            }
        }
    }
    // Not all of many are told; they are in question all the same.
    let more = by_rest.iter().map(|(_, open)| (matching.asks(*open), *open)).collect();
    doubt_beyond(matching, parts, more);
    let less = by_rest.iter().map(|(_, open)| (matching.asks(*open).saturating_neg(), *open));
    let less = less.filter(|(key, _)| *key < 0).collect();
    let too_many = too_many.into_iter().map(|(amount, booked)| (amount.saturating_neg(), booked));
    doubt_beyond(matching, too_many.collect(), less);
    // It may give back what only now is known to be too much.
    if !outgoing.is_empty() {
        before.note(matching, matching.allocations.get(first..).unwrap_or_default());
    }
    let outgoing = one_for_one(matching, outgoing, open, before)?;
    for place in before.clear(matching, outgoing, open)? {
        matching.set(place, State::Unknown);
    }
    Ok(())
}

/// Puts in question what stands at or above an amount that is asked about, and was written by its day.
fn doubt_beyond(matching: &mut Matching<'_, '_>, mut asked: Vec<Amount>, mut open: Vec<(i64, u32)>) {
    asked.sort_unstable();
    open.sort_unstable();
    let mut asked = asked.into_iter().peekable();
    let mut last: Option<NaiveDate> = None;
    for (stands, open) in open {
        while let Some((_, booked)) = asked.next_if(|(amount, _)| *amount <= stands) {
            last = last.max(Some(booked));
        }
        if last.is_some_and(|last| matching.in_time(last, open)) {
            matching.doubt(open, false);
        }
    }
}

/// Of what something is left, rising by how much.
fn by_rest(matching: &Matching<'_, '_>, open: &[u32]) -> Vec<(i64, u32)> {
    let by_rest = open.iter().map(|open| (matching.asks(*open), *open));
    let mut by_rest: Vec<(i64, u32)> = by_rest.filter(|(rest, _)| *rest != 0).collect();
    by_rest.sort_unstable();
    by_rest
}

/// Payments of what is left of one invoice. As many as there are invoices of that amount clear them, in the
/// order of days: whichever clears which, all are paid. Fewer may be for any of them.
fn one_for_one(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
) -> Result<Vec<u32>, Unreconciled> {
    let mut by_amount: BTreeMap<i64, Both> = BTreeMap::new();
    for &place in &payments {
        let amount = matching.payment(place).map_or(0, Received::cleared);
        by_amount.entry(amount).or_default().0.push(place);
    }
    for &place in open {
        let asks = matching.asks(place);
        if asks != 0
            && let Some(equal) = by_amount.get_mut(&asks)
        {
            equal.1.push(place);
        }
    }
    let mut left = Vec::new();
    for (amount, (payments, mut invoices)) in by_amount {
        // By the last payment at the latest an invoice has to be written to be one of those, and a payment clears none
        // that is written later than it can.
        let in_time = |place: &u32, open: &u32| {
            matching.payment(*place).is_some_and(|one| before.earliest(matching, *open) <= one.booked)
        };
        invoices.retain(|open| payments.last().is_some_and(|last| in_time(last, open)));
        if invoices.is_empty() {
            left.extend(payments);
            continue;
        }
        let due = |open: &u32| matching.open.get(*open).map(|open| (open.due, &*open.invoice.number));
        let mut by_issue = invoices.clone();
        by_issue.sort_by_cached_key(|open| before.earliest(matching, *open));
        let is_early = |place: &&u32| by_issue.first().is_none_or(|first| !in_time(place, first));
        let (early, able) = payments.split_at(payments.iter().take_while(is_early).count());
        let mut unwritten = by_issue.iter().peekable();
        let mut written = BTreeSet::new();
        let mut pairs = Vec::with_capacity(invoices.len());
        let mut over = Vec::new();
        for place in able {
            while let Some(open) = unwritten.next_if(|open| in_time(place, open)) {
                written.insert((due(open), *open));
            }
            match written.pop_first() {
                Some((_, open)) => pairs.push((*place, open)),
                None => over.push(*place),
            }
        }
        left.extend(early);
        if pairs.len() < invoices.len() {
            invoices.sort_by_key(due);
            let told: Vec<Vec<u32>> = invoices.iter().take(TOLD).map(|open| vec![*open]).collect();
            for place in able {
                matching.ask(*place, Why::EquallyGood, &told)?;
            }
            invoices.into_iter().for_each(|open| matching.doubt(open, amount < 0));
            continue;
        }
        left.append(&mut over);
        for (place, open) in pairs {
            matching.allocate(place, open, amount)?;
        }
    }
    left.sort_unstable();
    Ok(left)
}

/// Payments of what is left of several invoices together. Those of one month are held against each other: where they
/// cannot all be for what they come to, each is asked about. Answers what is left over, and amounts and days of those that
/// there are too many invoices for.
fn one_for_many(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
) -> Result<(Vec<u32>, Vec<Amount>), Unreconciled> {
    let (mut left, mut too_many) = (Vec::new(), Vec::new());
    let month = |place: &u32| matching.payment(*place).map(|one| Month::of(one.booked));
    let months: Vec<&[u32]> = payments.chunk_by(|one, other| month(one) == month(other)).collect();
    for of_month in months {
        for one in clear_certain(matching, of_month.to_vec(), open)? {
            if one.fitting.len() > subset::MOST {
                let told: Vec<Vec<u32>> = one.fitting.iter().take(TOLD).map(|open| vec![*open]).collect();
                matching.ask(one.place, Why::TooMany, &told)?;
                too_many.push((one.amount, one.booked));
            } else if one.ways.is_empty() {
                left.push(one.place);
            } else {
                matching.ask(one.place, Why::EquallyGood, &one.ways)?;
                one.may_take().iter().for_each(|open| matching.doubt(*open, false));
            }
        }
    }
    Ok((left, too_many))
}

/// Clears what each payment can only be for, as often as that leaves another but one way. Answers the others.
fn clear_certain(
    matching: &mut Matching<'_, '_>,
    mut payments: Vec<u32>,
    open: &[u32],
) -> Result<Vec<ForSeveral>, Unreconciled> {
    loop {
        let by_rest = by_rest(matching, open);
        let found = payments.iter().filter_map(|place| ForSeveral::of(matching, *place, &by_rest));
        let found: Vec<ForSeveral> = found.collect();
        let contested = contested(matching, &found);
        let mut others = Vec::with_capacity(found.len());
        for one in found {
            // Of payments of the same invoices the first takes them.
            let is_certain = |open: &u32| {
                matching.asks(*open) != 0 && !contested.contains(open) && !matching.is_in_question(*open)
            };
            match one.ways.as_slice() {
                [only] if only.iter().all(is_certain) => {
                    for &open in only {
                        matching.allocate(one.place, open, matching.asks(open))?;
                    }
                }
                _ => others.push(one),
            }
        }
        if others.len() == payments.len() {
            return Ok(others);
        }
        payments = others.iter().map(|one| one.place).collect();
    }
}

/// A payment, and what it may be for several of.
struct ForSeveral {
    place: u32,
    amount: i64,
    booked: NaiveDate,
    /// The invoices of less, one more of too many.
    fitting: Vec<u32>,
    /// Those of them that come to it; a few ways of many.
    ways: Vec<Vec<u32>>,
}

impl ForSeveral {
    fn of(matching: &Matching<'_, '_>, place: u32, by_rest: &[(i64, u32)]) -> Option<Self> {
        let one = matching.payment(place)?;
        let (amount, booked) = (one.cleared(), one.booked);
        let less = by_rest.iter().skip_while(|(rest, _)| *rest <= 0).take_while(|(rest, _)| *rest < amount);
        let less = less.map(|(_, open)| *open).filter(|open| matching.in_time(booked, *open));
        let fitting: Vec<u32> = less.take(subset::MOST.saturating_add(1)).collect();
        let ways = ways(matching, &fitting, amount);
        Some(Self { place, amount, booked, fitting, ways })
    }

    /// All that a way takes; not all of many ways are known.
    fn may_take(&self) -> Vec<u32> {
        if self.ways.len() < subset::TOLD { self.ways.concat() } else { self.fitting.clone() }
    }
}

fn ways(matching: &Matching<'_, '_>, fitting: &[u32], amount: i64) -> Vec<Vec<u32>> {
    let amounts: Vec<i64> = fitting.iter().map(|open| matching.asks(*open)).collect();
    let of = |places: Vec<usize>| places.iter().filter_map(|place| fitting.get(*place).copied()).collect();
    subsets(&amounts, amount).into_iter().map(of).collect()
}

/// What payments may be for that cannot all be for what they come to: the only way of one takes a part of the only way of
/// another, or such ways leave none to one that has several.
fn contested(matching: &Matching<'_, '_>, found: &[ForSeveral]) -> BTreeSet<u32> {
    let mut only: HashMap<u32, BTreeSet<&[u32]>> = HashMap::new();
    for one in found {
        if let [way] = one.ways.as_slice() {
            way.iter().for_each(|open| _ = only.entry(*open).or_default().insert(way));
        }
    }
    let is_contested = |one: &&ForSeveral| match one.ways.as_slice() {
        [] => false,
        [way] => way.iter().any(|open| only.get(open).is_some_and(|ways| ways.len() > 1)),
        _ => {
            let free = one.fitting.iter().copied().filter(|open| !only.contains_key(open));
            ways(matching, &free.collect::<Vec<_>>(), one.amount).is_empty()
        }
    };
    found.iter().filter(is_contested).flat_map(ForSeveral::may_take).collect()
}

/// Several payments of what is left of one invoice. A payment that could be a part of two of them is asked
/// about.
fn many_for_one(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
) -> Result<Vec<u32>, Unreconciled> {
    let amounts: Vec<i64> =
        payments.iter().map(|place| matching.payment(*place).map_or(0, Received::cleared)).collect();
    let invoices: Vec<u32> = open.iter().copied().filter(|open| matching.asks(*open) != 0).collect();
    if invoices.len() > subset::MOST {
        return Ok(payments);
    }
    let mut ways: Vec<(u32, Vec<u32>)> = Vec::new();
    for open in invoices {
        for way in subsets(&amounts, matching.asks(open)) {
            let of_way: Vec<u32> = way.iter().filter_map(|place| payments.get(*place).copied()).collect();
            let written =
                |place: &u32| matching.payment(*place).is_some_and(|one| matching.in_time(one.booked, open));
            if of_way.iter().all(written) {
                ways.push((open, of_way));
            }
        }
    }
    let mut left = Vec::new();
    let mut taken: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for (way, (_, of_way)) in (0_u32..).zip(&ways) {
        for place in of_way {
            taken.entry(*place).or_default().push(way);
        }
    }
    let has_rival = |way: u32, open: u32, of_way: &[u32]| {
        let shared = of_way.iter().any(|place| taken.get(place).is_some_and(|ways| ways.len() > 1));
        shared || (0_u32..).zip(&ways).any(|(other, (of, _))| other != way && *of == open)
    };
    let is_asked = |(open, _): &(u32, Vec<u32>)| matching.is_in_question(*open).then_some(*open);
    let is_asked: BTreeSet<u32> = ways.iter().filter_map(is_asked).collect();
    for place in payments {
        let of = taken.get(&place).map(Vec::as_slice).unwrap_or_default();
        let way = of.first().and_then(|way| Some((*way, ways.get(usize::try_from(*way).ok()?)?)));
        match way {
            None => left.push(place),
            Some((way, (open, of_way))) if !has_rival(way, *open, of_way) && !is_asked.contains(open) => {
                let amount = matching.payment(place).map_or(0, Received::cleared);
                matching.allocate(place, *open, amount)?;
            }
            Some(_) => {
                let candidates = of.iter().filter_map(|way| ways.get(usize::try_from(*way).ok()?));
                let all: Vec<Vec<u32>> = candidates.map(|(open, _)| vec![*open]).collect();
                let (told, others) = all.split_at_checked(TOLD).unwrap_or((&all, &[]));
                matching.ask(place, Why::EquallyGood, told)?;
                others.iter().flatten().for_each(|open| matching.doubt(*open, false));
            }
        }
    }
    Ok(left)
}
