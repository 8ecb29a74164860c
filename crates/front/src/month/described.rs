//! Every column of what comes out is described in `FORMAT.md` as it is in the code, which is where the words come from;
//! every stable code is described there too, in words of its own.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, clippy::string_slice)]

use std::path::Path;

use evenfare_reconcile::changed::How;
use evenfare_reconcile::columns;
use evenfare_reconcile::difference::Reason;
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::kept::Detail;
use evenfare_reconcile::matching::Why;

use super::found::{DIFFERENCES, QUESTIONS};
use super::output::{BALANCES, CHANGED, OVERVIEW, TRANSIT};

/// Each file and its columns, in the order of the description.
const FILES: [(&str, &[(&str, &str)]); 11] = [
    ("differences.csv", &DIFFERENCES),
    ("changed.csv", &CHANGED),
    ("questions.csv", &QUESTIONS),
    ("balances.csv", &BALANCES),
    ("open.csv", &columns::OPEN),
    ("transit.csv", &TRANSIT),
    ("bonuses.csv", &columns::BONUS),
    ("overview.csv", &OVERVIEW),
    ("journal.csv", &columns::COLUMNS),
    ("statements/PARTY-CURRENCY.csv", &columns::STATEMENT),
    ("statements/PARTY-differences.csv", &columns::TOLD),
];

/// The table of a file's columns.
fn table(columns: &[(&str, &str)]) -> String {
    let rows = columns.iter().map(|(name, says)| format!("| `{name}` | {says} |\n"));
    rows.collect()
}

/// `EVENFARE_BLESS=1` writes the tables anew.
#[test]
fn every_column_that_comes_out_is_described() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("crates/files/FORMAT.md");
    let mut text = std::fs::read_to_string(&path).unwrap();
    let mut from = text.find("\n# What month end writes\n").unwrap();
    for (file, columns) in FILES {
        // They stand in this order, so none is left out or described twice.
        let heading = format!("`{file}`\n");
        from += text[from..].find(&heading).unwrap_or_else(|| panic!("{file} is not described"));
        let rule = "| --- | --- |\n";
        from += text[from..].find(rule).unwrap() + rule.len();
        let end = from + text[from..].find("\n\n").map_or(0, |end| end + 1);
        // A table of no rows ends where it begins.
        let end = if text[from..].starts_with('\n') { from } else { end };
        if std::env::var_os("EVENFARE_BLESS").is_some() {
            text.replace_range(from..end, &table(columns));
        } else {
            assert_eq!(text[from..end], table(columns), "{file}; EVENFARE_BLESS=1 writes it anew");
        }
    }
    let section = text.split("\n# What month end writes\n").nth(1).unwrap().split("\n# ").next().unwrap();
    assert_eq!(section.matches("\n## ").count(), FILES.len());
    if std::env::var_os("EVENFARE_BLESS").is_some() {
        std::fs::write(&path, text).unwrap();
    }
}

/// What stands in the rows of a table, cell by cell.
fn rows(text: &str) -> Vec<Vec<&str>> {
    let rows = text.lines().skip_while(|line| !line.starts_with("| --- ")).skip(1);
    let rows = rows.take_while(|line| line.starts_with("| "));
    rows.map(|line| line.trim_matches('|').split('|').map(str::trim).collect()).collect()
}

/// The codes by which month end says that nothing comes out, as the code has them.
fn refusals(source: &str) -> Vec<&str> {
    let code = source.split(" fn code(&self)").nth(1).unwrap().split("\n    }\n").next().unwrap();
    code.lines().filter(|line| line.contains(" => ")).filter_map(|line| line.split('"').nth(1)).collect()
}

#[test]
fn every_code_has_a_row_and_every_row_a_code() {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(own.join("crates/files/FORMAT.md")).unwrap();
    let [reconciled, closed] = ["crates/reconcile/src/error.rs", "crates/front/src/month/closing.rs"]
        .map(|path| std::fs::read_to_string(own.join(path)).unwrap());
    let mut refused = refusals(&reconciled);
    refused.extend(refusals(&closed).into_iter().filter(|code| *code != "closing_out_of_order"));
    let section = text.split("\n# Codes of month end\n").nth(1).unwrap().split("\n# ").next().unwrap();
    let lists: [(&str, Vec<&str>); 6] = [
        ("Reasons of differences, `reason`", Reason::ALL.iter().map(|one| one.code()).collect()),
        ("Questions, `why`", Why::ALL.iter().map(|one| one.code()).collect()),
        ("How a closed month changed, `how`", How::ALL.iter().map(|one| one.word()).collect()),
        ("What of a paper changed, `of`", Detail::ALL.iter().map(|one| one.word()).collect()),
        ("What is posted, `event`", Event::ALL.iter().map(|one| one.word()).collect()),
        ("Why nothing comes out", refused),
    ];
    assert_eq!(section.matches("\n## ").count(), lists.len());
    for (heading, codes) in lists {
        let table = section.split(&format!("\n## {heading}\n")).nth(1);
        let table =
            table.unwrap_or_else(|| panic!("{heading} is not described")).split("\n## ").next().unwrap();
        let rows = rows(table);
        let described: Vec<&str> = rows.iter().map(|row| row[0].trim_matches('`')).collect();
        assert_eq!(described, codes, "{heading}");
        assert!(codes.len() > 3, "{heading}: {codes:?}");
        let is_empty = |row: &&Vec<&str>| row.iter().any(|cell| cell.is_empty());
        assert_eq!(rows.iter().find(is_empty), None, "{heading}: an empty cell");
    }
}
