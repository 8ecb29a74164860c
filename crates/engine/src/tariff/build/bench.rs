//! The bench's tables: grades, parts, operations and test programmes.

use std::collections::BTreeMap;

use super::tools::Check;
use crate::money::Quantity;
use crate::problem::Place;
use crate::tariff::entries::{Grade, Operation, Part, Table, Test};
use crate::tariff::rows::{GradeRow, OperationRow, PartRow, PriceBreakRow, TestRow};
use crate::text::Code;

/// A working day of two weeks round the clock: no step at the bench is longer.
const MOST_MINUTES: u32 = 20_160;

/// Minutes of somebody's time.
pub(super) fn minutes(check: &mut Check, place: Place, minutes: u32) {
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
            let (place, known) = (Place::row("price_breaks", index), rows.iter().map(|part| &part.code));
            check.unknown(place.at("part"), "unknown_part", &row.part, known, "parts.csv");
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
                check.error(
                    place.at("fit_grade"),
                    "grade_without_minutes",
                    grade,
                    "no grade where there are no minutes",
                );
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
                check.error(
                    at.at("unit_cost"),
                    "dearer_in_bulk",
                    step.unit_cost,
                    format_args!("at most {before}, what a smaller quantity costs"),
                );
            }
            steps.push((from, step.unit_cost));
        }
        parts.push(Part {
            rank,
            code: row.code.clone(),
            text: row.text.clone(),
            unit: row.unit,
            unit_cost: row.unit_cost,
            breaks: steps,
            fitting,
        });
    }
    Table::from_sorted(parts)
}

pub(super) fn operations(
    rows: &[OperationRow],
    grades: &Table<Grade>,
    check: &mut Check,
) -> Table<Operation> {
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
