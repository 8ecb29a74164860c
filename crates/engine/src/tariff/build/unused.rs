//! Rows that nothing refers to.

use std::collections::BTreeSet;

use super::tools::Check;
use crate::problem::Place;
use crate::tariff::rows::{Adds, Tariff};
use crate::text::Code;

/// Warns of rows that nothing refers to.
pub(super) fn unused(tariff: &Tariff, check: &mut Check) {
    let steps = tariff.finding_steps.iter().map(|row| (row.adds, &row.code));
    let refreshed = tariff.refresh.iter().map(|row| (row.adds, &row.code));
    let mut used: BTreeSet<(Adds, &Code)> = steps.chain(refreshed).collect();
    used.extend(tariff.families.iter().map(|row| (Adds::Test, &row.test)));
    let mut warn = |table: &str, row: usize, code: &Code, by: &str| {
        check.warning(
            Place::row(table, row).at("code"),
            "unused_row",
            code,
            format_args!("a code that {by} uses"),
        );
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
    let benches =
        tariff.operations.iter().map(|row| &row.grade).chain(tariff.tests.iter().map(|row| &row.grade));
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
            check.warning(
                Place::row("refresh", row).at("list"),
                "unused_row",
                &refresh.list,
                "a list that a family uses",
            );
        }
    }
}
