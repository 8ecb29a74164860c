//! Hostile input: huge, negative, below the minor unit, empty, contradictory. Nothing but clear
//! errors may come of it, each with its place, or a price that holds.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

use std::io::Write as _;
use std::path::Path;

use evenfare_engine::job::Job;
use evenfare_engine::tariff::Edition;
use evenfare_engine::{Refused, quote};
use evenfare_files::{Folder, Report, parse_job, parse_tariff};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use serde_json::Value;

const HOSTILE: [&str; 32] = [
    "",
    " ",
    "-1",
    "-0.01",
    "0",
    "0.00",
    "0.00001",
    "0.005",
    "1e9",
    "NaN",
    "inf",
    "+5",
    "1,5",
    "1 000",
    "0x10",
    "999999999",
    "1000000000",
    "1000000000.0001",
    "99999999999999999999999999999999",
    "2026-02-30",
    "1900-01-01",
    "2199-12-31",
    "9999-12-31",
    "0000-00-00",
    "XX",
    "EUR",
    "yes",
    "\u{202e}EUR",
    "\u{0}",
    "P-BRZEG",
    "U1",
    "a text of more than forty characters that is no code of anything",
];

fn bakery() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery")
}

fn files_in(dir: &Path) -> Vec<(String, String)> {
    let mut files: Vec<_> = std::fs::read_dir(dir)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| {
            (
                path.file_name().unwrap().to_string_lossy().into_owned(),
                std::fs::read_to_string(&path).unwrap(),
            )
        })
        .collect();
    files.sort();
    files
}

fn jobs() -> Vec<Job> {
    let files = files_in(&bakery().join("jobs"));
    files.iter().map(|(name, text)| parse_job(name, text).unwrap().0).collect()
}

/// Runs `check` over this many generated cases and says how many.
fn over<S: Strategy>(name: &str, strategy: S, check: impl Fn(S::Value) -> Result<(), TestCaseError>) {
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::default() };
    let cases = config.cases;
    TestRunner::new(config).run(&strategy, check).unwrap_or_else(|failure| panic!("{failure}"));
    writeln!(std::io::stderr().lock(), "{name}: {cases} cases").unwrap();
}

/// Every mistake names its file, a code, and what was expected there.
fn is_clear(report: &Report) -> Result<(), TestCaseError> {
    prop_assert!(report.has_errors(), "a refusal has a mistake");
    for mistake in report.iter() {
        prop_assert!(!mistake.file().is_empty() && !mistake.code().is_empty(), "{mistake:?}");
        prop_assert!(!mistake.expected().is_empty(), "{mistake:?}");
        prop_assert!(mistake.line() != Some(0) && mistake.column() != Some(0), "{mistake:?}");
    }
    Ok(())
}

/// A price, or a refusal that says why.
fn is_priced_or_refused(job: &Job, edition: &Edition) -> Result<(), TestCaseError> {
    match quote(job, edition) {
        Ok(quote) => prop_assert!(quote.main().is_some()),
        Err(Refused::Job(problems)) => {
            prop_assert!(!problems.is_empty());
            for problem in problems {
                prop_assert!(!problem.expected.is_empty() && !problem.place.as_str().is_empty(), "{problem}");
            }
        }
        Err(Refused::TooLarge | Refused::OutOfCalendar | Refused::UnderTheFloor(_)) => {}
        Err(unsealed @ Refused::Unsealed(_)) => prop_assert!(false, "{unsealed:?}"),
    }
    Ok(())
}

#[test]
fn a_cell_of_a_tariff_turned_hostile() {
    let files = files_in(&bakery().join("tariff/2026-07"));
    let jobs = jobs();
    let tables: Vec<usize> = (0..files.len()).filter(|&index| files[index].0.ends_with(".csv")).collect();
    let strategy = (
        prop::sample::select(tables),
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        0..HOSTILE.len(),
    );
    over("a_cell_of_a_tariff_turned_hostile", strategy, |(table, row, column, hostile)| {
        let mut files = files.clone();
        let mut lines: Vec<String> = files[table].1.lines().map(str::to_owned).collect();
        let rows: Vec<usize> = (0..lines.len()).filter(|&line| !lines[line].starts_with('#')).collect();
        let line = rows[row.index(rows.len())];
        let mut cells: Vec<String> = lines[line].split(',').map(str::to_owned).collect();
        let column = column.index(cells.len());
        cells[column] = HOSTILE[hostile].to_owned();
        lines[line] = cells.join(",");
        files[table].1 = lines.join("\n");
        match parse_tariff(&Folder::from_files("tariff", files)) {
            Err(report) => is_clear(&report),
            Ok(tariffs) => {
                let edition = &tariffs.editions()[0];
                jobs.iter()
                    .filter(|job| edition.span().contains(job.received))
                    .try_for_each(|job| is_priced_or_refused(job, edition))
            }
        }
    });
}

/// Every leaf and every key of a JSON value, by path.
fn paths(value: &Value, at: &str, into: &mut Vec<String>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| {
            into.push(format!("{at}/{key}"));
            paths(value, &format!("{at}/{key}"), into);
        }),
        Value::Array(list) => list.iter().enumerate().for_each(|(index, value)| {
            into.push(format!("{at}/{index}"));
            paths(value, &format!("{at}/{index}"), into);
        }),
        _ => {}
    }
}

#[test]
fn a_value_of_a_job_turned_hostile() {
    let files = files_in(&bakery().join("tariff/2026-07"));
    let tariffs = parse_tariff(&Folder::from_files("tariff", files)).unwrap();
    let edition = &tariffs.editions()[0];
    let jobs: Vec<Value> = jobs().iter().map(|job| serde_json::to_value(job).unwrap()).collect();
    let hostile = prop_oneof![
        (0..HOSTILE.len()).prop_map(|index| Value::from(HOSTILE[index])),
        any::<i64>().prop_map(Value::from),
        Just(Value::from(u64::MAX)),
        Just(Value::Null),
        Just(Value::from(true)),
        Just(Value::Array(Vec::new())),
        Just(Value::Object(serde_json::Map::new())),
        Just(Value::from("9".repeat(10_000))),
    ];
    let strategy =
        (prop::sample::select(jobs), prop::collection::vec((any::<prop::sample::Index>(), hostile), 1..3));
    over("a_value_of_a_job_turned_hostile", strategy, |(mut job, changes)| {
        for (place, hostile) in changes {
            let mut all = Vec::new();
            paths(&job, "", &mut all);
            if let Some(value) = job.pointer_mut(&all[place.index(all.len())]) {
                *value = hostile;
            }
        }
        match parse_job("job.json", job.to_string()) {
            Err(report) => is_clear(&report),
            Ok((job, source)) => {
                if let Err(Refused::Job(problems)) = quote(&job, edition) {
                    is_clear(&source.locate(problems))?;
                }
                is_priced_or_refused(&job, edition)
            }
        }
    });
}
