//! Findings, refresh lists, and the steps both are made of.

use std::collections::BTreeMap;

use super::tools::Check;
use crate::money::{Percent, Quantity};
use crate::problem::Place;
use crate::tariff::entries::{
    CatalogueFinding, Due, Operation, Part, RefreshList, RefreshStep, Step, Table, Test, Wear,
};
use crate::tariff::rows::{Adds, FindingRow, FindingStepRow, RefreshRow, Trigger};
use crate::text::Code;

/// What a step may refer to.
pub(super) struct Catalogue<'t> {
    pub(super) parts: &'t Table<Part>,
    pub(super) operations: &'t Table<Operation>,
    pub(super) tests: &'t Table<Test>,
}

fn step(
    place: &Place,
    (adds, code, quantity, position): (Adds, &Code, Option<Quantity>, Option<&Code>),
    catalogue: &Catalogue<'_>,
    check: &mut Check,
) -> Option<Step> {
    let one = Quantity::from_scaled(1_000).unwrap_or_default();
    if quantity.is_some_and(Quantity::is_zero) {
        check.error(place.at("quantity"), "nothing_of_it", quantity, "a quantity above zero");
    }
    if adds != Adds::Part && position.is_some() {
        check.error(place.at("position"), "position_without_part", position, "a position for parts only");
    }
    match adds {
        Adds::Part => {
            let part =
                check.reference(place.at("code"), "unknown_part", code, catalogue.parts, "parts.csv")?;
            Some(Step::Part { part, quantity: quantity.unwrap_or(one), position: position.cloned() })
        }
        Adds::Operation => {
            let operation = check.reference(
                place.at("code"),
                "unknown_operation",
                code,
                catalogue.operations,
                "operations.csv",
            )?;
            Some(Step::Operation { operation, times: quantity.unwrap_or(one) })
        }
        Adds::Test => {
            let test =
                check.reference(place.at("code"), "unknown_test", code, catalogue.tests, "tests.csv")?;
            let bench_hours = quantity.unwrap_or(test.bench_hours);
            Some(Step::Test { test, bench_hours })
        }
    }
}

pub(super) fn findings(
    rows: &[FindingRow],
    step_rows: &[FindingStepRow],
    catalogue: &Catalogue<'_>,
    check: &mut Check,
) -> Table<CatalogueFinding> {
    let mut steps: BTreeMap<&Code, Vec<(String, Step)>> = BTreeMap::new();
    for (index, row) in step_rows.iter().enumerate() {
        let place = Place::row("finding_steps", index);
        if !rows.iter().any(|finding| finding.code == row.finding) {
            let known = rows.iter().map(|finding| &finding.code);
            check.unknown(place.at("finding"), "unknown_finding", &row.finding, known, "findings.csv");
        }
        let fields = (row.adds, &row.code, row.quantity, row.position.as_ref());
        if let Some(step) = step(&place, fields, catalogue, check) {
            let order = format!("{:?} {} {:?} {:?}", row.adds, row.code, row.position, row.quantity);
            steps.entry(&row.finding).or_default().push((order, step));
        }
    }
    let sorted = check.sorted("findings", rows, |row| &row.code);
    let mut findings = Vec::with_capacity(sorted.len());
    for (rank, (place, row)) in sorted.into_iter().enumerate() {
        let mut steps = steps.remove(&row.code).unwrap_or_default();
        if steps.is_empty() {
            check.warning(
                place.at("code"),
                "finding_without_steps",
                &row.code,
                "at least one row in finding_steps.csv",
            );
        }
        steps.sort_by(|a, b| a.0.cmp(&b.0));
        findings.push(CatalogueFinding {
            rank,
            code: row.code.clone(),
            text: row.text.clone(),
            warranty: row.warranty,
            steps: steps.into_iter().map(|(_, step)| step).collect(),
        });
    }
    Table::from_sorted(findings)
}

pub(super) fn refresh_lists(
    rows: &[RefreshRow],
    wear: &Table<Wear>,
    catalogue: &Catalogue<'_>,
    check: &mut Check,
) -> Table<RefreshList> {
    let mut lists: BTreeMap<&Code, Vec<(String, RefreshStep)>> = BTreeMap::new();
    for (index, row) in rows.iter().enumerate() {
        let place = Place::row("refresh", index);
        let due = due(&place, row, wear, check);
        if row.adds == Adds::Test {
            check.error(place.at("adds"), "test_in_refresh_list", "test", "part or operation");
            continue;
        }
        let fields = (row.adds, &row.code, row.quantity, row.position.as_ref());
        let step = step(&place, fields, catalogue, check);
        let list = lists.entry(&row.list).or_default();
        if let (Some(due), Some(step)) = (due, step) {
            let order = format!(
                "{:?} {} {:?} {:?} {:?} {:?} {:?}",
                row.adds, row.code, row.position, row.quantity, row.trigger, row.threshold, row.wear
            );
            list.push((order, RefreshStep { due, step }));
        }
    }
    Table::from_sorted(lists.into_iter().map(|(code, mut steps)| {
        steps.sort_by(|a, b| a.0.cmp(&b.0));
        RefreshList { code: code.clone(), steps: steps.into_iter().map(|(_, step)| step).collect() }
    }))
}

fn due(place: &Place, row: &RefreshRow, wear: &Table<Wear>, check: &mut Check) -> Option<Due> {
    if row.trigger != Trigger::Wear && row.wear.is_some() {
        check.error(
            place.at("wear"),
            "wear_without_trigger",
            row.wear.as_ref(),
            "a wear model only where the trigger is wear",
        );
    }
    if row.trigger == Trigger::Always {
        if row.threshold.is_some() {
            check.error(
                place.at("threshold"),
                "threshold_of_always",
                row.threshold,
                "nothing where the trigger is always",
            );
        }
        return Some(Due::Always);
    }
    let Some(threshold) = row.threshold else {
        check.error(place.at("threshold"), "missing_threshold", "", "from how many cycles, years or percent");
        return None;
    };
    if row.trigger == Trigger::Wear {
        let Some(code) = &row.wear else {
            check.error(place.at("wear"), "missing_wear", "", "a code of wear.csv");
            return None;
        };
        let model = check.reference(place.at("wear"), "unknown_wear", code, wear, "wear.csv")?;
        let percent = threshold.scaled().checked_mul(10).and_then(|scaled| Percent::from_scaled(scaled).ok());
        let Some(percent) = percent else {
            check.error(place.at("threshold"), "too_many_percent", threshold, "at most 1000 percent");
            return None;
        };
        return Some(Due::Wear(model, percent));
    }
    let whole =
        threshold.scaled().checked_div(1_000).filter(|w| w.checked_mul(1_000) == Some(threshold.scaled()));
    let Some(whole) = whole else {
        check.error(
            place.at("threshold"),
            "broken_threshold",
            threshold,
            "a whole number of cycles or years",
        );
        return None;
    };
    match row.trigger {
        Trigger::Cycles => u64::try_from(whole).ok().map(Due::Cycles),
        _ => u32::try_from(whole).ok().map(Due::Years),
    }
}
