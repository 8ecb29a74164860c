//! Laws of reading, on files that nobody would write by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod workshop;

use evenfare_files::{Folder, Report, parse_job, parse_tariff};
use miette::{GraphicalReportHandler, GraphicalTheme};
use proptest::prelude::*;
use proptest::sample::Index;
use workshop::{EDITION, JOB, spoiled};

/// Everything that can be done with a report.
fn show(report: &Report, texts: &[(String, Vec<u8>)]) {
    let lines = report.to_string();
    assert!(!lines.chars().any(|c| c.is_control() && c != '\n'), "{lines:?}");
    for mistake in report {
        let text = texts.iter().find(|(name, _)| mistake.file().ends_with(name.as_str()));
        if let (Some((_, text)), Some(line)) = (text, mistake.line()) {
            let lines = text.iter().filter(|byte| **byte == b'\n').count() + 1;
            assert!((1..=lines).contains(&line), "{}", mistake.located());
        }
    }
    let mut picture = String::new();
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor());
    handler.render_report(&mut picture, &report.with_snippets()).unwrap();
}

/// One change of a file.
#[derive(Debug, Clone)]
enum Change {
    Remove(Index, usize),
    Insert(Index, Vec<u8>),
    Double(Index, usize),
}

fn change() -> impl Strategy<Value = Change> {
    let troublemakers = prop_oneof![
        Just(b"\"".to_vec()),
        Just(b",".to_vec()),
        Just(b"\n".to_vec()),
        Just(b"\r".to_vec()),
        Just(b"#".to_vec()),
        Just(b"[".to_vec()),
        Just(b"]]".to_vec()),
        Just(b"=".to_vec()),
        Just(b"{".to_vec()),
        Just(b"\"\"\"".to_vec()),
        Just(b"\\u".to_vec()),
        Just(b"9999999999999999999999999".to_vec()),
        Just("\u{202E}😀ä\u{85}".as_bytes().to_vec()),
        prop::collection::vec(any::<u8>(), 1..4),
    ];
    prop_oneof![
        (any::<Index>(), 1..30_usize).prop_map(|(at, length)| Change::Remove(at, length)),
        (any::<Index>(), troublemakers).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
        (any::<Index>(), 1..200_usize).prop_map(|(at, length)| Change::Double(at, length)),
    ]
}

fn apply(change: &Change, bytes: &mut Vec<u8>) {
    let part = |at: &Index, length: &usize, bytes: &[u8]| {
        let start = at.index(bytes.len() + 1);
        start..(start + length).min(bytes.len())
    };
    match change {
        Change::Remove(at, length) => {
            let range = part(at, length, bytes);
            bytes.drain(range);
        }
        Change::Insert(at, new) => {
            let start = at.index(bytes.len() + 1);
            bytes.splice(start..start, new.iter().copied());
        }
        Change::Double(at, length) => {
            let range = part(at, length, bytes);
            let copy = bytes[range.clone()].to_vec();
            bytes.splice(range.start..range.start, copy);
        }
    }
}

fn files() -> Vec<(String, Vec<u8>)> {
    EDITION.iter().map(|(name, text)| (format!("2026-07/{name}"), text.as_bytes().to_vec())).collect()
}

/// The table with its rows and its columns in another order.
fn reordered(text: &str, rows: &[Index], columns: &[Index]) -> String {
    // No table of the test tariff has a comma or a line feed inside a cell but parts.csv.
    let text = text.replace(", ", "; ");
    let mut table: Vec<Vec<&str>> = text.lines().map(|line| line.split(',').collect()).collect();
    let width = table[0].len();
    for (at, index) in columns.iter().enumerate().take(width) {
        table.iter_mut().for_each(|row| row.swap(at, index.index(width)));
    }
    let length = table.len() - 1;
    for (at, index) in rows.iter().enumerate().take(length) {
        table.swap(at + 1, index.index(length) + 1);
    }
    table.iter().map(|row| row.join(",") + "\n").collect::<String>().replace("; ", ", ")
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200), at in any::<Index>()) {
        let mut files = files();
        let at = at.index(files.len());
        files[at].1.clone_from(&bytes);
        if let Err(report) = parse_tariff(&Folder::from_files("t", files.clone())) {
            show(&report, &files);
        }
        for name in ["job.toml", "job.json"] {
            if let Err(report) = parse_job(name, &bytes) {
                show(&report, &[(name.to_owned(), bytes.clone())]);
            }
        }
    }

    #[test]
    fn spoiled_tariffs_are_read_or_refused(changes in prop::collection::vec((any::<Index>(), change()), 1..8)) {
        let mut files = files();
        for (at, change) in &changes {
            let at = at.index(files.len());
            apply(change, &mut files[at].1);
        }
        match parse_tariff(&Folder::from_files("t", files.clone())) {
            Ok(tariffs) => show(tariffs.warnings(), &files),
            Err(report) => {
                prop_assert!(report.has_errors());
                show(&report, &files);
            }
        }
    }

    #[test]
    fn spoiled_editions_are_read_or_refused(changes in prop::collection::vec(change(), 1..8)) {
        let mut files = files();
        changes.iter().for_each(|change| apply(change, &mut files[0].1));
        if let Err(report) = parse_tariff(&Folder::from_files("t", files.clone())) {
            show(&report, &files);
        }
    }

    #[test]
    fn spoiled_jobs_are_read_or_refused(changes in prop::collection::vec(change(), 1..8)) {
        let json = serde_json::to_string_pretty(&parse_job("job.toml", JOB).unwrap().0).unwrap();
        for (name, text) in [("job.toml", JOB), ("job.json", &json)] {
            let mut bytes = text.as_bytes().to_vec();
            changes.iter().for_each(|change| apply(change, &mut bytes));
            if let Err(report) = parse_job(name, &bytes) {
                prop_assert!(report.has_errors());
                show(&report, &[(name.to_owned(), bytes)]);
            }
        }
    }

    #[test]
    fn order_of_rows_and_columns_does_not_matter(
        rows in prop::collection::vec(any::<Index>(), 8),
        columns in prop::collection::vec(any::<Index>(), 10),
    ) {
        let mut files = files();
        for (name, bytes) in files.iter_mut().filter(|(name, _)| name.ends_with(".csv")) {
            let text = std::str::from_utf8(bytes).unwrap();
            if !name.ends_with("parts.csv") {
                *bytes = reordered(text, &rows, &columns).into_bytes();
            }
        }
        let usual = parse_tariff(&spoiled(&[])).unwrap();
        let other = parse_tariff(&Folder::from_files("tariff", files));
        let other = other.map_err(|report| TestCaseError::fail(report.to_string()))?;
        prop_assert_eq!(format!("{:?}", usual.editions()), format!("{:?}", other.editions()));
    }
}

#[test]
fn what_the_engine_writes_is_read_back() {
    let (job, _) = parse_job("job.toml", JOB).unwrap();
    let json = serde_json::to_string(&job).unwrap();
    assert_eq!(parse_job("job.json", json).unwrap().0, job);
}
