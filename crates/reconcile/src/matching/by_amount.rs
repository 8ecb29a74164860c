//! Payments that name nothing, by who paid, how much and when.
//!
//! For each party and currency, in this order: a payment of what is left of one invoice; a payment of what is
//! left of several; several payments of what is left of one invoice; a part payment where only one
//! invoice can take it. Each is taken only where nothing else is as good. Combinations are tried
//! among at most [`subset::MOST`] open invoices, or payments, of a party; where there are more it is
//! asked.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::payments::{Matching, State};
use super::question::Why;
use super::subset::{self, subsets};
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::reference::normal;

/// Candidates that are told where a question has many.
const TOLD: usize = 8;
/// Days by which a payment may come before its invoice: books and banks differ by a few.
const DAYS_EARLY: i64 = 7;

/// Payments, and the open invoices that they may be for.
type Both = (Vec<u32>, Vec<u32>);

/// Payments that take back an earlier one: of the same account and other side, and of the opposite amount.
pub(crate) fn reversals(matching: &mut Matching<'_, '_>) -> Result<(), Unreconciled> {
    let new = matching.new_ones();
    let is_reversal = |place: &u32| matching.payment(*place).is_some_and(|one| one.reversal);
    let reversals: Vec<u32> = new.into_iter().filter(is_reversal).collect();
    if reversals.is_empty() {
        return Ok(());
    }
    matching.allocations.sort_unstable();
    let known = matching.allocations.len();
    let key = |one: &Received<'_>, minor: i64| {
        let other_side = one.payment.party_account.as_deref().or(one.payment.party.as_deref());
        (normal(&one.statement.account), normal(other_side.unwrap_or_default()), minor)
    };
    let mut earlier: HashMap<_, Vec<u32>> = HashMap::new();
    for (place, one) in (0_u32..).zip(matching.payments).filter(|(_, one)| !one.reversal) {
        earlier.entry(key(one, one.payment.minor)).or_default().push(place);
    }
    for place in reversals {
        let Some(one) = matching.payment(place) else { continue };
        let taken_back = earlier.get_mut(&key(one, one.payment.minor.saturating_neg()));
        // Of equal payments it makes no difference which is taken back, but that it was before.
        let before = taken_back.and_then(|places| {
            let before = places.partition_point(|other| *other < place);
            before.checked_sub(1).map(|last| places.remove(last))
        });
        let Some(before) = before else { continue };
        let sorted = matching.allocations.get(..known).unwrap_or_default();
        let from = sorted.partition_point(|part| part.payment < before);
        let parts = sorted.iter().skip(from).take_while(|part| part.payment == before);
        let parts: Vec<(u32, i64)> = parts.map(|part| (part.open, part.minor)).collect();
        if parts.is_empty() {
            matching.set(before, State::Other);
            matching.set(place, State::Other);
        }
        for (open, minor) in parts {
            matching.allocate(place, open, minor.saturating_neg())?;
        }
    }
    Ok(())
}

/// Asks about payments that name an invoice or a quote of another party than the one that paid. They may be for
/// what they name, or for what is left of an invoice of the payer: each that fits by amount, else those that can
/// take it.
pub(crate) fn other_payers(
    matching: &mut Matching<'_, '_>,
    loaded: &Loaded<'_>,
    contradicted: Vec<(u32, Vec<u32>)>,
) -> Result<(), Unreconciled> {
    if contradicted.is_empty() {
        return Ok(());
    }
    let mut of_party: HashMap<Arc<str>, Vec<u32>> = HashMap::new();
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        if open.standing == super::written::Standing::Kept {
            of_party.entry(Arc::clone(&open.party)).or_default().push(place);
        }
    }
    for (place, named) in contradicted {
        let (Some(one), Some(payer)) = (matching.payment(place), matching.payer(loaded, place)) else {
            continue;
        };
        let amount = one.cleared();
        let own = of_party.get(&payer).map(Vec::as_slice).unwrap_or_default();
        let own = own.iter().copied().filter(|open| {
            let same = matching.open.get(*open).is_some_and(|open| open.currency() == one.currency());
            same && !named.contains(open) && in_time(matching, one.booked, *open)
        });
        let fits = own.clone().filter(|open| rest_of(matching, *open) == amount && amount != 0);
        let mut readings: Vec<Vec<u32>> = fits.map(|open| vec![open]).take(TOLD).collect();
        if readings.is_empty() {
            let takes = own.filter(|open| amount > 0 && rest_of(matching, *open) > amount);
            readings.extend(takes.map(|open| vec![open]).take(TOLD));
        }
        if !named.is_empty() {
            readings.insert(0, named);
        }
        match readings.is_empty() {
            // For a quote of another without an invoice: it is held for who paid, and told.
            true => matching.set(place, State::Unknown),
            false => matching.ask(place, Why::OtherPayer, &readings)?,
        }
    }
    Ok(())
}

/// Matches what is left by party and amount.
pub(crate) fn by_amount(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) -> Result<(), Unreconciled> {
    let new = matching.new_ones();
    if new.is_empty() {
        return Ok(());
    }
    let learnt = learnt(matching);
    let mut of_party: BTreeMap<(Arc<str>, Currency), Both> = BTreeMap::new();
    let mut strangers = Vec::new();
    for place in new {
        let Some(one) = matching.payment(place) else { continue };
        let by_account = || {
            let account = one.payment.party_account.as_deref()?;
            learnt.get(&normal(account)).cloned().flatten()
        };
        match matching.payer(loaded, place).or_else(by_account) {
            Some(party) => of_party.entry((party, one.currency())).or_default().0.push(place),
            None => strangers.push(place),
        }
    }
    let mut stranger_amounts: HashMap<(Currency, i64), Vec<u32>> = HashMap::new();
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        if open.rest() == 0 || open.standing != super::written::Standing::Kept {
            continue;
        }
        if let Some(known) = of_party.get_mut(&(Arc::clone(&open.party), open.currency())) {
            known.1.push(place);
        }
        if !strangers.is_empty() {
            stranger_amounts.entry((open.currency(), open.rest())).or_default().push(place);
        }
    }
    for (payments, open) in of_party.into_values() {
        party(matching, payments, &open)?;
    }
    for place in strangers {
        let Some(one) = matching.payment(place) else { continue };
        // Who paid is not known, so even one invoice of that amount is no more than a candidate.
        let fits = stranger_amounts.get(&(one.currency(), one.cleared())).map(Vec::as_slice);
        let fits = fits.unwrap_or_default().iter().filter(|open| in_time(matching, one.booked, **open));
        let candidates: Vec<Vec<u32>> = fits.take(TOLD).map(|open| vec![*open]).collect();
        match candidates.is_empty() {
            true => matching.set(place, State::Unknown),
            false => matching.ask(place, Why::EquallyGood, &candidates)?,
        }
    }
    Ok(())
}

/// Accounts that invoices of one party only were paid from.
fn learnt(matching: &Matching<'_, '_>) -> HashMap<String, Option<Arc<str>>> {
    let mut learnt: HashMap<String, Option<Arc<str>>> = HashMap::new();
    for part in &matching.allocations {
        let (Some(one), Some(open)) = (matching.payment(part.payment), matching.open.get(part.open)) else {
            continue;
        };
        if let Some(account) = &one.payment.party_account {
            learnt
                .entry(normal(account))
                .and_modify(|known| {
                    if known.as_ref() != Some(&open.party) {
                        *known = None;
                    }
                })
                .or_insert_with(|| Some(Arc::clone(&open.party)));
        }
    }
    learnt
}

/// Was the invoice written by the time of a payment?
fn in_time(matching: &Matching<'_, '_>, booked: NaiveDate, open: u32) -> bool {
    let open = matching.open.get(open);
    open.is_some_and(|open| open.invoice.issued.signed_duration_since(booked).num_days() <= DAYS_EARLY)
}

/// The payments of one party in one currency, and its open invoices.
fn party(matching: &mut Matching<'_, '_>, payments: Vec<u32>, open: &[u32]) -> Result<(), Unreconciled> {
    let payments = one_for_one(matching, payments, open)?;
    let payments = one_for_many(matching, payments, open)?;
    let payments = many_for_one(matching, payments, open)?;
    let by_rest = by_rest(matching, open);
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let more = by_rest.iter().rev().take_while(|(rest, _)| *rest > amount && amount > 0);
        let takes = |open: &u32| {
            is_open(matching, *open)
                && rest_of(matching, *open) > amount
                && in_time(matching, one.booked, *open)
        };
        let takers: Vec<u32> = more.map(|(_, open)| *open).filter(takes).take(TOLD).collect();
        match takers.as_slice() {
            [] => matching.set(place, State::Unknown),
            [only] => matching.allocate(place, *only, amount)?,
            several => {
                let told: Vec<Vec<u32>> = several.iter().map(|open| vec![*open]).collect();
                matching.ask(place, Why::PartOfSeveral, &told)?;
            }
        }
    }
    Ok(())
}

/// Is something left to be paid, and no question about it?
fn is_open(matching: &Matching<'_, '_>, open: u32) -> bool {
    matching.open.get(open).is_some_and(|open| open.rest() != 0 && !open.in_question)
}

fn rest_of(matching: &Matching<'_, '_>, open: u32) -> i64 {
    matching.open.get(open).map_or(0, super::open::Open::rest)
}

/// What is open, rising by what is left.
fn by_rest(matching: &Matching<'_, '_>, open: &[u32]) -> Vec<(i64, u32)> {
    let open = open.iter().filter(|open| is_open(matching, **open));
    let mut by_rest: Vec<(i64, u32)> = open.map(|open| (rest_of(matching, *open), *open)).collect();
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
        let rest = matching.open.get(place).map_or(0, super::open::Open::rest);
        if let Some(equal) = by_amount.get_mut(&rest) {
            equal.1.push(place);
        }
    }
    let mut left = Vec::new();
    for (payments, mut invoices) in by_amount.into_values() {
        // By the last payment at the latest an invoice has to be written to be one of those.
        let last = payments.last().and_then(|place| matching.payment(*place)).map(|one| one.booked);
        invoices.retain(|open| last.is_some_and(|last| in_time(matching, last, *open)));
        invoices.sort_by_key(|open| matching.open.get(*open).map(|open| (open.due, &*open.invoice.number)));
        if !payments.is_empty() && payments.len() < invoices.len() {
            let told: Vec<Vec<u32>> = invoices.iter().take(TOLD).map(|open| vec![*open]).collect();
            for place in payments {
                matching.ask(place, Why::EquallyGood, &told)?;
            }
            for open in invoices {
                if let Some(open) = matching.open.get_mut(open) {
                    open.in_question = true;
                }
            }
            continue;
        }
        let mut invoices = invoices.into_iter();
        for place in payments {
            match invoices.next() {
                Some(open) => {
                    let amount = matching.payment(place).map_or(0, Received::cleared);
                    matching.allocate(place, open, amount)?;
                }
                None => left.push(place),
            }
        }
    }
    left.sort_unstable();
    Ok(left)
}

/// Payments of what is left of several invoices together.
fn one_for_many(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
) -> Result<Vec<u32>, Unreconciled> {
    let mut left = Vec::new();
    let by_rest = by_rest(matching, open);
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        let amount = one.cleared();
        let less = by_rest.iter().skip_while(|(rest, _)| *rest <= 0).take_while(|(rest, _)| *rest < amount);
        let fits = |open: &u32| is_open(matching, *open) && in_time(matching, one.booked, *open);
        let most = subset::MOST.saturating_add(1);
        let fitting: Vec<u32> = less.map(|(_, open)| *open).filter(fits).take(most).collect();
        if fitting.len() < 2 {
            left.push(place);
            continue;
        }
        if fitting.len() > subset::MOST {
            let told: Vec<Vec<u32>> = fitting.iter().take(TOLD).map(|open| vec![*open]).collect();
            matching.ask(place, Why::TooMany, &told)?;
            continue;
        }
        let amounts: Vec<i64> = fitting.iter().map(|open| rest_of(matching, *open)).collect();
        let found = subsets(&amounts, amount);
        let mut found: Vec<Vec<u32>> = found
            .iter()
            .map(|places| places.iter().filter_map(|place| fitting.get(*place).copied()).collect())
            .collect();
        match (found.len(), found.pop()) {
            (1, Some(only)) => {
                for open in only {
                    matching.allocate(place, open, rest_of(matching, open))?;
                }
            }
            (_, None) => left.push(place),
            (_, Some(last)) => {
                found.push(last);
                matching.ask(place, Why::EquallyGood, &found)?;
            }
        }
    }
    Ok(left)
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
    let invoices: Vec<u32> = open.iter().copied().filter(|open| is_open(matching, *open)).collect();
    if invoices.len() > subset::MOST {
        return Ok(payments);
    }
    let mut ways: Vec<(u32, Vec<u32>)> = Vec::new();
    for open in invoices {
        for way in subsets(&amounts, rest_of(matching, open)) {
            let of_way: Vec<u32> = way.iter().filter_map(|place| incoming.get(*place).copied()).collect();
            let written =
                |place: &u32| matching.payment(*place).is_some_and(|one| in_time(matching, one.booked, open));
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
    for place in payments {
        let of = taken.get(&place).map(Vec::as_slice).unwrap_or_default();
        let way = of.first().and_then(|way| Some((*way, ways.get(usize::try_from(*way).ok()?)?)));
        match way {
            None => left.push(place),
            Some((way, (open, of_way))) if !has_rival(way, *open, of_way) => {
                let amount = matching.payment(place).map_or(0, Received::cleared);
                matching.allocate(place, *open, amount)?;
            }
            Some(_) => {
                let candidates = of.iter().filter_map(|way| ways.get(usize::try_from(*way).ok()?));
                let told: Vec<Vec<u32>> = candidates.map(|(open, _)| vec![*open]).take(TOLD).collect();
                matching.ask(place, Why::EquallyGood, &told)?;
            }
        }
    }
    Ok(left)
}
