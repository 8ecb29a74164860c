//! The documentation of the format, and the demo, are read as a workshop's files would be.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use evenfare_files::{Folder, parse_tariff, read_job, read_tariff};

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
    assert_eq!(files.len(), 21, "edition.toml and twenty tables");
    match parse_tariff(&Folder::from_files("", files)) {
        Ok(tariffs) => assert_eq!(tariffs.warnings().to_string(), ""),
        Err(report) => assert_eq!(report.to_string(), ""),
    }
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
