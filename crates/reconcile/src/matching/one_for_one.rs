//! Payments of all that one invoice asked for.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::before_credits::{Asked, BeforeCredits};
use super::payments::{Matching, TOLD};
use super::question::Why;
use crate::error::Unreconciled;
use crate::loaded::Received;

/// Matches payments of all that one invoice asked for. As many as there are invoices of that amount clear them: whichever
/// clears which, all are paid. Fewer may be for any of them. Answers what is left.
pub(super) fn one_for_one(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
) -> Result<Vec<u32>, Unreconciled> {
    // What is certain is taken first: it may leave a single answer of what would be asked.
    let certain = by_amount(matching, payments, open, before, false)?;
    by_amount(matching, certain, open, before, true)
}

fn by_amount(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    open: &[u32],
    before: &BeforeCredits,
    asks: bool,
) -> Result<Vec<u32>, Unreconciled> {
    let mut by_amount: BTreeMap<i64, (Vec<u32>, Vec<Asked>)> = BTreeMap::new();
    for place in payments {
        let amount = matching.payment(place).map_or(0, Received::cleared);
        by_amount.entry(amount).or_default().0.push(place);
    }
    for asked in before.asked_of(matching, open) {
        if let Some(alike) = by_amount.get_mut(&asked.minor) {
            alike.1.push(asked);
        }
    }
    let mut left = Vec::new();
    // An invoice asks for more before a credit note than after it, and what came before it comes first.
    for (payments, mut asked) in by_amount.into_values().rev() {
        asked.retain(|one| before.asked(matching, one.open, one.from()) == one.minor);
        left.extend(alike(matching, payments, asked, asks)?);
    }
    left.sort_unstable();
    Ok(left)
}

/// Payments of one amount in the order of days, from one that finds an invoice until none is left for the next.
#[derive(Default)]
struct Run {
    pairs: Vec<(u32, u32)>,
    /// What may be paid by one of them.
    asked: Vec<Asked>,
    /// Something asked for so much and does no longer, and none of them was left for it.
    is_short: bool,
}

/// Payments of one amount, and what asks for that. Each takes what asks for it no longer the soonest, then what is due
/// first. So all are paid, if they can be.
fn alike(
    matching: &mut Matching<'_, '_>,
    payments: Vec<u32>,
    mut asked: Vec<Asked>,
    asks: bool,
) -> Result<Vec<u32>, Unreconciled> {
    asked.sort_by_key(Asked::from);
    let mut coming = asked.into_iter().peekable();
    let (mut run, mut left) = (Run::default(), Vec::new());
    let mut standing = BTreeSet::new();
    for place in payments {
        let Some(one) = matching.payment(place) else { continue };
        if standing.is_empty() {
            left.extend(std::mem::take(&mut run).finish(matching, asks)?);
        }
        while let Some(asked) = coming.next_if(|asked| asked.from() <= one.booked) {
            if asked.is_on(one.booked) {
                standing.insert((asked.until(), due(matching, asked.open), asked.open));
                run.asked.push(asked);
            }
        }
        while standing.first().is_some_and(|(until, ..)| *until <= one.booked) {
            standing.pop_first();
            run.is_short = true;
        }
        match standing.pop_first() {
            Some((.., open)) => run.pairs.push((place, open)),
            None => left.push(place),
        }
    }
    run.is_short |= !standing.is_empty();
    left.extend(run.finish(matching, asks)?);
    Ok(left)
}

impl Run {
    /// Clears all of them, or asks about each. Answers those that are not to be asked about yet.
    fn finish(self, matching: &mut Matching<'_, '_>, asks: bool) -> Result<Vec<u32>, Unreconciled> {
        let Self { pairs, mut asked, is_short } = self;
        if !is_short {
            for (place, open) in pairs {
                let amount = matching.payment(place).map_or(0, Received::cleared);
                matching.allocate(place, open, amount)?;
            }
            return Ok(Vec::new());
        }
        if !asks {
            return Ok(pairs.into_iter().map(|(place, _)| place).collect());
        }
        asked.sort_by_cached_key(|one| due(matching, one.open));
        for (place, _) in pairs {
            let Some(one) = matching.payment(place) else { continue };
            let fits = asked.iter().filter(|asked| asked.is_on(one.booked));
            let told: Vec<Vec<u32>> = fits.take(TOLD).map(|asked| vec![asked.open]).collect();
            matching.ask(place, Why::EquallyGood, &told)?;
        }
        // Not all of many are told; they are in question all the same.
        asked.iter().for_each(|asked| matching.doubt(asked.open, asked.minor < 0));
        Ok(Vec::new())
    }
}

fn due<'a>(matching: &Matching<'_, 'a>, open: u32) -> Option<(NaiveDate, &'a str)> {
    matching.open.get(open).map(|open| (open.due, &*open.invoice.number))
}
