//! Every column of what comes out is described in `FORMAT.md` as it is in the code, which is where the words come from.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, clippy::string_slice)]

use std::path::Path;

use evenfare_reconcile::columns;

use super::output::{BALANCES, CHANGED, DIFFERENCES, OVERVIEW, QUESTIONS, TRANSIT};

/// Each file and its columns, in the order of the description.
const FILES: [(&str, &[(&str, &str)]); 10] = [
    ("differences.csv", &DIFFERENCES),
    ("changed.csv", &CHANGED),
    ("questions.csv", &QUESTIONS),
    ("balances.csv", &BALANCES),
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
