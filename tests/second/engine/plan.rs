//! From findings to work: what is replaced, done and tested on one unit.

use std::collections::BTreeMap;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::Zero;

use super::days::Day;
use super::numbers::{Q, percent, whole};
use super::tables::{Family, Finding, Tariff, Unit, Wear};

/// What is done on one unit: quantities by part, minutes by grade, bench hours by test.
#[derive(Clone, Default)]
pub struct Plan {
    pub parts: BTreeMap<String, Q>,
    pub minutes: BTreeMap<String, Q>,
    pub tests: BTreeMap<String, Q>,
    /// A refresh row was due only because age or wear could not be read.
    pub wear_unknown: bool,
}

/// Findings that are the same at the same place are one; the larger quantity counts.
pub fn merged(findings: &[Finding]) -> Vec<Finding> {
    let mut found: BTreeMap<(&str, Option<&str>), u32> = BTreeMap::new();
    for finding in findings {
        let times = found.entry((&finding.code, finding.position.as_deref())).or_default();
        *times = (*times).max(finding.quantity.unwrap_or(1));
    }
    let finding = |((code, position), times): ((&str, Option<&str>), u32)| Finding {
        code: code.into(),
        position: position.map(Into::into),
        quantity: Some(times),
    };
    found.into_iter().map(finding).collect()
}

/// The plan for these findings, with or without the refresh list of the family.
pub fn plan(tariff: &Tariff, unit: &Unit, findings: &[Finding], refresh: bool, received: Day) -> Plan {
    let family = &tariff.families[&unit.family];
    let mut sheet = Sheet {
        tariff,
        at_positions: BTreeMap::new(),
        anywhere: BTreeMap::new(),
        operations: BTreeMap::new(),
    };
    let mut plan = Plan::default();
    let mut tests = vec![(&family.test, None)];
    for finding in merged(findings) {
        let times = whole(finding.quantity.unwrap_or(1));
        for step in tariff.finding_steps.iter().filter(|step| step.finding == finding.code) {
            let quantity = step.quantity.as_ref().map_or(whole(1), |quantity| (**quantity).clone()) * &times;
            let position = step.position.as_ref().or(finding.position.as_ref());
            match step.adds.as_str() {
                "test" => tests.push((&step.code, step.quantity.as_deref())),
                adds => sheet.add(adds, &step.code, quantity, position.map(String::as_str)),
            }
        }
    }
    let list = family.refresh.as_ref().filter(|_| refresh);
    for row in tariff.refresh.iter().filter(|row| Some(&row.list) == list) {
        let threshold = row.threshold.as_deref();
        let due = match row.trigger.as_str() {
            "cycles" => unit.cycles.map(|cycles| whole(cycles) >= *threshold.unwrap()),
            "years" => unit.built.map(|built| whole(built.full_years_until(received)) >= *threshold.unwrap()),
            "wear" => life_used(&tariff.wear[row.wear.as_ref().unwrap()], unit, family, received)
                .map(|used| used >= percent(threshold.unwrap())),
            _ => Some(true),
        };
        plan.wear_unknown |= due.is_none();
        if due.unwrap_or(true) {
            let quantity = row.quantity.as_ref().map_or(whole(1), |quantity| (**quantity).clone());
            sheet.add(&row.adds, &row.code, quantity, row.position.as_deref());
        }
    }
    sheet.close(&mut plan);
    for (code, hours) in tests {
        let hours: &Q = hours.unwrap_or(&tariff.tests[code].bench_hours);
        let longest = plan.tests.entry(code.clone()).or_insert_with(Q::zero);
        if hours > longest {
            *longest = hours.clone();
        }
    }
    plan
}

/// What was asked for, before it is known what is asked for twice.
struct Sheet<'a> {
    tariff: &'a Tariff,
    at_positions: BTreeMap<String, BTreeMap<String, Q>>,
    anywhere: BTreeMap<String, Q>,
    operations: BTreeMap<String, Q>,
}

impl Sheet<'_> {
    fn add(&mut self, adds: &str, code: &str, quantity: Q, position: Option<&str>) {
        let keep_larger = |kept: &mut Q| {
            if quantity > *kept {
                *kept = quantity.clone();
            }
        };
        match (adds, position) {
            ("part", Some(position)) => {
                let at = self.at_positions.entry(code.into()).or_default();
                keep_larger(at.entry(position.into()).or_insert_with(Q::zero));
            }
            ("part", None) => keep_larger(self.anywhere.entry(code.into()).or_insert_with(Q::zero)),
            _ if self.tariff.operations[code].once == "yes" => {
                self.operations.insert(code.into(), whole(1));
            }
            _ => *self.operations.entry(code.into()).or_insert_with(Q::zero) += quantity,
        }
    }

    fn close(self, plan: &mut Plan) {
        plan.parts = self.anywhere;
        for (code, positions) in self.at_positions {
            let sum: Q = positions.values().sum();
            let kept = plan.parts.entry(code).or_insert_with(Q::zero);
            if sum > *kept {
                *kept = sum;
            }
        }
        for (code, times) in &self.operations {
            let operation = &self.tariff.operations[code];
            *plan.minutes.entry(operation.grade.clone()).or_insert_with(Q::zero) +=
                times * whole(operation.minutes);
        }
        for (code, quantity) in &plan.parts {
            let part = &self.tariff.parts[code];
            if let Some(grade) = &part.fit_grade {
                *plan.minutes.entry(grade.clone()).or_insert_with(Q::zero) +=
                    quantity * whole(part.fit_minutes);
            }
        }
    }
}

/// The share of its life that a part has had; nothing where that cannot be read.
fn life_used(wear: &Wear, unit: &Unit, family: &Family, received: Day) -> Option<Q> {
    if let Some(b10d) = wear.b10d {
        return Some(whole(unit.cycles?) * &**wear.operations_per_cycle.as_ref().unwrap() / whole(b10d));
    }
    let hours = match (unit.hours, unit.built) {
        (Some(hours), _) => i64::from(hours),
        (None, built) => {
            ((*received - *built?).num_days() * i64::from(family.duty_hours_per_day)).min(2_000_000)
        }
    };
    let cooler = wear.rated_celsius.unwrap() - wear.service_celsius.unwrap();
    Some(whole(hours) / (whole(wear.rated_hours.unwrap()) * power_of_two_in_tenths(cooler)))
}

/// `2^(tenths/10)`: the whole power, times that of what is left over, from 0 to 9 tenths, to 18 decimals.
pub fn power_of_two_in_tenths(tenths: i32) -> Q {
    let scale = BigInt::from(10).pow(18);
    // One decimal more than is kept, and then to the nearest.
    let root = (BigInt::from(2).pow(tenths.rem_euclid(10) as u32) * (&scale * 10u32).pow(10)).nth_root(10);
    let fine = BigRational::new((root + 5) / 10u32, scale);
    fine * BigRational::from_integer(2.into()).pow(tenths.div_euclid(10))
}
