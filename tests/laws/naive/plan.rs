//! What is done to a unit: sets of positions, sums of minutes, longest tests.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use evenfare_engine::job::{Finding, Job, Task, Unit};
use evenfare_engine::tariff::{Adds, Cover, Tariff, Trigger, WearModel, WearRow};
use num_bigint::BigInt;

/// One way to do the job.
pub struct Way<'j> {
    pub id: &'j str,
    pub units: Vec<WayUnit<'j>>,
}

pub struct WayUnit<'j> {
    pub unit: &'j Unit,
    pub task: Task,
    pub class: &'j str,
    /// How many times, by finding and position.
    pub findings: BTreeMap<(&'j str, Option<&'j str>), u32>,
}

/// The way that an offer is.
pub fn way<'w, 'j>(ways: &'w [Way<'j>], offer: &str) -> &'w Way<'j> {
    ways.iter().find(|way| way.id == offer).unwrap()
}

/// The job itself, then its alternatives.
pub fn ways(job: &Job) -> Vec<Way<'_>> {
    let main = job.units.iter().map(|unit| way_unit(unit, None, &[])).collect();
    let mut ways = vec![Way { id: "main", units: main }];
    for alternative in &job.alternatives {
        let units = job.units.iter().map(|unit| {
            match alternative.changes.iter().find(|change| change.unit == unit.id) {
                Some(change) => {
                    let mut changed =
                        way_unit(unit, change.class.as_ref().map(|class| class.as_str()), &change.findings);
                    changed.task = change.task.unwrap_or(unit.task);
                    changed
                }
                None => way_unit(unit, None, &[]),
            }
        });
        ways.push(Way { id: alternative.id.as_str(), units: units.collect() });
    }
    ways
}

fn way_unit<'j>(unit: &'j Unit, class: Option<&'j str>, more: &'j [Finding]) -> WayUnit<'j> {
    let mut findings = BTreeMap::new();
    for finding in unit.findings.iter().chain(more) {
        let key = (finding.code.as_str(), finding.position.as_ref().map(|position| position.as_str()));
        let most: &mut u32 = findings.entry(key).or_default();
        *most = (*most).max(finding.quantity.unwrap_or(1));
    }
    let own = unit.class.as_ref().map(|class| class.as_str());
    WayUnit { unit, task: unit.task, class: class.or(own).unwrap_or("standard"), findings }
}

/// What is needed, by code: thousandths of pieces, of minutes, of hours.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Asked {
    pub parts: BTreeMap<String, i64>,
    pub minutes: BTreeMap<String, i64>,
    pub hours: BTreeMap<String, i64>,
}

/// A day this many months later; the last of the month where there is no such day.
pub fn months_later(from: NaiveDate, months: u32) -> NaiveDate {
    let month = from.year() * 12 + from.month0() as i32 + months as i32;
    (1..=from.day())
        .rev()
        .find_map(|day| NaiveDate::from_ymd_opt(month.div_euclid(12), month.rem_euclid(12) as u32 + 1, day))
        .unwrap()
}

pub fn under_warranty(job: &Job, of: &WayUnit<'_>) -> bool {
    let Some(returned) = &of.unit.returned else { return false };
    let in_time = job.received <= months_later(returned.dispatched, returned.warranty_months);
    let in_cycles = match returned.warranty_cycles {
        Some(limit) => of.unit.cycles.unwrap() - returned.cycles_at_dispatch.unwrap() <= limit,
        None => true,
    };
    of.task == Task::Refresh && in_time && in_cycles
}

/// All that is done.
pub fn asked(tariff: &Tariff, job: &Job, of: &WayUnit<'_>) -> Asked {
    plan(tariff, job, of, &|_| true)
}

/// What of it is charged for; nothing at all where the open warranty covers everything.
pub fn charged(tariff: &Tariff, job: &Job, of: &WayUnit<'_>) -> Option<Asked> {
    if !under_warranty(job, of) {
        return Some(asked(tariff, job, of));
    }
    let excluded = |code: &str| {
        tariff.findings.iter().any(|row| row.code.as_str() == code && row.warranty == Cover::Excluded)
    };
    of.findings.keys().any(|(code, _)| excluded(code)).then(|| plan(tariff, job, of, &excluded))
}

fn plan(tariff: &Tariff, job: &Job, of: &WayUnit<'_>, counts: &dyn Fn(&str) -> bool) -> Asked {
    let mut asked = Asked::default();
    if of.task != Task::Refresh {
        return asked;
    }
    let family = tariff.families.iter().find(|family| family.code == of.unit.family).unwrap();
    // Of each part: how many at each position, and how many without one.
    let mut placed: BTreeMap<(&str, Option<&str>), i64> = BTreeMap::new();
    let mut operations: BTreeMap<&str, i64> = BTreeMap::new();
    let own = tariff.tests.iter().find(|test| test.code == family.test).unwrap();
    asked.hours.insert(own.code.to_string(), own.bench_hours.scaled());

    for ((code, at), times) in of.findings.iter().filter(|((code, _), _)| counts(code)) {
        for step in tariff.finding_steps.iter().filter(|step| step.finding.as_str() == *code) {
            let each = step.quantity.map_or(1_000, |quantity| quantity.scaled());
            let many = each * i64::from(*times);
            match step.adds {
                Adds::Part => {
                    let position = step.position.as_ref().map(|position| position.as_str()).or(*at);
                    let most = placed.entry((step.code.as_str(), position)).or_default();
                    *most = (*most).max(many);
                }
                Adds::Operation => *operations.entry(step.code.as_str()).or_default() += many,
                Adds::Test => {
                    let test = tariff.tests.iter().find(|test| test.code == step.code).unwrap();
                    let hours = step.quantity.unwrap_or(test.bench_hours).scaled();
                    let longest = asked.hours.entry(step.code.to_string()).or_default();
                    *longest = (*longest).max(hours);
                }
            }
        }
    }
    if !under_warranty(job, of) {
        for row in tariff.refresh.iter().filter(|row| Some(&row.list) == family.refresh.as_ref()) {
            let many = row.quantity.map_or(1_000, |quantity| quantity.scaled());
            let due = match row.trigger {
                Trigger::Always => true,
                Trigger::Cycles => of
                    .unit
                    .cycles
                    .is_none_or(|cycles| cycles * 1_000 >= row.threshold.unwrap().scaled() as u64),
                Trigger::Years => {
                    let months = row.threshold.unwrap().scaled() / 1_000 * 12;
                    of.unit.built.is_none_or(|built| months_later(built, months as u32) <= job.received)
                }
                Trigger::Wear => {
                    let wear = tariff.wear.iter().find(|wear| Some(&wear.code) == row.wear.as_ref()).unwrap();
                    let hours = hours_run(job, of.unit, family.duty_hours_per_day);
                    has_worn(wear, hours, of.unit.cycles, row.threshold.unwrap().scaled())
                }
            };
            match row.adds {
                _ if !due => {}
                Adds::Part => {
                    let position = row.position.as_ref().map(|position| position.as_str());
                    let most = placed.entry((row.code.as_str(), position)).or_default();
                    *most = (*most).max(many);
                }
                Adds::Operation => *operations.entry(row.code.as_str()).or_default() += many,
                Adds::Test => unreachable!(),
            }
        }
    }
    for part in &tariff.parts {
        let of_part = || placed.iter().filter(|((code, _), _)| *code == part.code.as_str());
        if of_part().count() == 0 {
            continue;
        }
        let at_positions: i64 = of_part().filter(|((_, at), _)| at.is_some()).map(|(_, many)| many).sum();
        let anywhere = of_part().find(|((_, at), _)| at.is_none()).map_or(0, |(_, many)| *many);
        let pieces = at_positions.max(anywhere);
        asked.parts.insert(part.code.to_string(), pieces);
        if let Some(grade) = &part.fit_grade {
            *asked.minutes.entry(grade.to_string()).or_default() += pieces * i64::from(part.fit_minutes);
        }
    }
    for (code, times) in operations {
        let operation = tariff.operations.iter().find(|row| row.code.as_str() == code).unwrap();
        let times = if operation.once { 1_000 } else { times };
        *asked.minutes.entry(operation.grade.to_string()).or_default() +=
            times * i64::from(operation.minutes);
    }
    asked
}

fn hours_run(job: &Job, unit: &Unit, hours_per_day: u32) -> Option<u32> {
    let days = |built: NaiveDate| (job.received - built).num_days() as u32;
    unit.hours.or_else(|| Some(days(unit.built?) * hours_per_day))
}

/// Has it used this many thousandths of a percent of its life? Unknown counts as worn.
fn has_worn(wear: &WearRow, hours: Option<u32>, cycles: Option<u64>, share: i64) -> bool {
    match wear.model {
        WearModel::Capacitor => hours.is_none_or(|hours| {
            // hours / (L0 x 2^(k / 10)) >= share / 100000, both sides to the tenth power.
            let below = wear.rated_celsius.unwrap() - wear.service_celsius.unwrap();
            let mut used = BigInt::from(u64::from(hours) * 100_000).pow(10);
            let mut allowed = (BigInt::from(share) * wear.rated_hours.unwrap()).pow(10);
            if below < 0 {
                used <<= below.unsigned_abs()
            } else {
                allowed <<= below.unsigned_abs()
            }
            used >= allowed
        }),
        WearModel::Contacts => cycles.is_none_or(|cycles| {
            let operations = BigInt::from(cycles) * wear.operations_per_cycle.unwrap().scaled();
            operations * 100_000 >= BigInt::from(wear.b10d.unwrap()) * share * 1_000
        }),
    }
}
