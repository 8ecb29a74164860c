//! Findings: their order, the position that is replaced once, and that more never costs less.

use std::collections::BTreeMap;

use evenfare_engine::Refused;
use evenfare_engine::category::Category;
use evenfare_engine::job::{Finding, Job};
use evenfare_engine::quote::{Offer, Quote};
use evenfare_engine::tariff::{Method, Tariff};
use evenfare_engine::view::{Reader, view};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

use crate::naive::{asked, currency_of, way, ways};
use crate::run::{count, fail, law};
use crate::tape::Draw;
use crate::worlds::{World, findings, shuffle};

fn office(quote: &Quote) -> String {
    serde_json::to_string(&view(quote, &Reader::Office)).unwrap()
}

#[test]
fn order_of_findings_does_not_matter() {
    law("order_of_findings_does_not_matter", "jobs with two findings or more", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let mut job = Job {
            route: if quote.route.is_empty() { Vec::new() } else { world.job.route.clone() },
            ..world.job.clone()
        };
        let mut draw = world.choices(0);
        let several = job.units.iter().any(|unit| unit.findings.len() > 1);
        let mut turn = |findings: &mut Vec<Finding>| {
            // Written down twice is found once.
            if let Some(first) = findings.first().filter(|_| draw.chance(50)).cloned() {
                findings.push(first);
            }
            shuffle(&mut draw, findings);
        };
        job.units.iter_mut().for_each(|unit| turn(&mut unit.findings));
        let changes = job.alternatives.iter_mut().flat_map(|alternative| &mut alternative.changes);
        changes.for_each(|change| turn(&mut change.findings));
        let shuffled =
            world.quoted(&job, tally).map_err(|refused| fail(format!("in another order: {refused:?}")))?;
        prop_assert_eq!(office(&quote), office(&shuffled));
        if several {
            count(&tally.also);
        }
        Ok(())
    });
}

/// `2.5 pc` is 2500.
fn thousandths(shown: &str) -> i64 {
    let number = shown.split(' ').next().unwrap();
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    format!("{whole}{decimals:0<3}").parse().unwrap()
}

/// The planned amounts of a category that the cost lines of a unit show.
fn shown(offer: &Offer, unit: &str, category: Category) -> BTreeMap<String, i64> {
    let prefix = format!("{unit}/{category}/");
    let lines = offer.costs.iter().filter(|cost| cost.category == category);
    lines
        .filter_map(|cost| Some((cost.id.strip_prefix(&prefix)?.to_owned(), thousandths(&cost.quantity))))
        .collect()
}

#[test]
fn a_position_is_replaced_once() {
    law("a_position_is_replaced_once", "parts planned", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let ways = ways(&world.job);
        for offer in &quote.offers {
            let way = way(&ways, &offer.id);
            for unit in &way.units {
                let expect = asked(&world.tariff, &world.job, unit);
                let id = unit.unit.id.as_str();
                prop_assert_eq!(
                    shown(offer, id, Category::Part),
                    expect.parts.clone(),
                    "parts of {} in {}",
                    id,
                    way.id
                );
                prop_assert_eq!(
                    shown(offer, id, Category::Labour),
                    expect.minutes,
                    "minutes of {} in {}",
                    id,
                    way.id
                );
                prop_assert_eq!(
                    shown(offer, id, Category::Test),
                    expect.hours,
                    "hours of {} in {}",
                    id,
                    way.id
                );
                expect.parts.iter().for_each(|_| count(&tally.also));
            }
            positions_stand_once(offer)?;
        }
        Ok(())
    });
}

/// In the plan that people read, a part stands at a position once.
fn positions_stand_once(offer: &Offer) -> TestCaseResult {
    for unit in &offer.units {
        let parts = unit.plan.iter().filter(|step| step.category == Category::Part);
        let mut places: Vec<_> = parts.map(|step| (&step.code, &step.position)).collect();
        let planned = places.len();
        places.sort();
        places.dedup();
        prop_assert_eq!(places.len(), planned, "a position stands twice in the plan of {}", unit.id);
    }
    Ok(())
}

/// Every family built up from cost: a flat price is what it is, whatever was found.
fn built_up(tariff: &Tariff) -> Tariff {
    let mut tariff = tariff.clone();
    tariff.families.iter_mut().for_each(|family| family.method = Method::BuiltUp);
    tariff.flat_prices.clear();
    tariff
}

fn without_classes(job: &Job) -> Job {
    let mut job = Job { route: Vec::new(), ..job.clone() };
    job.units.iter_mut().for_each(|unit| unit.class = None);
    let changes = job.alternatives.iter_mut().flat_map(|alternative| &mut alternative.changes);
    changes.for_each(|change| change.class = None);
    job
}

/// One more of each finding, or further ones, for every unit and alternative.
fn with_more(draw: &mut Draw<'_>, tariff: &Tariff, written: &mut Vec<Finding>) {
    for finding in written.iter_mut().filter(|_| draw.chance(30)) {
        finding.quantity = Some((finding.quantity.unwrap_or(1) + 1).min(1_000));
    }
    written.extend(findings(draw, tariff, 3));
}

#[test]
fn more_findings_never_cost_less() {
    law("more_findings_never_cost_less", "offers that cost more", |world, tally| {
        let tariff = built_up(&world.tariff);
        let job = without_classes(&world.job);
        let world = World::with(world, tariff, job);
        let world = world.map_err(|problems| fail(format!("{problems:?}")))?;
        let Some(before) = world.quote(tally)? else { return Ok(()) };
        let mut more = world.job.clone();
        let mut draw = world.choices(1);
        let mut add = |findings: &mut Vec<Finding>| with_more(&mut draw, &world.tariff, findings);
        more.units.iter_mut().for_each(|unit| add(&mut unit.findings));
        let changes = more.alternatives.iter_mut().flat_map(|alternative| &mut alternative.changes);
        changes.for_each(|change| add(&mut change.findings));
        let after = match world.quoted(&more, tally) {
            Ok(quote) => quote,
            // Past the bounds costs more than anything.
            Err(refused @ Refused::TooLarge) => {
                tally.refuse(&refused);
                return Ok(());
            }
            Err(refused) => return Err(fail(format!("with more findings: {refused:?}"))),
        };
        let converted = currency_of(&world.tariff, &world.job) != world.tariff.currency;
        for (before, after) in before.offers.iter().zip(&after.offers) {
            let (less, more) = (before.end.net.minor(), after.end.net.minor());
            // Each line is converted and rounded once, so that the sum of each side is at most half
            // a unit per line beside the exact one; in the tariff's own currency nothing is.
            let lines = if converted { before.lines.len() + after.lines.len() } else { 0 };
            let slack = i64::try_from(lines / 2).unwrap();
            prop_assert!(
                more + slack >= less,
                "{} costs {more} with more findings, and {less} before",
                before.id
            );
            if more > less {
                count(&tally.also);
            }
        }
        Ok(())
    });
}
