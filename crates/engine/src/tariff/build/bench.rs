//! The bench's tables: grades, parts, operations, tests, findings, refresh lists, families.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::tools::Check;
use crate::money::{Net, Percent, Quantity};
use crate::problem::Place;
use crate::tariff::entries::{
    CatalogueFinding, Due, Family, FlatPrice, Grade, Operation, Part, RefreshList, RefreshStep, Step, Table, Test,
    Wear,
};
use crate::tariff::rows::{
    Adds, FindingRow, FindingStepRow, GradeRow, Method, OperationRow, PartRow, PriceBreakRow, RefreshRow, Tariff,
    TestRow, Trigger, WearModel, WearRow,
};
use crate::text::Code;

/// A working day of two weeks round the clock: no step at the bench is longer.
const MOST_MINUTES: u32 = 20_160;

/// What a step may refer to.
pub(super) struct Catalogue<'t> {
    pub(super) parts: &'t Table<Part>,
    pub(super) operations: &'t Table<Operation>,
    pub(super) tests: &'t Table<Test>,
}

fn minutes(check: &mut Check, place: Place, minutes: u32) {
    if minutes > MOST_MINUTES {
        check.error(place, "too_long", minutes, format_args!("at most {MOST_MINUTES} minutes"));
    }
}

pub(super) fn grades(rows: &[GradeRow], check: &mut Check) -> Table<Grade> {
    let sorted = check.sorted("grades", rows, |row| &row.code);
    Table::from_sorted(sorted.into_iter().enumerate().map(|(rank, (_, row))| Grade {
        rank,
        code: row.code.clone(),
        text: row.text.clone(),
        rate_per_hour: row.rate_per_hour,
    }))
}

pub(super) fn parts(
    rows: &[PartRow],
    break_rows: &[PriceBreakRow],
    grades: &Table<Grade>,
    check: &mut Check,
) -> Table<Part> {
    let mut breaks: BTreeMap<&Code, Vec<(Quantity, usize)>> = BTreeMap::new();
    for (index, row) in break_rows.iter().enumerate() {
        breaks.entry(&row.part).or_default().push((row.from_quantity, index));
        if !rows.iter().any(|part| part.code == row.part) {
            check.error(Place::row("price_breaks", index).at("part"), "unknown_part", &row.part, "a code of parts.csv");
        }
    }
    let sorted = check.sorted("parts", rows, |row| &row.code);
    let mut parts = Vec::with_capacity(sorted.len());
    for (rank, (place, row)) in sorted.into_iter().enumerate() {
        minutes(check, place.at("fit_minutes"), row.fit_minutes);
        let fitting = match (&row.fit_grade, row.fit_minutes) {
            (Some(grade), 1..) => check
                .reference(place.at("fit_grade"), "unknown_grade", grade, grades, "grades.csv")
                .map(|grade| (row.fit_minutes, grade)),
            (None, 0) => None,
            (None, 1..) => {
                check.error(place.at("fit_grade"), "missing_grade", "", "the grade whose minutes they are");
                None
            }
            (Some(grade), 0) => {
                check.error(place.at("fit_grade"), "grade_without_minutes", grade, "no grade where there are no minutes");
                None
            }
        };
        let mut ladder = breaks.remove(&row.code).unwrap_or_default();
        ladder.sort();
        let mut steps: Vec<(Quantity, crate::money::UnitPrice)> = Vec::with_capacity(ladder.len());
        for (from, index) in ladder {
            let Some(step) = break_rows.get(index) else { continue };
            let at = Place::row("price_breaks", index);
            let before = steps.last().map_or(row.unit_cost, |&(_, cost)| cost);
            if from.is_zero() {
                check.error(at.at("from_quantity"), "break_at_nothing", from, "a quantity above zero");
            } else if steps.last().is_some_and(|&(last, _)| last == from) {
                check.error(at.at("from_quantity"), "given_twice", from, "each quantity once for a part");
            } else if step.unit_cost > before {
                check.error(at.at("unit_cost"), "dearer_in_bulk", step.unit_cost, format_args!("at most {before}, what a smaller quantity costs"));
            }
            steps.push((from, step.unit_cost));
        }
        parts.push(Part {
            rank,
            code: row.code.clone(),
            text: row.text.clone(),
            unit_cost: row.unit_cost,
            breaks: steps,
            fitting,
        });
    }
    Table::from_sorted(parts)
}

pub(super) fn operations(rows: &[OperationRow], grades: &Table<Grade>, check: &mut Check) -> Table<Operation> {
    let sorted = check.sorted("operations", rows, |row| &row.code);
    let mut operations = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        minutes(check, place.at("minutes"), row.minutes);
        let grade = check.reference(place.at("grade"), "unknown_grade", &row.grade, grades, "grades.csv");
        let rank = operations.len();
        if let Some(grade) = grade {
            operations.push(Operation {
                rank,
                code: row.code.clone(),
                text: row.text.clone(),
                grade,
                minutes: row.minutes,
                once: row.once,
            });
        }
    }
    Table::from_sorted(operations)
}

pub(super) fn tests(rows: &[TestRow], grades: &Table<Grade>, check: &mut Check) -> Table<Test> {
    let sorted = check.sorted("tests", rows, |row| &row.code);
    let mut tests = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        minutes(check, place.at("attended_minutes"), row.attended_minutes);
        let grade = check.reference(place.at("grade"), "unknown_grade", &row.grade, grades, "grades.csv");
        let rank = tests.len();
        if let Some(grade) = grade {
            tests.push(Test {
                rank,
                code: row.code.clone(),
                text: row.text.clone(),
                bench_hours: row.bench_hours,
                bench_rate: row.bench_rate,
                attended_minutes: row.attended_minutes,
                grade,
                power_kw: row.power_kw,
            });
        }
    }
    Table::from_sorted(tests)
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
            let part = check.reference(place.at("code"), "unknown_part", code, catalogue.parts, "parts.csv")?;
            Some(Step::Part { part, quantity: quantity.unwrap_or(one), position: position.cloned() })
        }
        Adds::Operation => {
            let operation =
                check.reference(place.at("code"), "unknown_operation", code, catalogue.operations, "operations.csv")?;
            Some(Step::Operation { operation, times: quantity.unwrap_or(one) })
        }
        Adds::Test => {
            let test = check.reference(place.at("code"), "unknown_test", code, catalogue.tests, "tests.csv")?;
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
            check.error(place.at("finding"), "unknown_finding", &row.finding, "a code of findings.csv");
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
            check.warning(place.at("code"), "finding_without_steps", &row.code, "at least one row in finding_steps.csv");
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

pub(super) fn wear(rows: &[WearRow], check: &mut Check) -> Table<Wear> {
    let sorted = check.sorted("wear", rows, |row| &row.code);
    let mut models = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        let capacitor = row.model == WearModel::Capacitor;
        let mut needed = |field: &str, given: bool, of_this_model: bool| match (given, of_this_model) {
            (false, true) => check.error(place.at(field), "missing_wear_value", "", "a value for this wear model"),
            (true, false) => check.error(place.at(field), "wear_value_of_the_other_model", "a value", "nothing for this wear model"),
            _ => {}
        };
        needed("rated_hours", row.rated_hours.is_some(), capacitor);
        needed("rated_celsius", row.rated_celsius.is_some(), capacitor);
        needed("service_celsius", row.service_celsius.is_some(), capacitor);
        needed("b10d", row.b10d.is_some(), !capacitor);
        needed("operations_per_cycle", row.operations_per_cycle.is_some(), !capacitor);
        if row.rated_hours == Some(0) {
            check.error(place.at("rated_hours"), "no_life", row.rated_hours, "hours above zero");
        }
        if row.b10d.is_some_and(|b10d| b10d == 0 || b10d > 1_000_000_000_000) {
            check.error(place.at("b10d"), "no_life", row.b10d, "1 to 1000000000000 operations");
        }
        for (field, celsius) in [("rated_celsius", row.rated_celsius), ("service_celsius", row.service_celsius)] {
            if celsius.is_some_and(|c| !(-100..=300).contains(&c)) {
                check.error(place.at(field), "no_such_temperature", celsius.map(|c| c.to_string()), "-100 to 300 degrees Celsius");
            }
        }
        let kelvin = row.rated_celsius.unwrap_or(0).saturating_sub(row.service_celsius.unwrap_or(0));
        models.push(Wear {
            code: row.code.clone(),
            model: row.model,
            rated_hours: row.rated_hours.unwrap_or(1),
            kelvin_below_rating: kelvin.clamp(-400, 400),
            b10d: row.b10d.unwrap_or(1).max(1),
            operations_per_cycle: row.operations_per_cycle.unwrap_or_default(),
        });
    }
    Table::from_sorted(models)
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
        check.error(place.at("wear"), "wear_without_trigger", row.wear.as_ref(), "a wear model only where the trigger is wear");
    }
    if row.trigger == Trigger::Always {
        if row.threshold.is_some() {
            check.error(place.at("threshold"), "threshold_of_always", row.threshold, "nothing where the trigger is always");
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
    let whole = threshold.scaled().checked_div(1_000).filter(|w| w.checked_mul(1_000) == Some(threshold.scaled()));
    let Some(whole) = whole else {
        check.error(place.at("threshold"), "broken_threshold", threshold, "a whole number of cycles or years");
        return None;
    };
    match row.trigger {
        Trigger::Cycles => u64::try_from(whole).ok().map(Due::Cycles),
        _ => u32::try_from(whole).ok().map(Due::Years),
    }
}

pub(super) fn families(
    tariff: &Tariff,
    tests: &Table<Test>,
    refresh: &Table<RefreshList>,
    check: &mut Check,
) -> Table<Family> {
    let mut flat_prices: BTreeMap<&Code, Vec<Arc<FlatPrice>>> = BTreeMap::new();
    for (index, row) in tariff.flat_prices.iter().enumerate() {
        let place = Place::row("flat_prices", index);
        let net = check.minor(place.at("net"), row.net);
        match tariff.families.iter().find(|family| family.code == row.family) {
            None => check.error(place.at("family"), "unknown_family", &row.family, "a code of families.csv"),
            Some(family) if family.method != Method::Flat => {
                check.error(place.at("family"), "flat_price_of_built_up_family", &row.family, "a family whose method is flat");
            }
            Some(_) => {}
        }
        let classes = flat_prices.entry(&row.family).or_default();
        if classes.iter().any(|price| price.class == row.class) {
            check.error(place.at("class"), "given_twice", &row.class, "each class once for a family");
        } else {
            classes.push(Arc::new(FlatPrice { class: row.class.clone(), text: row.text.clone(), net }));
        }
    }
    let sorted = check.sorted("families", &tariff.families, |row| &row.code);
    let mut families = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        let test = check.reference(place.at("test"), "unknown_test", &row.test, tests, "tests.csv");
        let refresh = row.refresh.as_ref().and_then(|code| {
            check.reference(place.at("refresh"), "unknown_refresh_list", code, refresh, "refresh.csv")
        });
        let exchange = match (row.exchange_cost, row.exchange_net) {
            (Some(cost), Some(net)) => Some((cost, check.minor(place.at("exchange_net"), net))),
            (None, None) => None,
            (Some(_), None) => {
                check.error(place.at("exchange_net"), "half_an_exchange", "", "what an exchange unit is sold at, beside its cost");
                None
            }
            (None, Some(_)) => {
                check.error(place.at("exchange_cost"), "half_an_exchange", "", "what an exchange unit costs, beside its price");
                None
            }
        };
        if let Some(months) = row.warranty_months {
            check.months(place.at("warranty_months"), months);
        }
        if row.duty_hours_per_day > 24 {
            check.error(place.at("duty_hours_per_day"), "long_day", row.duty_hours_per_day, "at most 24 hours");
        }
        let mut prices = flat_prices.remove(&row.code).unwrap_or_default();
        prices.sort_by(|a, b| a.class.cmp(&b.class));
        if row.method == Method::Flat && !prices.iter().any(|price| price.class.as_str() == "standard") {
            check.error(place.at("method"), "no_standard_price", "flat", "a row of class `standard` in flat_prices.csv");
        }
        let replacement_value = check.minor(place.at("replacement_value"), row.replacement_value);
        if replacement_value == Net::ZERO {
            check.warning(place.at("replacement_value"), "no_replacement_value", row.replacement_value, "what a new one costs; every repair counts as uneconomic");
        }
        let rank = families.len();
        if let Some(test) = test {
            families.push(Family {
                rank,
                code: row.code.clone(),
                text: row.text.clone(),
                method: row.method,
                test,
                refresh,
                replacement_value,
                exchange,
                warranty_months: row.warranty_months.unwrap_or(tariff.terms.warranty_months),
                duty_hours_per_day: row.duty_hours_per_day,
                flat_prices: prices,
            });
        }
    }
    Table::from_sorted(families)
}

/// Warns of rows that nothing refers to.
pub(super) fn unused(tariff: &Tariff, check: &mut Check) {
    let steps = tariff.finding_steps.iter().map(|row| (row.adds, &row.code));
    let refreshed = tariff.refresh.iter().map(|row| (row.adds, &row.code));
    let mut used: BTreeSet<(Adds, &Code)> = steps.chain(refreshed).collect();
    used.extend(tariff.families.iter().map(|row| (Adds::Test, &row.test)));
    let mut warn = |table: &str, row: usize, code: &Code, by: &str| {
        check.warning(Place::row(table, row).at("code"), "unused_row", code, format_args!("a code that {by} uses"));
    };
    for (row, part) in tariff.parts.iter().enumerate() {
        if !used.contains(&(Adds::Part, &part.code)) {
            warn("parts", row, &part.code, "a finding or a refresh list");
        }
    }
    for (row, operation) in tariff.operations.iter().enumerate() {
        if !used.contains(&(Adds::Operation, &operation.code)) {
            warn("operations", row, &operation.code, "a finding or a refresh list");
        }
    }
    for (row, test) in tariff.tests.iter().enumerate() {
        if !used.contains(&(Adds::Test, &test.code)) {
            warn("tests", row, &test.code, "a family or a finding");
        }
    }
    for (row, wear) in tariff.wear.iter().enumerate() {
        if !tariff.refresh.iter().any(|r| r.wear.as_ref() == Some(&wear.code)) {
            warn("wear", row, &wear.code, "a refresh list");
        }
    }
    let fitters = tariff.parts.iter().filter_map(|row| row.fit_grade.as_ref());
    let benches = tariff.operations.iter().map(|row| &row.grade).chain(tariff.tests.iter().map(|row| &row.grade));
    let graded: BTreeSet<&Code> = fitters.chain(benches).chain([&tariff.inspection.grade]).collect();
    for (row, grade) in tariff.grades.iter().enumerate() {
        if !graded.contains(&grade.code) {
            warn("grades", row, &grade.code, "a part, an operation or a test");
        }
    }
    let mut lists: BTreeSet<&Code> = BTreeSet::new();
    for (row, refresh) in tariff.refresh.iter().enumerate() {
        let known = tariff.families.iter().any(|family| family.refresh.as_ref() == Some(&refresh.list));
        if !known && lists.insert(&refresh.list) {
            check.warning(Place::row("refresh", row).at("list"), "unused_row", &refresh.list, "a list that a family uses");
        }
    }
}
