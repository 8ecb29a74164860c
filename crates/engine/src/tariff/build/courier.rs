//! Courier zones and rates, and extras.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::tools::Check;
use crate::category::Category;
use crate::money::{Quantity, UnitPrice};
use crate::problem::Place;
use crate::tariff::entries::{Extra, Table, Zone, ZoneRule};
use crate::tariff::rows::{CourierRateRow, CourierRow, ExtraRow, ZoneRow};
use crate::text::Code;

pub(super) fn rules(row: &CourierRow, check: &mut Check) {
    let at = Place::field("courier");
    if row.volumetric_divisor == 0 || row.volumetric_divisor > 1_000_000 {
        check.error(
            at.at("volumetric_divisor"),
            "no_divisor",
            row.volumetric_divisor,
            "1 to 1000000 cubic centimetres",
        );
    }
    if row.weight_step_kg.is_zero() {
        check.error(
            at.at("weight_step_kg"),
            "no_step",
            row.weight_step_kg,
            "a step above zero, in kilograms",
        );
    }
    check.at_most(at.at("insurance_percent"), row.insurance_percent, 100);
}

pub(super) fn zones(rows: &[ZoneRow], rate_rows: &[CourierRateRow], check: &mut Check) -> Vec<ZoneRule> {
    let mut ladders: BTreeMap<&Code, Vec<(Quantity, UnitPrice, usize)>> = BTreeMap::new();
    for (index, row) in rate_rows.iter().enumerate() {
        let place = Place::row("courier_rates", index);
        ladders.entry(&row.zone).or_default().push((row.up_to_kg, row.leg_cost, index));
        if row.up_to_kg.is_zero() {
            check.error(place.at("up_to_kg"), "no_weight", row.up_to_kg, "a weight above zero");
        }
        if !rows.iter().any(|zone| zone.zone == row.zone) {
            check.warning(place.at("zone"), "unused_row", &row.zone, "a zone of zones.csv");
        }
    }
    let mut zones: BTreeMap<&Code, Arc<Zone>> = BTreeMap::new();
    for (code, mut ladder) in ladders {
        ladder.sort();
        let mut rates: Vec<(Quantity, UnitPrice)> = Vec::with_capacity(ladder.len());
        for (up_to, cost, index) in ladder {
            let place = Place::row("courier_rates", index);
            match rates.last() {
                Some(&(last, _)) if last == up_to => {
                    check.error(place.at("up_to_kg"), "given_twice", up_to, "each weight once in a zone");
                }
                Some(&(_, before)) if cost < before => {
                    check.warning(
                        place.at("leg_cost"),
                        "heavier_is_cheaper",
                        cost,
                        format_args!("at least {before}, what a lighter parcel costs"),
                    );
                }
                _ => {}
            }
            rates.push((up_to, cost));
        }
        zones.insert(code, Arc::new(Zone { code: code.clone(), rates }));
    }
    let mut rules: Vec<ZoneRule> = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        let place = Place::row("zones", index);
        let same =
            |rule: &ZoneRule| rule.country == row.country && rule.postcode_prefix == row.postcode_prefix;
        if rules.iter().any(same) {
            check.error(
                place.at("country"),
                "given_twice",
                row.country,
                "each country and postcode prefix once",
            );
        }
        match zones.get(&row.zone) {
            Some(zone) => rules.push(ZoneRule {
                country: row.country,
                postcode_prefix: row.postcode_prefix.clone(),
                zone: Arc::clone(zone),
            }),
            None => check.error(
                place.at("zone"),
                "zone_without_rates",
                &row.zone,
                "a zone with rows in courier_rates.csv",
            ),
        }
    }
    rules.sort_by(|a, b| (a.country, &a.postcode_prefix).cmp(&(b.country, &b.postcode_prefix)));
    rules
}

pub(super) fn extras(rows: &[ExtraRow], check: &mut Check) -> Table<Extra> {
    let sorted = check.sorted("extras", rows, |row| &row.code);
    let mut extras = Vec::with_capacity(sorted.len());
    for (rank, (place, row)) in sorted.into_iter().enumerate() {
        if row.categories.is_empty() {
            check.error(place.at("categories"), "no_categories", "", "the categories of lines it applies to");
        }
        for &category in &row.categories {
            if matches!(category, Category::Surcharge | Category::Minimum | Category::Ending) {
                check.error(
                    place.at("categories"),
                    "no_surcharge_on_this",
                    category,
                    "a category of lines that stand before surcharges",
                );
            }
        }
        let mut categories = row.categories.clone();
        categories.sort();
        categories.dedup();
        extras.push(Extra {
            rank,
            code: row.code.clone(),
            text: row.text.clone(),
            percent: row.percent,
            categories,
        });
    }
    Table::from_sorted(extras)
}
