//! What the work costs, line by line, in the tariff's currency.

use std::cmp::Reverse;

use evenfare_engine::category::Category;
use evenfare_engine::job::{Job, Parcel, Task};
use evenfare_engine::money::{Currency, UnitPrice};
use evenfare_engine::tariff::{Tariff, ZoneRow};
use num_bigint::BigInt;
use num_traits::Zero;

use super::{Asked, Way, asked, charged, under_warranty};
use crate::big::{Q, half_up, ratio, split, sum, whole};

/// One line of cost, in whole minor units.
#[derive(Debug, Clone)]
pub struct CostLine {
    /// Which of the job's units.
    pub unit: usize,
    /// Its name without the unit.
    pub name: String,
    pub category: Category,
    pub cost: BigInt,
    /// What of it the end price has to carry: less than the cost under an open warranty.
    pub carried: BigInt,
    /// Is there anything about the unit that is charged for?
    pub charged: bool,
}

/// Minor units, exactly.
pub fn minor(price: UnitPrice, currency: Currency) -> Q {
    ratio(i128::from(price.scaled()) * i128::from(currency.minor_per_major()), 10_000)
}

pub fn currency_of(tariff: &Tariff, job: &Job) -> Currency {
    job.currency.unwrap_or(tariff.currency)
}

/// An amount of the tariff in the job's currency, exactly.
pub fn tariff_to_job(tariff: &Tariff, job: &Job, amount: &BigInt) -> Q {
    let (from, to) = (tariff.currency, currency_of(tariff, job));
    let per_euro = |currency: Currency| {
        let rates =
            tariff.currency_rates.iter().filter(|row| row.currency == currency && row.date <= job.received);
        match rates.max_by_key(|row| row.date) {
            Some(row) => ratio(row.units_per_eur.scaled(), 1_000_000),
            None => whole(1),
        }
    };
    if from == to {
        return whole(amount.clone());
    }
    whole(amount * to.minor_per_major()) * per_euro(to) / per_euro(from) / whole(from.minor_per_major())
}

/// The rate of the first grade with that code.
fn rate(tariff: &Tariff, grade: &str) -> Q {
    let row = tariff.grades.iter().find(|row| row.code.as_str() == grade).unwrap();
    minor(row.rate_per_hour, tariff.currency)
}

/// The pieces at their own price, or a whole larger lot where that is cheaper.
fn part(tariff: &Tariff, code: &str, thousandths: i64) -> Q {
    let row = tariff.parts.iter().find(|row| row.code.as_str() == code).unwrap();
    let steps = tariff.price_breaks.iter().filter(|step| step.part.as_str() == code);
    let mut steps: Vec<(i64, UnitPrice)> =
        steps.map(|step| (step.from_quantity.scaled(), step.unit_cost)).collect();
    steps.push((0, row.unit_cost));
    steps.sort();
    let own = steps.iter().rev().find(|(from, _)| *from <= thousandths).unwrap().1;
    let lots = steps.iter().filter(|(from, _)| *from > thousandths).map(|&(from, cost)| (from, cost));
    let ways = lots.chain([(thousandths, own)]);
    ways.map(|(many, each)| minor(each, tariff.currency) * ratio(many, 1_000)).min().unwrap()
}

fn test(tariff: &Tariff, code: &str, thousandths: i64) -> Q {
    let row = tariff.tests.iter().find(|row| row.code.as_str() == code).unwrap();
    let hours = ratio(thousandths, 1_000);
    let energy = minor(tariff.price.energy_per_kwh, tariff.currency) * ratio(row.power_kw.scaled(), 1_000);
    let bench = minor(row.bench_rate, tariff.currency) + energy;
    bench * hours + rate(tariff, row.grade.as_str()) * ratio(row.attended_minutes, 60)
}

/// The planned lines of a unit: name, category, exact cost.
fn planned(tariff: &Tariff, plan: &Asked) -> Vec<(String, Category, Q)> {
    let parts = plan
        .parts
        .iter()
        .map(|(code, &many)| (format!("part/{code}"), Category::Part, part(tariff, code, many)));
    let labour = plan.minutes.iter().map(|(code, &milli)| {
        (format!("labour/{code}"), Category::Labour, rate(tariff, code) * ratio(milli, 60_000))
    });
    let tests = plan
        .hours
        .iter()
        .map(|(code, &milli)| (format!("test/{code}"), Category::Test, test(tariff, code, milli)));
    parts.chain(labour).chain(tests).collect()
}

/// Every cost line of one way to do the job.
pub fn costs(tariff: &Tariff, job: &Job, way: &Way<'_>) -> Vec<CostLine> {
    let (leg, packaging) = courier(tariff, job);
    let mut lines = Vec::new();
    for (index, unit) in way.units.iter().enumerate() {
        let carries = charged(tariff, job, unit);
        let is_charged = carries.is_some();
        let mut push = |name: &str, category, cost: BigInt, carried: BigInt| {
            lines.push(CostLine {
                unit: index,
                name: name.to_owned(),
                category,
                cost,
                carried,
                charged: is_charged,
            });
        };
        let carries = planned(tariff, &carries.unwrap_or_default());
        for (name, category, exact) in planned(tariff, &asked(tariff, job, unit)) {
            let carried = carries
                .iter()
                .find(|(other, _, _)| *other == name)
                .map_or(BigInt::zero(), |(_, _, q)| half_up(q));
            push(&name, category, half_up(&exact), carried);
        }
        let family = tariff.families.iter().find(|row| row.code == unit.unit.family).unwrap();
        match unit.task {
            Task::Refresh => {}
            Task::Exchange => {
                let cost = half_up(&minor(family.exchange_cost.unwrap(), tariff.currency));
                push("exchange", Category::Exchange, cost.clone(), cost);
            }
            Task::Decline => {
                let exact =
                    rate(tariff, tariff.inspection.grade.as_str()) * ratio(tariff.inspection.minutes, 60);
                push("inspection", Category::Inspection, half_up(&exact), half_up(&exact));
            }
        }
        let free = under_warranty(job, unit) && !is_charged;
        for (name, shares) in [("leg_in", &leg), ("leg_out", &leg), ("packaging", &packaging)] {
            let cost = shares[index].clone();
            let carried = if free { BigInt::zero() } else { cost.clone() };
            push(&format!("courier/{name}"), Category::Courier, cost, carried);
        }
    }
    lines
}

/// Each unit's share of one leg, and of the packaging.
fn courier(tariff: &Tariff, job: &Job) -> (Vec<BigInt>, Vec<BigInt>) {
    let rules = &tariff.courier;
    let customer = &job.customer;
    let fits = |row: &&ZoneRow| {
        row.country == customer.country
            && customer.postcode.as_str().starts_with(row.postcode_prefix.as_str())
    };
    let zone = tariff.zones.iter().filter(fits).max_by_key(|row| row.postcode_prefix.as_str().len()).unwrap();
    let all: Vec<&Parcel> = job.units.iter().flat_map(|unit| &unit.parcels).collect();
    let grams = chargeable(tariff, &all);
    let rates = tariff
        .courier_rates
        .iter()
        .filter(|row| row.zone == zone.zone && BigInt::from(row.up_to_kg.scaled()) >= grams);
    let leg_cost = rates.min_by_key(|row| row.up_to_kg).unwrap().leg_cost;
    let percent = |scaled: i64| ratio(scaled, 1_000_000);
    let declared: Q = job.units.iter().map(|unit| minor(unit.declared_value, tariff.currency)).sum();
    let insurance = declared * percent(rules.insurance_percent.scaled());
    let insurance = insurance.max(minor(rules.insurance_minimum, tariff.currency));
    let leg =
        minor(leg_cost, tariff.currency) * (whole(1) + percent(rules.fuel_percent.scaled())) + insurance;
    let packaging = minor(rules.packaging_per_parcel, tariff.currency) * whole(all.len());
    let weights: Vec<BigInt> =
        job.units.iter().map(|unit| chargeable(tariff, &unit.parcels.iter().collect::<Vec<_>>())).collect();
    debug_assert!(!sum(&weights).is_zero());
    (split(&half_up(&leg), &weights, false), split(&half_up(&packaging), &weights, false))
}

/// Grams: the larger of actual and volumetric weight, raised to the step.
fn chargeable(tariff: &Tariff, parcels: &[&Parcel]) -> BigInt {
    let kilograms: Q = parcels.iter().map(|parcel| ratio(parcel.weight_kg.scaled(), 1_000)).sum();
    let volume = |parcel: &Parcel| {
        [parcel.length_cm, parcel.width_cm, parcel.height_cm]
            .iter()
            .map(|side| ratio(side.scaled(), 1_000))
            .product::<Q>()
    };
    let cubic: Q = parcels.iter().map(|parcel| volume(parcel)).sum();
    let heavier = [kilograms, cubic / whole(tariff.courier.volumetric_divisor)]
        .into_iter()
        .min_by_key(|q| Reverse(q.clone()));
    let step = ratio(tariff.courier.weight_step_kg.scaled(), 1_000);
    let raised = (heavier.unwrap() / step.clone()).ceil() * step;
    (raised * whole(1_000)).to_integer()
}
