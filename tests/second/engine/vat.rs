//! VAT of each sale, by where its two ends are.

use std::collections::BTreeMap;

use num_bigint::BigInt;
use num_traits::Zero;

use super::days::Day;
use super::numbers::{Q, half_up, percent, whole};
use super::price::Priced;
use super::tables::{Job, Tariff};

/// The Union on any day that a case is about.
const UNION: &str = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK";

/// An end of a sale.
#[derive(Clone, Copy)]
pub struct End<'a> {
    pub country: &'a str,
    /// An identifier of Northern Ireland.
    pub northern_ireland: bool,
}

impl<'a> End<'a> {
    pub fn new(country: &'a str, vat_id: Option<&str>) -> Self {
        Self { country, northern_ireland: vat_id.is_some_and(|id| id.starts_with("XI")) }
    }

    fn in_union(&self, goods: bool) -> bool {
        UNION.contains(self.country) || (goods && self.northern_ireland)
    }
}

/// Workshop, partners and customer, in this order.
pub fn ends<'a>(tariff: &'a Tariff, job: &'a Job) -> Vec<End<'a>> {
    let workshop = &tariff.rules.workshop;
    let partners = job.route.iter().map(|stop| &tariff.partners[&stop.partner]);
    let mut ends = vec![End::new(&workshop.country, workshop.vat_id.as_deref())];
    ends.extend(partners.map(|partner| End::new(&partner.country, partner.vat_id.as_deref())));
    ends.push(End::new(&job.customer.country, job.customer.vat_id.as_deref()));
    ends
}

/// Category and rate of what is sold between `ends[sale]` and the next; an error where a rate is
/// wanted and not known.
pub fn treatment(
    tariff: &Tariff,
    ends: &[End],
    sale: usize,
    goods: bool,
    on: Day,
) -> Result<(&'static str, Q), ()> {
    let (seller, buyer) = (ends[sale], ends[sale + 1]);
    let (first, last) = (ends[0], ends[ends.len() - 1]);
    let taxed_in = if goods && first.country == last.country {
        Some(first.country)
    } else {
        (seller.country == buyer.country).then_some(seller.country)
    };
    if let Some(country) = taxed_in {
        let rate = (**tariff.vat_rate(country, on).ok_or(())?).clone();
        return Ok((if rate.is_zero() { "O" } else { "S" }, rate));
    }
    let category = match (goods, seller.in_union(goods), buyer.in_union(goods)) {
        (false, true, true) => "AE",
        (true, true, true) => "K",
        (true, true, false) => "G",
        _ => "O",
    };
    Ok((category, Q::zero()))
}

/// Which lines are goods: exchange units with all their lines, and what stands below the units
/// where they make up half of those or more, in the tariff's currency.
pub fn goods(priced: &Priced) -> Vec<bool> {
    let side = |exchange: bool| -> BigInt {
        let of_units = priced.lines().filter(|(item, _)| item.unit.is_some() && item.exchange == exchange);
        of_units.map(|(_, net)| net).sum()
    };
    let any = priced.lines().any(|(item, _)| item.exchange);
    let below = any && side(true) >= side(false);
    priced.lines().map(|(item, _)| if item.unit.is_some() { item.exchange } else { below }).collect()
}

/// Base and tax of each category and rate.
pub type Groups = BTreeMap<(&'static str, Q), (BigInt, BigInt)>;

pub fn groups(
    tariff: &Tariff,
    ends: &[End],
    sale: usize,
    lines: &[BigInt],
    goods: &[bool],
    on: Day,
) -> Groups {
    let mut groups = Groups::new();
    for (net, &goods) in lines.iter().zip(goods) {
        let treatment = treatment(tariff, ends, sale, goods, on).unwrap();
        groups.entry(treatment).or_default().0 += net;
    }
    for ((_, rate), (base, tax)) in &mut groups {
        *tax = half_up(&(percent(rate) * whole(base.clone())));
    }
    groups
}
