//! Payments that name nothing, by who paid, how much and when.
//!
//! For each party and currency, in this order: a payment of what one invoice asked for on its day; a payment of what
//! several asked for; several payments of what one invoice asked for; the same three of what is asked for now, after
//! credit notes of later days; a part payment where only one invoice could take it. Each is taken only where nothing else
//! is as good, and what takes a part in an open question only where it is paid to the letter. Combinations are tried
//! among at most [`subset::MOST`] open invoices, or payments, of a party; where there are more it is asked. What came in
//! comes first: it may be too much, and go back then.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::before_credits::{Asked, BeforeCredits};
use super::one_for_one::one_for_one;
use super::open::Open;
use super::payers::Payers;
use super::payments::{Matching, State, TOLD};
use super::question::Why;
use super::subset::{self, subsets};
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};

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
    let mut stranger_amounts: HashMap<(Currency, i64), Vec<Asked>> = HashMap::new();
    let before = BeforeCredits::new(matching);
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        if open.rest() == 0 && !before.is_lessened(place) || !open.is_owed() {
            continue;
        }
        if let Some(known) = of_party.get_mut(&(Arc::clone(open.party), open.currency())) {
            known.1.push(place);
        }
        for asked in strangers.first().into_iter().flat_map(|_| before.asked_of(matching, &[place])) {
            stranger_amounts.entry((open.currency(), asked.minor)).or_default().push(asked);
        }
    }
    for (payments, open) in of_party.into_values() {
        party(matching, payments, &open, &before)?;
    }
    // Less may be left by now. What was written in time stands before what was not.
    for ((_, amount), asked) in &mut stranger_amounts {
        asked.retain(|one| before.asked(matching, one.open, one.from()) == *amount);
        asked.sort_by_key(|one| matching.earliest(one.open));
    }
    let mut asked: BTreeMap<(Currency, i64), NaiveDate> = BTreeMap::new();
    for place in strangers {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        // Who paid is not known, so even one invoice of that amount is no more than a candidate.
        let fits = stranger_amounts.get(&(one.currency(), amount)).into_iter().flatten();
        let fits = fits.take_while(|asked| matching.in_time(one.booked, asked.open));
        let fits = fits.filter(|asked| asked.is_on(one.booked) || asked.is_now());
        let candidates: Vec<Vec<u32>> = fits.take(TOLD).map(|asked| vec![asked.open]).collect();
        if candidates.is_empty() {
            matching.set(place, State::Unknown);
            continue;
        }
        matching.ask(place, Why::EquallyGood, &candidates)?;
        asked.insert((one.currency(), amount), one.booked);
    }
    // Not all of many are told; they are in question all the same.
    for ((currency, amount), booked) in asked {
        for asked in stranger_amounts.remove(&(currency, amount)).unwrap_or_default() {
            if matching.in_time(booked, asked.open) {
                matching.doubt(asked.open, amount < 0);
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
    before: &BeforeCredits,
) -> Result<(), Unreconciled> {
    let comes_in = |place: &u32| matching.payment(*place).is_some_and(|one| one.cleared() > 0);
    let (mut incoming, mut outgoing): (Vec<u32>, Vec<u32>) = payments.into_iter().partition(comes_in);
    let now = BeforeCredits::default();
    let is_lessened = open.iter().any(|open| before.is_lessened(*open));
    let mut too_many = Vec::new();
    for before in is_lessened.then_some(before).into_iter().chain([&now]) {
        incoming = one_for_one(matching, incoming, open, before)?;
        let (left, more) = one_for_many(matching, incoming, open, before)?;
        incoming = many_for_one(matching, left, open, before)?;
        too_many.extend(more);
    }
    parts(matching, incoming, open, before, too_many)?;
    for before in is_lessened.then_some(before).into_iter().chain([&now]) {
        outgoing = one_for_one(matching, outgoing, open, before)?;
    }
    outgoing.into_iter().for_each(|place| matching.set(place, State::Unknown));
    Ok(())
}

/// Parts of what an invoice asked for on their day.
fn parts(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
    too_many: Vec<Amount>,
) -> Result<(), Unreconciled> {
    let asked = before.asked_of(matching, open);
    let mut parts = Vec::new();
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let more = asked.iter().rev().take_while(|asked| asked.minor > amount);
        let takes = |asked: &&Asked| {
            asked.is_on(one.booked) && before.asked(matching, asked.open, one.booked) > amount
        };
        let takers: Vec<u32> = more.filter(takes).take(TOLD).map(|asked| asked.open).collect();
        match takers.as_slice() {
            [] => matching.set(place, State::Unknown),
            [only] if !is_in_question(matching, *only) => matching.allocate(place, *only, amount)?,
            several => {
                let told: Vec<Vec<u32>> = several.iter().map(|open| vec![*open]).collect();
                matching.ask(place, Why::PartOfSeveral, &told)?;
                parts.push((amount, one.booked));
            }
        }
    }
    // Not all of many are told; they are in question all the same.
    let mut asked = before.asked_of(matching, open);
    doubt_beyond(matching, parts, &asked);
    asked.iter_mut().for_each(|asked| asked.minor = asked.minor.saturating_neg());
    asked.retain(|asked| asked.minor < 0);
    asked.sort_unstable();
    let too_many = too_many.into_iter().map(|(amount, booked)| (amount.saturating_neg(), booked));
    doubt_beyond(matching, too_many.collect(), &asked);
    Ok(())
}

/// Puts in question what stands above an amount that is asked about, and asked for so much on its day.
fn doubt_beyond(matching: &mut Matching<'_, '_>, mut amounts: Vec<Amount>, asked: &[Asked]) {
    amounts.sort_unstable();
    let mut amounts = amounts.into_iter().peekable();
    let mut days: Option<(NaiveDate, NaiveDate)> = None;
    for asked in asked {
        while let Some((_, booked)) = amounts.next_if(|(amount, _)| *amount < asked.minor) {
            let (first, last) = days.unwrap_or((booked, booked));
            days = Some((first.min(booked), last.max(booked)));
        }
        if days.is_some_and(|(first, last)| asked.from() <= last && first < asked.until()) {
            matching.doubt(asked.open, false);
        }
    }
}

fn is_in_question(matching: &Matching<'_, '_>, open: u32) -> bool {
    matching.open.get(open).is_some_and(Open::is_in_question)
}

/// What a payment may be for, where that is several invoices together.
struct Several {
    payment: u32,
    ways: Vec<Vec<u32>>,
    /// All that may be in any way, also where not all ways are known.
    all: Vec<u32>,
}

impl Several {
    fn only(&self) -> Option<&[u32]> {
        if let [only] = self.ways.as_slice() { Some(only) } else { None }
    }
}

/// Payments of what several invoices asked for together. One is asked about if another that comes to something else may be
/// for one of its invoices. Answers what is left over, and amounts and days of those that there are too many invoices for.
fn one_for_many(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
) -> Result<(Vec<u32>, Vec<Amount>), Unreconciled> {
    let (mut left, mut too_many, mut found) = (Vec::new(), Vec::new(), Vec::new());
    let asked = before.asked_of(matching, open);
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let less = asked.iter().skip_while(|asked| asked.minor <= 0).take_while(|asked| asked.minor < amount);
        let most = subset::MOST.saturating_add(1);
        let fitting: Vec<&Asked> = less.filter(|asked| asked.is_on(one.booked)).take(most).collect();
        if fitting.len() > subset::MOST {
            let told: Vec<Vec<u32>> = fitting.iter().take(TOLD).map(|asked| vec![asked.open]).collect();
            matching.ask(place, Why::TooMany, &told)?;
            too_many.push((amount, one.booked));
            continue;
        }
        let amounts: Vec<i64> = fitting.iter().map(|asked| asked.minor).collect();
        let open = |place: &usize| fitting.get(*place).map(|asked| asked.open);
        let ways = subsets(&amounts, amount);
        let ways: Vec<Vec<u32>> = ways.iter().map(|way| way.iter().filter_map(open).collect()).collect();
        let all = match ways.len() {
            0 => {
                left.push(place);
                continue;
            }
            subset::TOLD => fitting.iter().map(|asked| asked.open).collect(),
            _ => ways.concat(),
        };
        found.push(Several { payment: place, ways, all });
    }
    // By invoice the way of all payments that may be for it, where that is one.
    let mut way_of: HashMap<u32, Option<&[u32]>> = HashMap::new();
    for (several, open) in
        found.iter().flat_map(|several| several.all.iter().map(move |open| (several, *open)))
    {
        let known = way_of.entry(open).or_insert_with(|| several.only());
        *known = known.filter(|way| several.only() == Some(*way));
    }
    for Several { payment, ways, all } in &found {
        let Some(one) = matching.payment(*payment) else { continue };
        let asks = |open: &u32| before.asked(matching, *open, one.booked);
        match ways.as_slice() {
            // Another payment of the same was before.
            [only] if only.iter().all(|open| asks(open) == 0) => left.push(*payment),
            [only]
                if only.iter().all(|open| {
                    way_of.get(open).copied().flatten().is_some() && !is_in_question(matching, *open)
                }) =>
            {
                for open in only {
                    matching.allocate(*payment, *open, before.asked(matching, *open, one.booked))?;
                }
            }
            several => {
                matching.ask(*payment, Why::EquallyGood, several)?;
                all.iter().for_each(|open| matching.doubt(*open, false));
            }
        }
    }
    left.sort_unstable();
    Ok((left, too_many))
}

/// Several payments of what one invoice asked for on the day of the last of them. A payment that could be a part of two of
/// them is asked about.
fn many_for_one(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
) -> Result<Vec<u32>, Unreconciled> {
    if payments.len() < 2 || payments.len() > subset::MOST {
        return Ok(payments);
    }
    let asked = before.asked_of(matching, open);
    if asked.len() > subset::MOST {
        return Ok(payments);
    }
    let amounts: Vec<i64> =
        payments.iter().map(|place| matching.payment(*place).map_or(0, Received::cleared)).collect();
    let booked = |place: &u32| matching.payment(*place).map(|one| one.booked);
    let mut ways: Vec<(u32, Vec<u32>)> = Vec::new();
    for asked in asked {
        for way in subsets(&amounts, asked.minor) {
            let of_way: Vec<u32> = way.iter().filter_map(|place| payments.get(*place).copied()).collect();
            let (first, last) =
                (of_way.iter().filter_map(booked).min(), of_way.iter().filter_map(booked).max());
            if first.is_some_and(|first| matching.in_time(first, asked.open))
                && last.is_some_and(|last| asked.is_on(last))
            {
                ways.push((asked.open, of_way));
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
    let is_asked = |(open, _): &(u32, Vec<u32>)| is_in_question(matching, *open).then_some(*open);
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
