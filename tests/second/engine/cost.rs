//! What the workshop spends, in the tariff's currency: one rounding a line.

use num_bigint::BigInt;
use num_traits::Zero;

use super::numbers::{Q, Ties, half_up, percent, share_out, whole};
use super::plan::Plan;
use super::tables::{Job, Tariff, Unit, Zone};

/// Major units of a currency as minor ones, not rounded.
pub fn in_minor(tariff: &Tariff, major: &Q) -> Q {
    major * scale(&tariff.rules.edition.currency)
}

/// Minor units in a major one.
pub fn scale(currency: &str) -> Q {
    whole(match currency {
        "JPY" => 1,
        "KWD" => 1000,
        _ => 100,
    })
}

/// A line of work on a unit: category, code, cost.
pub type Work = (&'static str, String, BigInt);

/// Parts, grades and tests, each in the order of their codes.
pub fn work(tariff: &Tariff, plan: &Plan) -> Vec<Work> {
    let rate = |grade: &String| &*tariff.grades[grade].rate_per_hour;
    let sixtieth = |minutes: Q| minutes / whole(60);
    let rounded = |major: Q| half_up(&in_minor(tariff, &major));
    let mut lines = Vec::new();
    for (code, quantity) in &plan.parts {
        lines.push(("part", code.clone(), rounded(bought(tariff, code, quantity))));
    }
    for (grade, minutes) in &plan.minutes {
        lines.push(("labour", grade.clone(), rounded(sixtieth(minutes * rate(grade)))));
    }
    for (code, hours) in &plan.tests {
        let test = &tariff.tests[code];
        let bench = hours * &*test.bench_rate;
        let attended = sixtieth(whole(test.attended_minutes) * rate(&test.grade));
        let energy = &*test.power_kw * hours * &*tariff.rules.price.energy_per_kwh;
        lines.push(("test", code.clone(), rounded(bench + attended + energy)));
    }
    lines
}

/// The cost of that much of a part at its price break, or a larger break's whole lot where that is cheaper.
fn bought(tariff: &Tariff, part: &str, quantity: &Q) -> Q {
    let breaks = || tariff.breaks.iter().filter(|row| row.part == part);
    let reached =
        breaks().filter(|row| *row.from_quantity <= *quantity).max_by_key(|row| &*row.from_quantity);
    let unit_cost: &Q = reached.map_or(&tariff.parts[part].unit_cost, |row| &row.unit_cost);
    let lots = breaks()
        .filter(|row| *row.from_quantity > *quantity)
        .map(|row| &*row.from_quantity * &*row.unit_cost);
    lots.chain([quantity * unit_cost]).min().unwrap()
}

/// Minutes of the inspection.
pub fn inspection(tariff: &Tariff) -> BigInt {
    let inspection = &tariff.rules.inspection;
    let hours = Q::new(inspection.minutes.into(), 60.into());
    half_up(&in_minor(tariff, &(hours * &*tariff.grades[&inspection.grade].rate_per_hour)))
}

/// The zone that the customer's address is in.
pub fn zone<'a>(tariff: &'a Tariff, job: &Job) -> Option<&'a String> {
    let here = |row: &&Zone| {
        row.country == job.customer.country && job.customer.postcode.starts_with(&row.postcode_prefix)
    };
    tariff.zones.iter().filter(here).max_by_key(|row| row.postcode_prefix.len()).map(|row| &row.zone)
}

/// The larger of weight and volume, raised to the step.
fn chargeable<'a>(tariff: &Tariff, units: impl Iterator<Item = &'a Unit>) -> Q {
    let courier = &tariff.rules.courier;
    let (mut weight, mut volume) = (Q::zero(), Q::zero());
    for parcel in units.flat_map(|unit| &unit.parcels) {
        weight += &*parcel.weight_kg;
        volume += &*parcel.length_cm * &*parcel.width_cm * &*parcel.height_cm;
    }
    let step: &Q = &courier.weight_step_kg;
    (weight.max(volume / whole(courier.volumetric_divisor)) / step).ceil() * step
}

/// The rate of a leg for the whole consignment, before fuel and insurance: none without a zone or a
/// rate that holds it.
pub fn leg_rate<'a>(tariff: &'a Tariff, job: &Job) -> Option<&'a Q> {
    let (zone, weight) = (zone(tariff, job)?, chargeable(tariff, job.units.iter()));
    let holding = tariff.courier_rates.iter().filter(|row| row.zone == *zone && *row.up_to_kg >= weight);
    holding.min_by_key(|row| &*row.up_to_kg).map(|row| &*row.leg_cost)
}

/// What a leg, and packaging, cost for each unit.
pub fn courier(tariff: &Tariff, job: &Job) -> (Vec<BigInt>, Vec<BigInt>) {
    let courier = &tariff.rules.courier;
    let declared: Q = job.units.iter().map(|unit| &*unit.declared_value).sum();
    let insured = (percent(&courier.insurance_percent) * declared).max((*courier.insurance_minimum).clone());
    let leg = leg_rate(tariff, job).unwrap() * (whole(1) + percent(&courier.fuel_percent)) + insured;
    let parcels: usize = job.units.iter().map(|unit| unit.parcels.len()).sum();
    let packaging = &*courier.packaging_per_parcel * whole(parcels);
    let weights: Vec<Q> = job.units.iter().map(|unit| chargeable(tariff, [unit].into_iter())).collect();
    let shared = |major: &Q| share_out(&half_up(&in_minor(tariff, major)), &weights, Ties::First);
    (shared(&leg), shared(&packaging))
}
