//! Laws of reading, on files that nobody would write by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod workshop;

use std::collections::BTreeSet;
use std::sync::LazyLock;

use evenfare_files::{Folder, Report, Tariffs, parse_job, parse_job_for, parse_tariff};
use miette::{GraphicalReportHandler, GraphicalTheme};
use proptest::prelude::*;
use proptest::sample::Index;
use workshop::{EDITION, JOB, LETTERHEAD, LOGO, TEXTS, spoiled};

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

/// The tariff of the tests.
fn tariffs() -> &'static Tariffs {
    static TARIFFS: LazyLock<Tariffs> = LazyLock::new(|| parse_tariff(&spoiled(&[])).unwrap());
    &TARIFFS
}

/// A job in which every key may be spoilt: two units, a unit that comes back, an alternative.
const FULL_JOB: &str = r#"reference = "J-1"
received = 2026-07-14
tax_date = 2026-08-01
dispatch = 2026-07-30
currency = "CHF"
route = [{ partner = "P-1", takes_over = ["removal"] }]
extras = ["URGENT"]
[customer]
name = "Mill"
postcode = "25938"
country = "DE"
vat_id = "DE111111117"
business = true
[[units]]
id = "A"
family = "PANEL"
serial = "1"
declared_value = "1200"
cycles = 1000
built = 2016-03-01
task = "refresh"
class = "standard"
parcels = [{ length_cm = 60, width_cm = 40, height_cm = 30, weight_kg = 12 }]
findings = [{ code = "DEAD-CAP", position = "C1", quantity = 2 }]
returned = { quote = "Q-1", dispatched = 2025-07-01, warranty_months = 24, warranty_cycles = 900, cycles_at_dispatch = 500 }
[[units]]
id = "B"
family = "DRV-A"
serial = "2"
declared_value = "900"
[[alternatives]]
id = "OTHER"
changes = [{ unit = "A", task = "exchange", findings = [{ code = "DEAD-CAP" }] }]
"#;

/// Values that the engine will not have.
const WRONG: &[(&str, &str)] = &[
    ("\"CHF\"", "\"USD\""),
    ("\"P-1\"", "\"P-2\""),
    ("\"removal\"", "\"diagnosis\""),
    ("\"URGENT\"", "\"LATER\""),
    ("\"25938\"", "\"\""),
    ("country = \"DE\"", "country = \"AT\""),
    ("\"DE111111117\"", "\"DE111111111\""),
    ("business = true", "business = false"),
    ("id = \"A\"", "id = \"B\""),
    ("\"PANEL\"", "\"PANAL\""),
    ("\"DRV-A\"", "\"DRV-B\""),
    ("\"standard\"", "\"deluxe\""),
    ("2016-03-01", "2027-03-01"),
    ("weight_kg = 12", "weight_kg = 9000"),
    ("length_cm = 60", "length_cm = 0"),
    ("quantity = 2", "quantity = 0"),
    ("2025-07-01", "2026-09-01"),
    ("cycles_at_dispatch = 500", "cycles_at_dispatch = 5000"),
    ("unit = \"A\"", "unit = \"C\""),
    ("\"exchange\", findings", "\"decline\", findings"),
    ("dispatch = 2026-07-30", "dispatch = 2026-07-01"),
    ("tax_date = 2026-08-01", "tax_date = 2010-08-01"),
    ("id = \"OTHER\"", "id = \"main\""),
];

/// What is refused while it is read: a key, and what stands there instead of its value.
const UNREADABLE: &[(&str, &str)] = &[
    ("\nreference = ", "5"),
    ("\nreceived = ", "\"today\""),
    ("\ndispatch = ", "\"soon\""),
    ("\ntax_date = ", "true"),
    ("\ncurrency = ", "\"francs\""),
    ("\nroute = ", "\"P-1\""),
    ("\nroute = ", "[7]"),
    ("{ partner = ", "\"P 1\""),
    ("takes_over = ", "[\"all\"]"),
    ("\nextras = ", "[{}]"),
    ("\nname = ", "7"),
    ("\npostcode = ", "25938"),
    ("\ncountry = ", "\"Germany\""),
    ("\nvat_id = ", "111"),
    ("\nbusiness = ", "\"yes\""),
    ("\nid = ", "\"A 1\""),
    ("\nfamily = ", "\"a panel\""),
    ("\ndeclared_value = ", "\"1,2\""),
    ("\ncycles = ", "\"many\""),
    ("\nbuilt = ", "2016"),
    ("\ntask = ", "\"repair\""),
    ("\nclass = ", "\"first class\""),
    ("\nparcels = ", "3"),
    ("\nparcels = ", "[4]"),
    ("length_cm = ", "\"6,0\""),
    ("weight_kg = ", "0.5"),
    ("\nfindings = [{ code = ", "\"DEAD CAP\""),
    ("position = ", "\"C 1\""),
    ("quantity = ", "\"2\""),
    ("\nreturned = ", "true"),
    ("dispatched = ", "\"?\""),
    ("warranty_months = ", "-1"),
    ("warranty_cycles = ", "\"none\""),
    ("cycles_at_dispatch = ", "1.5"),
    ("\nchanges = ", "0"),
    ("{ unit = ", "\"A 1\""),
    ("\"A\", task = ", "\"swap\""),
];

/// The text with another value at that key; as it is where the key went with another.
fn with_value(text: &str, key: &str, value: &str) -> String {
    let text = format!("\n{text}");
    let Some(start) = text.find(key).map(|at| at + key.len()) else { return text };
    // On a line of its own the value runs to the end of it.
    let ends: &[char] = if key.starts_with('\n') && !key.contains('{') { &['\n'] } else { &[',', '}', '\n'] };
    let end = start + text[start..].find(ends).unwrap();
    format!("{}{value}{}", &text[..start], &text[end..])
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
    let written = [("letterhead.toml", LETTERHEAD), ("mark.svg", LOGO), ("texts.csv", TEXTS)];
    let files = EDITION.iter().copied().chain(written);
    files.map(|(name, text)| (format!("2026-07/{name}"), text.as_bytes().to_vec())).collect()
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
                let all = parse_job_for(name, &bytes, tariffs()).unwrap_err();
                let told: Vec<String> = all.iter().map(|mistake| mistake.located().to_string()).collect();
                for mistake in &report {
                    prop_assert!(told.contains(&mistake.located().to_string()), "{}", mistake.located());
                }
                show(&all, &[(name.to_owned(), bytes)]);
            }
        }
    }

    #[test]
    fn what_is_told_beside_refused_values_is_wrong_without_them(
        wrong in prop::sample::subsequence(WRONG, 0..8),
        unreadable in prop::sample::subsequence(UNREADABLE, 1..4),
    ) {
        let mut text = String::from(FULL_JOB);
        for (from, to) in wrong {
            text = text.replacen(from, to, 1);
        }
        let (job, _) = parse_job("job.toml", &text).unwrap();
        let found = |code: &str, found: &str| format!("{code} {found}");
        let wrong = evenfare_engine::check(&job, &tariffs().editions()[0]);
        let wrong: BTreeSet<_> = wrong.iter().map(|problem| found(problem.code, &problem.found)).collect();
        for (key, value) in unreadable {
            text = with_value(&text, key, value);
        }
        // The key may have gone with another.
        let Err(refused) = parse_job("job.toml", &text) else { return Ok(()) };
        let refused: BTreeSet<_> = refused.iter().map(|mistake| found(mistake.code(), mistake.found())).collect();
        for mistake in parse_job_for("job.toml", &text, tariffs()).unwrap_err() {
            let this = found(mistake.code(), mistake.found());
            let is_known = mistake.code() == "held_back" || refused.contains(&this) || wrong.contains(&this);
            prop_assert!(is_known, "{} does not stand without what was refused in\n{text}", mistake.located());
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
