//! What is done to a unit, and what of it is free.

use evenfare_engine::flag::Flag;
use evenfare_engine::job::{Finding, Job, Returned};
use evenfare_engine::quote::Offer;
use evenfare_engine::tariff::{
    Adds, Cover, FindingRow, FindingStepRow, OperationRow, PartRow, Tariff, Trigger,
};

use super::{charged, main_of, price, refreshed};
use crate::worlds::{code, day};

/// The steps of the first unit's plan: code, quantity, why.
fn plan(offer: &Offer) -> Vec<(&str, &str, String)> {
    let steps = offer.units[0].plan.iter();
    steps.map(|step| (step.code.as_str(), step.quantity.as_str(), step.why.to_string())).collect()
}

#[test]
fn what_cannot_be_read_counts_as_worn_and_is_told() {
    let (mut tariff, mut job) = charged("100");
    tariff.parts.push(PartRow { code: code("B"), ..tariff.parts[0].clone() });
    let cycles = refreshed(&mut tariff, Trigger::Cycles, "100");
    let mut years = refreshed(&mut tariff, Trigger::Years, "5");
    years.code = code("B");
    tariff.refresh = vec![cycles, years];
    let mut check = |cycles: Option<u64>, built: bool, not_known: &[&str]| {
        job.units[0].cycles = cycles;
        job.units[0].built = built.then(|| day(2020, 1, 1));
        let offer = main_of(&tariff, &job);
        let told: Vec<&str> = plan(&offer)
            .into_iter()
            .filter(|(_, _, why)| why.contains("not known, so taken for due"))
            .map(|(code, ..)| code)
            .collect();
        assert_eq!(told, not_known, "{cycles:?} {built}");
        assert_eq!(plan(&offer).len(), 3, "both parts and the test: {:?}", plan(&offer));
        assert_eq!(offer.flags.contains(&Flag::WearUnknown), !not_known.is_empty(), "{cycles:?} {built}");
    };
    check(Some(100), true, &[]);
    check(Some(100), false, &["B"]);
    check(None, true, &["AP-0"]);
    // Two that are not known are no more known than one.
    check(None, false, &["AP-0", "B"]);
}

/// A finding that asks for a part, at its own place.
fn found(tariff: &mut Tariff, name: &str, warranty: Cover) {
    tariff.findings.push(FindingRow { code: code(name), text: name.parse().unwrap(), warranty });
    tariff.finding_steps.push(FindingStepRow {
        finding: code(name),
        adds: Adds::Part,
        code: tariff.parts[0].code.clone(),
        quantity: None,
        position: None,
    });
}

fn at(name: &str, position: &str) -> Finding {
    Finding { code: code(name), position: Some(code(position)), quantity: None }
}

fn came_back(job: &mut Job) {
    job.units[0].returned = Some(Returned {
        quote: code("Q-1"),
        dispatched: job.received,
        warranty_months: 12,
        warranty_cycles: None,
        cycles_at_dispatch: None,
    });
}

#[test]
fn a_warranty_that_leaves_something_free_is_told() {
    let (mut tariff, mut job) = charged("0");
    tariff.parts[0].unit_cost = price("1");
    found(&mut tariff, "DRY", Cover::Covered);
    found(&mut tariff, "WET", Cover::Excluded);
    came_back(&mut job);
    let mut check = |findings: &[Finding], net: i64, expect: bool| {
        job.units[0].findings = findings.to_vec();
        let offer = main_of(&tariff, &job);
        assert_eq!(offer.end.net.minor(), net, "{findings:?}");
        assert_eq!(offer.flags.contains(&Flag::UnderWarranty), expect, "{findings:?}");
        assert!(offer.units[0].open_cover.is_some());
    };
    // All is free, also where all that there is costs nothing.
    check(&[], 0, true);
    check(&[at("DRY", "K1")], 0, true);
    // One of two pieces: no line is free, and one is charged for less than it costs.
    check(&[at("DRY", "K1"), at("WET", "K2")], 100, true);
    // Nothing that was found is covered.
    check(&[at("WET", "K2")], 100, false);
}

#[test]
fn an_operation_marked_once_is_planned_once() {
    let (mut tariff, mut job) = charged("100");
    for (name, once) in [("CLEAN", true), ("SOLDER", false)] {
        tariff.operations.push(OperationRow {
            code: code(name),
            text: name.parse().unwrap(),
            grade: tariff.grades[0].code.clone(),
            minutes: 10,
            once,
        });
        tariff.finding_steps.push(FindingStepRow {
            finding: tariff.findings[0].code.clone(),
            adds: Adds::Operation,
            code: code(name),
            quantity: "1.5".parse().ok(),
            position: None,
        });
    }
    let name = tariff.findings[0].code.as_str();
    job.units[0].findings = vec![at(name, "K1"), at(name, "K2")];
    let offer = main_of(&tariff, &job);
    let why = format!("finding {name} at K1; finding {name} at K2");
    let done = plan(&offer);
    assert!(done.contains(&("CLEAN", "1", why.clone())) && done.contains(&("SOLDER", "3", why)), "{done:?}");
    let minutes = offer.costs.iter().find(|cost| cost.id == "U1/labour/AG-0").unwrap();
    assert_eq!(minutes.quantity, "40 min");
}
