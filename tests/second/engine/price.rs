//! The end price: the lines of every unit, then surcharges, minimum charge and ending. The route
//! is no argument of anything here.

use std::collections::BTreeMap;

use num_bigint::BigInt;
use num_traits::{Signed, Zero};

use super::cost::{self, in_minor, scale};
use super::days::Day;
use super::numbers::{Q, half_up, percent, whole};
use super::plan::plan;
use super::tables::{Finding, Job, Tariff, Unit};

/// Cost and price of one thing, in one currency.
#[derive(Clone)]
pub struct Item {
    pub id: String,
    pub category: &'static str,
    /// Which unit; none for surcharges, minimum charge and ending.
    pub unit: Option<usize>,
    /// It goes with an exchange unit.
    pub exchange: bool,
    /// What it costs; none where it is no cost line.
    pub cost: Option<BigInt>,
    /// What of the cost the end price has to carry.
    pub carried: BigInt,
    /// What is charged; none where it is no line of the end price.
    pub net: Option<BigInt>,
}

/// What an offer comes to before anybody asks who sells it.
pub struct Priced {
    pub items: Vec<Item>,
    /// No unit is charged for.
    pub all_free: bool,
    /// Units that are charged for.
    pub charged_units: usize,
    pub under_warranty: bool,
    pub wear_unknown: bool,
}

impl Priced {
    pub fn lines(&self) -> impl Iterator<Item = (&Item, &BigInt)> {
        self.items.iter().filter_map(|item| Some((item, item.net.as_ref()?)))
    }

    pub fn end_net(&self) -> BigInt {
        self.lines().map(|(_, net)| net).sum()
    }

    pub fn sum_of(&self, category: &str) -> BigInt {
        self.lines().filter(|(item, _)| item.category == category).map(|(_, net)| net).sum()
    }
}

/// The last day of the warranty a unit came back under, where that is open.
pub fn open_cover(job: &Job, unit: &Unit) -> Option<Day> {
    let returned = unit.returned.as_ref()?;
    let until = returned.dispatched.plus_months(returned.warranty_months);
    let cycles_left = match (returned.warranty_cycles, returned.cycles_at_dispatch, unit.cycles) {
        (Some(limit), Some(then), Some(now)) => now - then <= limit,
        _ => true,
    };
    (job.received <= until && cycles_left).then_some(until)
}

/// Is it worked on under that warranty?
fn is_covered(job: &Job, unit: &Unit) -> bool {
    unit.task == "refresh" && open_cover(job, unit).is_some()
}

/// Findings that no warranty of the workshop covers.
fn excluded(tariff: &Tariff, unit: &Unit) -> Vec<Finding> {
    let mut findings = unit.findings.clone();
    findings.retain(|finding| tariff.findings[&finding.code].warranty == "excluded");
    findings
}

/// Under an open warranty, with nothing that it excludes.
pub fn is_free(tariff: &Tariff, job: &Job, unit: &Unit) -> bool {
    is_covered(job, unit) && excluded(tariff, unit).is_empty()
}

/// All items in the tariff's currency.
pub fn price(tariff: &Tariff, job: &Job) -> Priced {
    let (legs, packagings) = cost::courier(tariff, job);
    let free = |unit: &Unit| is_free(tariff, job, unit);
    let mut priced = Priced {
        items: Vec::new(),
        all_free: job.units.iter().all(free),
        charged_units: job.units.iter().filter(|unit| !free(unit)).count(),
        under_warranty: job.units.iter().any(free),
        wear_unknown: false,
    };
    for (index, unit) in job.units.iter().enumerate() {
        let mut bench = Bench { tariff, job, unit, index, priced: &mut priced };
        match unit.task.as_str() {
            "exchange" => bench.exchange(),
            "decline" => bench.decline(),
            _ => bench.refresh(),
        }
        bench.courier(&legs[index], &packagings[index]);
    }
    if !priced.all_free {
        surcharges(tariff, job, &mut priced);
    }
    priced
}

/// The items of one unit.
struct Bench<'a> {
    tariff: &'a Tariff,
    job: &'a Job,
    unit: &'a Unit,
    index: usize,
    priced: &'a mut Priced,
}

impl Bench<'_> {
    fn push(
        &mut self,
        name: &str,
        category: &'static str,
        cost: Option<BigInt>,
        carried: BigInt,
        net: Option<BigInt>,
    ) {
        self.priced.items.push(Item {
            id: format!("{}/{name}", self.unit.id),
            category,
            unit: Some(self.index),
            exchange: self.unit.task == "exchange",
            cost,
            carried,
            net,
        });
    }

    fn marked_up(&self, category: &str, cost: &BigInt) -> BigInt {
        let markup = percent(&self.tariff.rules.markup[category]);
        half_up(&(whole(cost.clone()) * (whole(1) + markup)))
    }

    /// Is the fixed price of a flat family charged?
    fn is_flat(&self) -> bool {
        self.unit.task == "refresh"
            && self.tariff.families[&self.unit.family].method == "flat"
            && !is_covered(self.job, self.unit)
    }

    fn covered_by_flat_price(&self, category: &str) -> bool {
        self.is_flat() && self.tariff.rules.price.flat_covers.iter().any(|covered| covered == category)
    }

    fn exchange(&mut self) {
        let family = &self.tariff.families[&self.unit.family];
        let minor = |major: &Q| half_up(&in_minor(self.tariff, major));
        let cost = minor(family.exchange_cost.as_ref().unwrap());
        let net = minor(family.exchange_net.as_ref().unwrap());
        self.push("exchange", "exchange", Some(cost.clone()), cost, Some(net));
    }

    fn decline(&mut self) {
        let cost = cost::inspection(self.tariff);
        let fee = half_up(&in_minor(self.tariff, &self.tariff.rules.inspection.fee));
        self.push("inspection", "inspection", Some(cost.clone()), cost, Some(fee));
    }

    fn refresh(&mut self) {
        let (tariff, unit, received) = (self.tariff, self.unit, self.job.received);
        if self.is_flat() {
            let class = unit.class.as_deref().unwrap_or("standard");
            let mut prices = tariff.flat_prices.iter();
            let price = prices.find(|row| row.family == unit.family && row.class == class).unwrap();
            let net = half_up(&in_minor(tariff, &price.net));
            self.push(&format!("flat/{class}"), "flat", None, BigInt::zero(), Some(net));
        }
        let cover = is_covered(self.job, unit);
        let whole_plan = plan(tariff, unit, &unit.findings, !cover, received);
        self.priced.wear_unknown |= whole_plan.wear_unknown;
        let free = is_free(tariff, self.job, unit);
        let charged_plan = if cover {
            plan(tariff, unit, &excluded(tariff, unit), false, received)
        } else {
            whole_plan.clone()
        };
        let charged = if free { BTreeMap::new() } else { named(cost::work(tariff, &charged_plan)) };
        for (category, code, cost) in cost::work(tariff, &whole_plan) {
            let charged = charged.get(&(category, code.clone()));
            let carried = charged.cloned().unwrap_or_default();
            self.priced.under_warranty |= cover && (charged.is_none() || carried < cost);
            let net = (!self.covered_by_flat_price(category)).then(|| self.marked_up(category, &carried));
            self.push(&format!("{category}/{code}"), category, Some(cost), carried, net);
        }
    }

    fn courier(&mut self, leg: &BigInt, packaging: &BigInt) {
        let free = is_free(self.tariff, self.job, self.unit);
        for (name, cost) in [("leg_in", leg), ("leg_out", leg), ("packaging", packaging)] {
            let carried = if free { BigInt::zero() } else { cost.clone() };
            let is_line =
                !self.covered_by_flat_price("courier") && (name != "leg_in" || self.unit.task != "decline");
            let net = is_line.then(|| self.marked_up("courier", &carried));
            self.push(&format!("courier/{name}"), "courier", Some(cost.clone()), carried, net);
        }
    }
}

fn named(work: Vec<cost::Work>) -> BTreeMap<(&'static str, String), BigInt> {
    work.into_iter().map(|(category, code, cost)| ((category, code), cost)).collect()
}

/// What stands below the units.
fn surcharges(tariff: &Tariff, job: &Job, priced: &mut Priced) {
    let below = |id: String, category, net| Item {
        id,
        category,
        unit: None,
        exchange: false,
        cost: None,
        carried: BigInt::zero(),
        net: Some(net),
    };
    let mut extras = job.extras.clone();
    extras.sort();
    let mut found = Vec::new();
    for code in extras {
        let extra = &tariff.extras[&code];
        let base: BigInt = extra.categories.split(' ').map(|category| priced.sum_of(category)).sum();
        let net = half_up(&(percent(&extra.percent) * whole(base)));
        found.push(below(format!("surcharge/{code}"), "surcharge", net));
    }
    priced.items.extend(found);
    let rules = &tariff.rules.price;
    let missing = in_minor(tariff, &rules.minimum_charge).to_integer() - priced.end_net();
    if missing.is_positive() {
        priced.items.push(below("minimum".into(), "minimum", missing));
    }
    let multiple = in_minor(tariff, &rules.ending_to);
    if multiple.is_positive() {
        let before = whole(priced.end_net());
        let times = match rules.ending_direction.as_str() {
            "up" => (&before / &multiple).ceil(),
            "down" => (&before / &multiple).floor(),
            _ => (&before / &multiple + Q::new(1.into(), 2.into())).floor(),
        };
        let ending = (times * multiple - before).to_integer();
        if !ending.is_zero() {
            priced.items.push(below("ending".into(), "ending", ending));
        }
    }
}

/// Units of `to` for one of `from` in minor units; none where a rate is missing.
pub fn exchange_rate(tariff: &Tariff, from: &str, to: &str, on: Day) -> Option<Q> {
    if from == to {
        return Some(whole(1));
    }
    let for_a_euro = |currency: &str| {
        if currency == "EUR" {
            return Some(whole(1));
        }
        let known = tariff.currency_rates.iter().filter(|row| row.currency == currency && row.date <= on);
        known.max_by_key(|row| row.date.0).map(|row| (*row.units_per_eur).clone())
    };
    Some(for_a_euro(to)? * scale(to) / (for_a_euro(from)? * scale(from)))
}

/// Every item converted by itself.
pub fn converted(mut priced: Priced, rate: &Q) -> Priced {
    let convert = |amount: &BigInt| half_up(&(whole(amount.clone()) * rate));
    let mut before = BigInt::zero();
    for item in &mut priced.items {
        item.cost = item.cost.as_ref().map(convert);
        item.carried = convert(&item.carried);
        item.net = item.net.as_ref().map(convert);
        if let Some(net) = &mut item.net {
            if item.category == "ending" {
                *net = (*net).clone().max(-before.clone());
            }
            before += &*net;
        }
    }
    priced
}
