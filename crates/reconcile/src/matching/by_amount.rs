//! Payments that name nothing, by who paid, how much and when.
//!
//! For each party and currency, in this order: a payment of what is left of one invoice; a payment of what is
//! left of several; several payments of what is left of one invoice; a payment of what was left of one before a
//! credit note of a later day; a part payment where only one invoice can take it. Each is taken only where nothing else
//! is as good, and what takes a part in an open question only where it is paid to the letter. Combinations are tried
//! among at most [`subset::MOST`] open invoices, or payments, of a party; where there are more it is asked.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::before_credits::BeforeCredits;
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
    let mut stranger_amounts: HashMap<(Currency, i64), Vec<u32>> = HashMap::new();
    let before = BeforeCredits::new(matching);
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
        party(matching, payments, &open, &before)?;
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
    before: &BeforeCredits,
) -> Result<(), Unreconciled> {
    let payments = one_for_one(matching, payments, open)?;
    let (payments, too_many) = one_for_many(matching, payments, open)?;
    let payments = many_for_one(matching, payments, open)?;
    let payments = before.clear(matching, payments, open)?;
    let by_rest = by_rest(matching, open);
    let mut parts = Vec::new();
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let more = by_rest.iter().rev().take_while(|(rest, _)| *rest > amount && amount > 0);
        let takes = |open: &u32| matching.asks(*open) >= amount && matching.in_time(one.booked, *open);
        let takers: Vec<u32> = more.map(|(_, open)| *open).filter(takes).take(TOLD).collect();
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
    let more = by_rest.iter().map(|(_, open)| (matching.asks(*open), *open)).collect();
    doubt_beyond(matching, parts, more);
    let less = by_rest.iter().map(|(_, open)| (matching.asks(*open).saturating_neg(), *open));
    let less = less.filter(|(key, _)| *key < 0).collect();
    let too_many = too_many.into_iter().map(|(amount, booked)| (amount.saturating_neg(), booked));
    doubt_beyond(matching, too_many.collect(), less);
    Ok(())
}

/// Puts in question what stands above an amount that is asked about, and was written by its day.
fn doubt_beyond(matching: &mut Matching<'_, '_>, mut asked: Vec<Amount>, mut open: Vec<(i64, u32)>) {
    asked.sort_unstable();
    open.sort_unstable();
    let mut asked = asked.into_iter().peekable();
    let mut last: Option<NaiveDate> = None;
    for (stands, open) in open {
        while let Some((_, booked)) = asked.next_if(|(amount, _)| *amount < stands) {
            last = last.max(Some(booked));
        }
        if last.is_some_and(|last| matching.in_time(last, open)) {
            matching.doubt(open, false);
        }
    }
}

fn is_in_question(matching: &Matching<'_, '_>, open: u32) -> bool {
    matching.open.get(open).is_some_and(Open::is_in_question)
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
            matching.payment(*place).is_some_and(|one| matching.in_time(one.booked, *open))
        };
        invoices.retain(|open| payments.last().is_some_and(|last| in_time(last, open)));
        if invoices.is_empty() {
            left.extend(payments);
            continue;
        }
        let due = |open: &u32| matching.open.get(*open).map(|open| (open.due, &*open.invoice.number));
        let mut by_issue = invoices.clone();
        by_issue.sort_by_key(|open| matching.open.get(*open).map(|open| open.invoice.issued));
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

/// Payments of what is left of several invoices together. What is left over, and amounts and days of those that there are
/// too many invoices for.
fn one_for_many(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
) -> Result<(Vec<u32>, Vec<Amount>), Unreconciled> {
    let (mut left, mut too_many) = (Vec::new(), Vec::new());
    let by_rest = by_rest(matching, open);
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let less = by_rest.iter().skip_while(|(rest, _)| *rest <= 0).take_while(|(rest, _)| *rest < amount);
        let fits = |open: &u32| matching.asks(*open) != 0 && matching.in_time(one.booked, *open);
        let most = subset::MOST.saturating_add(1);
        let fitting: Vec<u32> = less.map(|(_, open)| *open).filter(fits).take(most).collect();
        if fitting.len() < 2 {
            left.push(place);
            continue;
        }
        if fitting.len() > subset::MOST {
            let told: Vec<Vec<u32>> = fitting.iter().take(TOLD).map(|open| vec![*open]).collect();
            matching.ask(place, Why::TooMany, &told)?;
            too_many.push((amount, one.booked));
            continue;
        }
        let amounts: Vec<i64> = fitting.iter().map(|open| matching.asks(*open)).collect();
        let found = subsets(&amounts, amount);
        let found: Vec<Vec<u32>> = found
            .iter()
            .map(|places| places.iter().filter_map(|place| fitting.get(*place).copied()).collect())
            .collect();
        match found.as_slice() {
            [] => left.push(place),
            [only] if !only.iter().any(|open| is_in_question(matching, *open)) => {
                for &open in only {
                    matching.allocate(place, open, matching.asks(open))?;
                }
            }
            several => {
                matching.ask(place, Why::EquallyGood, several)?;
                if several.len() == subset::TOLD {
                    fitting.iter().for_each(|open| matching.doubt(*open, false));
                }
            }
        }
    }
    Ok((left, too_many))
}

/// Several payments of what is left of one invoice. A payment that could be a part of two of them is asked
/// about.
fn many_for_one(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
) -> Result<Vec<u32>, Unreconciled> {
    if payments.len() < 2 || payments.len() > subset::MOST {
        return Ok(payments);
    }
    let incoming = |place: &u32| matching.payment(*place).is_some_and(|one| one.cleared() > 0);
    let incoming: Vec<u32> = payments.iter().copied().filter(incoming).collect();
    let amounts: Vec<i64> =
        incoming.iter().map(|place| matching.payment(*place).map_or(0, Received::cleared)).collect();
    let invoices: Vec<u32> = open.iter().copied().filter(|open| matching.asks(*open) != 0).collect();
    if invoices.len() > subset::MOST {
        return Ok(payments);
    }
    let mut ways: Vec<(u32, Vec<u32>)> = Vec::new();
    for open in invoices {
        for way in subsets(&amounts, matching.asks(open)) {
            let of_way: Vec<u32> = way.iter().filter_map(|place| incoming.get(*place).copied()).collect();
            let written =
                |place: &u32| matching.payment(*place).is_some_and(|one| matching.in_time(one.booked, open));
            if !of_way.is_empty() && of_way.iter().all(written) {
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
