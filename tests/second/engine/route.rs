//! Who keeps what of an end price that stands.

use num_bigint::BigInt;
use num_traits::{Signed, Zero};

use super::cost::in_minor;
use super::numbers::{Q, Ties, half_up, percent, share_out, whole};
use super::price::Priced;
use super::tables::{Agreement, Job, Tariff};

/// What becomes of an end price on a route.
pub struct Shared {
    pub shares: Vec<BigInt>,
    /// What each seller takes, from the workshop outward; the last is the end price.
    pub sales: Vec<BigInt>,
    /// Courier legs that no longer cost the workshop anything.
    pub carried_legs: Vec<&'static str>,
    pub scaled: bool,
}

/// An agreement refuses: what the shares come to, and what there is for them.
#[derive(Debug, PartialEq)]
pub struct UnderTheFloor {
    pub shares: BigInt,
    pub available: BigInt,
}

/// The agreement of each partner on the route.
pub fn agreements<'a>(tariff: &'a Tariff, job: &Job) -> Vec<&'a Agreement> {
    job.route.iter().map(|stop| tariff.agreement(&stop.partner, job.received).unwrap()).collect()
}

const WORKS: [&str; 5] = ["removal", "refitting", "diagnosis", "leg_in", "leg_out"];

/// Who takes over each work, by his place on the route.
fn works(tariff: &Tariff, job: &Job) -> Vec<(&'static str, usize)> {
    let named = |work: &str| {
        let his = |stop: &super::tables::Stop| {
            stop.takes_over.as_ref().is_some_and(|works| works.iter().any(|it| it == work))
        };
        job.route.iter().position(his)
    };
    let credited = |work: &str| {
        let agreements = agreements(tariff, job);
        let free_to = |&place: &usize| {
            job.route[place].takes_over.is_none() && tariff.credit(agreements[place], work).is_some()
        };
        (0..job.route.len()).rfind(free_to)
    };
    WORKS.into_iter().filter_map(|work| Some((work, named(work).or_else(|| credited(work))?))).collect()
}

/// What the workshop has to keep over its cost; `rate` is that of the quote's currency.
pub fn minimum_contribution(tariff: &Tariff, end_net: &BigInt, rate: &Q) -> BigInt {
    let rules = &tariff.rules.price;
    let amount = half_up(&(in_minor(tariff, &rules.minimum_contribution) * rate));
    amount.max(half_up(&(percent(&rules.minimum_contribution_percent) * whole(end_net.clone()))))
}

/// The end price, shared out.
pub fn share(tariff: &Tariff, job: &Job, priced: &Priced, rate: &Q) -> Result<Shared, UnderTheFloor> {
    let agreements = agreements(tariff, job);
    let works = if priced.all_free { Vec::new() } else { works(tariff, job) };
    let agreed: Vec<BigInt> = (0..agreements.len())
        .map(|place| {
            if priced.all_free {
                return BigInt::zero();
            }
            let his = |work: &&(&'static str, usize)| work.1 == place;
            let credits = works
                .iter()
                .filter(his)
                .map(|(work, _)| credit(tariff, agreements[place], work, priced, rate));
            (discount(tariff, agreements[place], priced) + credits.sum::<BigInt>()).max(BigInt::zero())
        })
        .collect();
    let carried_legs: Vec<&str> =
        works.iter().map(|work| work.0).filter(|work| work.starts_with("leg")).collect();
    let end_net = priced.end_net();
    let cost: BigInt = priced
        .items
        .iter()
        .filter(|item| !carried_legs.iter().any(|leg| is_leg(&item.id, leg)))
        .map(|item| &item.carried)
        .sum();
    let available = (&end_net - cost - minimum_contribution(tariff, &end_net, rate)).max(BigInt::zero());
    let together: BigInt = agreed.iter().sum();
    let scaled = together > available;
    if scaled && agreements.iter().any(|agreement| agreement.under_floor == "refuse") {
        return Err(UnderTheFloor { shares: together, available });
    }
    let shares = if scaled {
        let weights: Vec<Q> = agreed.iter().map(|share| whole(share.clone())).collect();
        share_out(&available, &weights, Ties::Last)
    } else {
        agreed
    };
    let mut sales = vec![end_net];
    for share in shares.iter().rev() {
        sales.push(&sales[sales.len() - 1] - share);
    }
    sales.reverse();
    Ok(Shared { shares, sales, carried_legs, scaled })
}

pub fn is_leg(id: &str, leg: &str) -> bool {
    id.strip_suffix(leg).is_some_and(|unit| unit.ends_with("/courier/"))
}

fn discount(tariff: &Tariff, agreement: &Agreement, priced: &Priced) -> BigInt {
    let rows = tariff.discounts.iter().filter(|row| row.agreement == agreement.code);
    half_up(&rows.map(|row| percent(&row.percent) * whole(priced.sum_of(&row.category))).sum())
}

fn credit(tariff: &Tariff, agreement: &Agreement, work: &str, priced: &Priced, rate: &Q) -> BigInt {
    let amount = in_minor(tariff, tariff.credit(agreement, work).unwrap()) * rate;
    if work.starts_with("leg") {
        let lines = priced.lines().filter(|(item, _)| is_leg(&item.id, work));
        half_up(&amount).min(lines.map(|(_, net)| net).sum())
    } else {
        half_up(&(amount * whole(priced.charged_units)))
    }
}

/// What a sale comes to by line.
pub fn by_line(sale: &BigInt, priced: &Priced) -> Vec<BigInt> {
    let lines: Vec<BigInt> = priced.lines().map(|(_, net)| net.clone()).collect();
    if *sale == priced.end_net() {
        return lines;
    }
    let weights: Vec<Q> = lines.into_iter().map(whole).collect();
    debug_assert!(!sale.is_negative());
    share_out(sale, &weights, Ties::First)
}
