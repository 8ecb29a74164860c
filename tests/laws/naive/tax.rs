//! VAT of one sale, by place of supply.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::country::Country;
use evenfare_engine::tariff::Tariff;
use num_bigint::BigInt;

use crate::big::{half_up, ratio, whole};

/// Base and tax.
pub type Group = (BigInt, BigInt);

/// The standard rate of a country on a day, in ten-thousandths of a percent.
pub fn standard_rate(tariff: &Tariff, country: Country, on: NaiveDate) -> Option<i64> {
    let row = tariff.vat_rates.iter().find(|row| row.country == country && row.span.contains(on))?;
    Some(row.percent.scaled())
}

/// Seller and buyer: country, and VAT identifier as written.
type Party<'p> = (Country, Option<&'p str>);

/// The groups of a sale, by EN 16931 category and rate. `lines` are amounts and whether they are
/// goods; goods that stay `at_home` are taxed there, whoever sells them.
pub fn groups(
    tariff: &Tariff,
    on: NaiveDate,
    (seller, buyer): (Party<'_>, Party<'_>),
    at_home: Option<Country>,
    lines: impl Iterator<Item = (BigInt, bool)>,
) -> BTreeMap<(&'static str, i64), Group> {
    let mut bases: BTreeMap<(&'static str, i64), BigInt> = BTreeMap::new();
    for (net, goods) in lines {
        let stays = at_home.filter(|_| goods);
        let within = stays.or((seller.0 == buyer.0).then_some(seller.0));
        let domestic = within.and_then(|country| standard_rate(tariff, country, on)).unwrap_or(0);
        let inside =
            |party: Party<'_>| party.0.is_eu() || (goods && party.1.is_some_and(|id| id.starts_with("XI")));
        let category = if within.is_some() {
            if domestic > 0 { "S" } else { "O" }
        } else if inside(seller) && inside(buyer) {
            if goods { "K" } else { "AE" }
        } else if inside(seller) && goods {
            "G"
        } else {
            "O"
        };
        let rate = if category == "S" { domestic } else { 0 };
        *bases.entry((category, rate)).or_default() += net;
    }
    let taxed = bases.into_iter().map(|(group, base)| {
        let tax = half_up(&(whole(base.clone()) * ratio(group.1, 1_000_000)));
        (group, (base, tax))
    });
    taxed.collect()
}
