//! Tariffs and jobs at the edge of what they may say: the last that is sound, and the first that is told.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod jobs;
mod rules;
mod trade;
#[path = "../workshop/mod.rs"]
mod workshop;

use evenfare_files::{Report, parse_job, parse_tariff};
use workshop::{JOB, spoiled};

/// What a report says, without its words: `file:line:column: error[code]`.
fn told(report: &Report) -> Vec<String> {
    let short = |line: &str| {
        let line = line.strip_prefix("tariff/2026-07/").unwrap_or(line);
        line.split_once("]: ").map_or_else(|| line.to_owned(), |(head, _)| format!("{head}]"))
    };
    report.to_string().lines().map(short).collect()
}

/// The sound edition with these changes, `file, from, to`, and what is told of it.
fn check(changes: &[(&str, &str, &str)], expect: &[&str]) {
    let report = match parse_tariff(&spoiled(changes)) {
        Ok(tariffs) => {
            assert!(!tariffs.warnings().has_errors(), "{changes:?}");
            tariffs.warnings().clone()
        }
        Err(report) => report,
    };
    assert_eq!(told(&report), expect, "{changes:?}\n{report}");
}

/// One value of the sound edition: nothing is told of those `within`, and that of each of those `beyond`.
fn check_edge((file, from): (&str, &str), within: &[&str], beyond: &[&str], expect: &str) {
    for to in within {
        check(&[(file, from, to)], &[]);
    }
    for to in beyond {
        check(&[(file, from, to)], &[expect]);
    }
}

/// The sound job with these changes, `from, to`, priced by the edition with those, and what is told of it.
fn check_job(edition: &[(&str, &str, &str)], changes: &[(&str, &str)], expect: &[&str]) {
    let tariffs = parse_tariff(&spoiled(edition)).unwrap();
    let text = changes.iter().fold(String::from(JOB), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    });
    let (job, source) = parse_job("job.toml", &text).unwrap();
    let edition = tariffs.on(job.received).unwrap_or(&tariffs.editions()[0]);
    let report = source.locate(evenfare_engine::check(&job, edition));
    assert_eq!(told(&report), expect, "{changes:?}\n{report}");
    match evenfare_engine::quote(&job, edition) {
        Ok(quote) => assert_eq!(quote.offers.len(), job.alternatives.len() + 1, "{changes:?}"),
        Err(refused) => assert!(!expect.is_empty(), "{changes:?}: {refused}"),
    }
}
