//! The units of a job, in each of the ways to do it.

use chrono::{Datelike, NaiveDate};

use super::{
    Cover, Found, IN_THESE_YEARS, MAIN, MOST_ALTERNATIVES, MOST_FINDINGS, MOST_UNITS, OfferOrder, UnitOrder,
    YEARS, too_many, unknown,
};
use crate::job::{Finding, Job, Task, Unit};
use crate::life::MOST_HOURS;
use crate::nearest::or_nearest;
use crate::period::last_day_of_months;
use crate::problem::{Place, Problem};
use crate::tariff::entries::{Family, FlatPrice};
use crate::tariff::{Edition, Method};
use crate::text::Code;

/// The job itself, then its alternatives.
pub(super) fn offers<'a>(
    job: &'a Job,
    edition: &'a Edition,
    problems: &mut Vec<Problem>,
) -> Vec<OfferOrder<'a>> {
    let units = units(job, edition, problems);
    let crowded = too_many(|| Place::field("units"), job.units.len(), MOST_UNITS, problems);
    let alternatives = || Place::field("alternatives");
    if too_many(alternatives, job.alternatives.len(), MOST_ALTERNATIVES, problems) || crowded {
        return Vec::new();
    }
    let mut offers = Vec::with_capacity(job.alternatives.len().saturating_add(1));
    for (index, alternative) in job.alternatives.iter().enumerate() {
        let at = || alternatives().nth(index);
        let taken = job.alternatives.iter().take(index).any(|other| other.id == alternative.id);
        if taken || alternative.id.as_str() == MAIN {
            problems.push(Problem::error(
                at().at("id"),
                "given_twice",
                &alternative.id,
                "a name of its own; `main` is the job itself",
            ));
        }
        // Each unit stands in it once at most.
        if too_many(|| at().at("changes"), alternative.changes.len(), MOST_UNITS, problems) {
            continue;
        }
        let mut changed: Vec<UnitOrder<'a>> = units.iter().map(UnitOrder::copied).collect();
        for (nth, change) in alternative.changes.iter().enumerate() {
            let at = || at().at("changes").nth(nth);
            if alternative.changes.iter().take(nth).any(|other| other.unit == change.unit) {
                problems.push(Problem::error(
                    at().at("unit"),
                    "given_twice",
                    &change.unit,
                    "each unit once in an alternative",
                ));
            }
            if !job.units.iter().any(|unit| unit.id == change.unit) {
                problems.push(Problem::error(
                    at().at("unit"),
                    "unknown_unit",
                    &change.unit,
                    "the id of a unit of this job",
                ));
            }
            let Some(order) = changed.iter_mut().find(|order| order.unit.id == change.unit) else { continue };
            order.task = change.task.unwrap_or(order.task);
            let class = change.class.as_ref().or(order.unit.class.as_ref());
            order.flat = flat(order.family, order.task, class);
            check_class(&at, order.family, change.class.as_ref(), problems);
            exchange(&at, order.family, order.task, problems);
            order.findings.extend(findings(&at, &change.findings, edition, problems));
            merge(&mut order.findings);
        }
        offers.push(OfferOrder {
            id: alternative.id.as_str(),
            text: alternative.text.as_str(),
            units: changed,
        });
    }
    offers.insert(0, OfferOrder { id: MAIN, text: "", units });
    offers
}

fn units<'a>(job: &'a Job, edition: &'a Edition, problems: &mut Vec<Problem>) -> Vec<UnitOrder<'a>> {
    let mut orders = Vec::with_capacity(job.units.len());
    if job.units.is_empty() {
        problems.push(Problem::error(Place::field("units"), "no_units", "", "at least one unit"));
    }
    for (index, unit) in job.units.iter().enumerate().take(MOST_UNITS) {
        let at = || Place::field("units").nth(index);
        if job.units.iter().take(index).any(|other| other.id == unit.id) {
            problems.push(Problem::error(
                at().at("id"),
                "given_twice",
                &unit.id,
                "each unit with an id of its own",
            ));
        }
        // Lines are named `unit/part/code` and `surcharge/code`; each name has to mean one line.
        let id = unit.id.as_str();
        if id.contains('/') || ["surcharge", "minimum", "ending"].contains(&id) {
            let expected = "an id without `/`, and not one of surcharge, minimum and ending";
            problems.push(Problem::error(at().at("id"), "reserved_id", id, expected));
        }
        aged(&at, unit, job, problems);
        let findings = findings(&at, &unit.findings, edition, problems);
        let cover = cover(&at, unit, job, problems);
        let Some(family) = edition.families.find(unit.family.as_str()) else {
            let (at, families) = (at().at("family"), &edition.families);
            unknown(at, "unknown_family", &unit.family, families, "families.csv", problems);
            continue;
        };
        exchange(&at, family, unit.task, problems);
        check_class(&at, family, unit.class.as_ref(), problems);
        orders.push(UnitOrder {
            unit,
            index,
            family,
            task: unit.task,
            flat: flat(family, unit.task, unit.class.as_ref()),
            findings,
            hours: hours(unit, family, job),
            cover,
        });
    }
    orders
}

fn aged(at: &impl Fn() -> Place, unit: &Unit, job: &Job, problems: &mut Vec<Problem>) {
    if let Some(built) = unit.built {
        before_receipt(|| at().at("built"), "built_after_receipt", built, job, problems);
    }
    if let Some(hours) = unit.hours.filter(|hours| *hours > MOST_HOURS) {
        problems.push(Problem::error(
            at().at("hours"),
            "too_long",
            hours,
            format_args!("at most {MOST_HOURS} hours"),
        ));
    }
    if let Some(cycles) = unit.cycles.filter(|cycles| *cycles > 1_000_000_000_000) {
        problems.push(Problem::error(at().at("cycles"), "too_many", cycles, "at most 1000000000000 cycles"));
    }
}

/// A day on which something has happened to the unit before it was received, else `after` is told.
fn before_receipt(
    at: impl Fn() -> Place,
    after: &'static str,
    day: NaiveDate,
    job: &Job,
    problems: &mut Vec<Problem>,
) {
    if !YEARS.contains(&day.year()) {
        problems.push(Problem::error(at(), "far_away", day, IN_THESE_YEARS));
    } else if day > job.received {
        let expected = format!("a day not after the receipt on {}", job.received);
        problems.push(Problem::error(at(), after, day, expected));
    }
}

/// Hours run: by the meter, or the days since it was built times the family's hours a day.
fn hours(unit: &Unit, family: &Family, job: &Job) -> Option<u32> {
    unit.hours.or_else(|| {
        let days = job.received.signed_duration_since(unit.built?).num_days();
        let hours = u32::try_from(days).ok()?.checked_mul(family.duty_hours_per_day)?;
        Some(hours.min(MOST_HOURS))
    })
}

fn findings<'a>(
    at: &impl Fn() -> Place,
    written: &'a [Finding],
    edition: &'a Edition,
    problems: &mut Vec<Problem>,
) -> Vec<Found<'a>> {
    let mut found = Vec::with_capacity(written.len());
    if too_many(|| at().at("findings"), written.len(), MOST_FINDINGS, problems) {
        return found;
    }
    for (index, finding) in written.iter().enumerate() {
        let times = finding.quantity.unwrap_or(1);
        if times == 0 || times > 1_000 {
            let at = at().at("findings").nth(index).at("quantity");
            problems.push(Problem::error(at, "no_such_quantity", times, "1 to 1000 times"));
        }
        match edition.findings.find(finding.code.as_str()) {
            Some(catalogued) => {
                found.push(Found { finding: catalogued, position: finding.position.as_ref(), times })
            }
            None => {
                let at = at().at("findings").nth(index).at("code");
                unknown(at, "unknown_finding", &finding.code, &edition.findings, "findings.csv", problems);
            }
        }
    }
    merge(&mut found);
    found
}

/// One finding at one place is one finding, however often it was written down; the larger number
/// counts. This also makes the order they were written in of no account.
fn merge(found: &mut Vec<Found<'_>>) {
    found.sort_by(|a, b| {
        let by_place = (a.finding.rank, a.position).cmp(&(b.finding.rank, b.position));
        by_place.then(b.times.cmp(&a.times))
    });
    found.dedup_by(|later, first| {
        (later.finding.rank, later.position) == (first.finding.rank, first.position)
    });
}

/// The fixed price of what is refreshed in a flat family; every such family has one of class `standard`, and no other
/// family has any.
fn flat<'a>(family: &'a Family, task: Task, class: Option<&Code>) -> Option<&'a FlatPrice> {
    let class = class.map_or("standard", Code::as_str);
    if task == Task::Refresh { fixed_price(family, class) } else { None }
}

fn fixed_price<'a>(family: &'a Family, class: &str) -> Option<&'a FlatPrice> {
    family.flat_prices.iter().find(|price| price.class.as_str() == class).map(AsRef::as_ref)
}

/// A class that is named is one of the family, whatever is to be done: what is sent back today is refreshed in an
/// alternative.
fn check_class(at: &impl Fn() -> Place, family: &Family, class: Option<&Code>, problems: &mut Vec<Problem>) {
    let Some(class) = class else { return };
    if family.method == Method::BuiltUp {
        problems.push(Problem::error(
            at().at("class"),
            "class_of_built_up_family",
            class,
            "no class: the price is built up from cost",
        ));
    } else if fixed_price(family, class.as_str()).is_none() {
        let a_class = format!("a class of flat_prices.csv for family {}", family.code);
        let classes = family.flat_prices.iter().map(|price| price.class.as_str());
        let expected = or_nearest(&a_class, class.as_str(), classes);
        problems.push(Problem::error(at().at("class"), "unknown_class", class, expected));
    }
}

fn exchange(at: &impl Fn() -> Place, family: &Family, task: Task, problems: &mut Vec<Problem>) {
    if task == Task::Exchange && family.exchange.is_none() {
        let expected = format!("refresh or decline: no exchange units are kept of family {}", family.code);
        problems.push(Problem::error(at().at("task"), "no_exchange_unit", "exchange", expected));
    }
}

/// Is the warranty the unit left with still open on the day it came back?
fn cover(at: &impl Fn() -> Place, unit: &Unit, job: &Job, problems: &mut Vec<Problem>) -> Option<Cover> {
    let returned = unit.returned.as_ref()?;
    let at = || at().at("returned");
    before_receipt(|| at().at("dispatched"), "dispatched_after_receipt", returned.dispatched, job, problems);
    if returned.warranty_months > 600 {
        problems.push(Problem::error(
            at().at("warranty_months"),
            "too_long",
            returned.warranty_months,
            "at most 600 months",
        ));
    }
    let until = last_day_of_months(returned.dispatched, returned.warranty_months.min(600)).ok()?;
    let cycles_left = match returned.warranty_cycles {
        None => None,
        Some(limit) => {
            let (Some(now), Some(then)) = (unit.cycles, returned.cycles_at_dispatch) else {
                let missing = if unit.cycles.is_none() { "units.cycles" } else { "cycles_at_dispatch" };
                let expected = format!("a limit only where both counts are known; `{missing}` is missing");
                problems.push(Problem::error(
                    at().at("warranty_cycles"),
                    "cycles_not_known",
                    limit,
                    expected,
                ));
                return None;
            };
            if now < then {
                let expected = format!("at most the {now} cycles it has done by now");
                problems.push(Problem::error(
                    at().at("cycles_at_dispatch"),
                    "cycles_run_backwards",
                    then,
                    expected,
                ));
            }
            let since = now.saturating_sub(then);
            if since > limit {
                return None;
            }
            Some(limit.saturating_sub(since))
        }
    };
    (job.received <= until).then_some(Cover { until, cycles_left })
}

impl<'a> UnitOrder<'a> {
    fn copied(&self) -> Self {
        Self { findings: self.findings.clone(), ..*self }
    }
}
