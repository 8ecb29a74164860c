//! The documentation of the format, and the demo, are read as a workshop's files would be.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::path::Path;

use evenfare_files::{Folder, edition_files, parse_books, parse_tariff, read_job, read_tariff};
use evenfare_reconcile::chart::Role;

#[test]
fn the_examples_of_the_documentation_are_a_sound_edition() {
    let document = include_str!("../FORMAT.md");
    let mut files = Vec::new();
    for section in document.split("\n## `").skip(1) {
        let (name, text) = section.split_once('`').unwrap();
        let example = text.split("\n```").nth(1).unwrap();
        let (_, example) = example.split_once('\n').unwrap();
        files.push((name.to_owned(), format!("{example}\n")));
    }
    assert_eq!(files.len(), 23, "edition.toml, letterhead.toml and twenty-one tables");
    // The chart of accounts may lie beside it, and is no part of it.
    files.push(("chart.csv".to_owned(), "role,account\n".to_owned()));
    let folder = Folder::from_files("", files);
    let published = edition_files(&folder);
    assert!(published[0].len() >= 23 && published[0].iter().all(|(name, _)| *name != "chart.csv"));
    match parse_tariff(&folder) {
        Ok(tariffs) => assert_eq!(tariffs.warnings().to_string(), ""),
        Err(report) => assert_eq!(report.to_string(), ""),
    }
}

#[test]
fn the_examples_of_the_documentation_are_a_sound_books_folder() {
    let document = include_str!("../FORMAT.md");
    let mut files = Vec::new();
    for section in document.split("\n### `").skip(1) {
        let (name, text) = section.split("\n## ").next().unwrap().split_once('`').unwrap();
        let (_, example) = text.split("\n```").nth(1).unwrap().split_once('\n').unwrap();
        files.push((name.to_owned(), format!("{example}\n").into_bytes()));
        // The columns and keys that are described are those there are.
        let described = text.lines().filter_map(|line| line.strip_prefix("| `")?.split_once('`'));
        let described: Vec<&str> = described.map(|(column, _)| column).collect();
        let written: Vec<&str> = match name.ends_with(".csv") {
            true => example.lines().next().unwrap().split(',').collect(),
            false => example.lines().map(|line| line.split(' ').next().unwrap()).collect(),
        };
        assert_eq!(described, written, "{name}");
    }
    assert_eq!(files.len(), 8, "books.toml, six tables and the chart");
    let books = parse_books(files, "2026-10-31".parse().unwrap());
    let books = books.map_err(|report| report.to_string()).unwrap();
    assert_eq!(books.chart.account(Role::Receivable), "1210");
    assert_eq!(books.decisions.len(), 4);
    // The words of the chart's parts are all there.
    let roles = Role::ALL.iter().map(|role| format!("`{}`", role.word())).collect::<Vec<_>>().join(", ");
    assert!(document.contains(&format!("| {roles} |")), "{roles}");
}

#[test]
fn the_demo_is_sound() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let tariffs = read_tariff(&demo.join("tariff"));
    assert_eq!(
        tariffs.map(|tariffs| tariffs.warnings().to_string()).map_err(|r| r.to_string()),
        Ok(String::new())
    );
    for job in std::fs::read_dir(demo.join("jobs")).unwrap() {
        let read = read_job(&job.unwrap().path());
        assert_eq!(read.err().map(|report| report.to_string()), None);
    }
}

#[test]
fn tables_that_may_be_absent_may_be_absent_in_data_too() {
    let tariff = r#"{
        "edition": "2026-07", "span": { "from": "2026-07-01", "until": null }, "currency": "EUR",
        "workshop": { "name": "W", "street": "S 1", "postcode": "1", "city": "C", "country": "DE", "vat_id": null },
        "price": {
            "minimum_charge": "0", "ending_to": "0", "ending_direction": "up", "minimum_contribution": "0",
            "minimum_contribution_percent": "0", "uneconomic_percent": "60", "flat_covers": [], "energy_per_kwh": "0"
        },
        "courier": {
            "volumetric_divisor": 5000, "weight_step_kg": "1", "fuel_percent": "0", "insurance_percent": "0",
            "insurance_minimum": "0", "packaging_per_parcel": "0"
        },
        "inspection": { "fee": "0", "minutes": 0, "grade": "G1" },
        "terms": { "validity_days": 30, "turnaround_days": 10, "warranty_months": 12, "warranty_cycles": null },
        "markups": [], "grades": [], "parts": [], "operations": [], "tests": [], "findings": [],
        "finding_steps": [], "families": [], "zones": [], "courier_rates": [], "vat_rates": []
    }"#;
    let tariff: evenfare_engine::tariff::Tariff = serde_json::from_str(tariff).unwrap();
    assert!(tariff.price_breaks.is_empty() && tariff.partners.is_empty() && tariff.currency_rates.is_empty());
}
