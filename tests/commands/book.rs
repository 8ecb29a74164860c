//! Transcripts of a tariff that goes out to a spreadsheet and comes back.

use std::fs;

use crate::transcript::{check, root};
use crate::world::copy;

/// Names and command lines, in this order in one folder.
pub const TRANSCRIPTS: [(&str, &str); 15] = [
    ("book-export.txt", "tariff export tariff/2026-07 prices.xlsx"),
    ("book-export-again.txt", "tariff export tariff/2026-07 prices.xlsx"),
    ("book-export-several.txt", "tariff export tariff all.xlsx"),
    ("book-export-name.txt", "tariff export tariff/2026-07 prices.ods"),
    ("book-import.txt", "tariff import prices.xlsx back"),
    ("book-import-again.txt", "tariff import prices.xlsx back"),
    ("book-import-draft.txt", "tariff import prices.xlsx back-too"),
    ("book-import-beside.txt", "tariff import typed.xlsx tariff/2027-01"),
    ("book-import-beside.json", "tariff import typed.xlsx tariff/2027-01 --format json"),
    ("book-import-beside-check.txt", "tariff check tariff"),
    ("book-import-typed.txt", "tariff import typed.xlsx typed/2026-07"),
    ("book-import-typed.json", "tariff import typed.xlsx typed-too/2026-07 --format json"),
    ("book-import-none.txt", "tariff import jobs/01-direct-oven.toml none"),
    ("book-import-missing.txt", "tariff import nowhere.xlsx none"),
    ("book-check.txt", "tariff check back"),
];

#[test]
fn a_tariff_goes_out_to_a_book_and_comes_back() {
    let dir = copy("book");
    // Made by another writer, with numbers and truth values typed into it.
    let typed = root().join("crates/files/tests/book/other_writer.xlsx");
    fs::copy(typed, dir.join("typed.xlsx")).unwrap();
    for (name, line) in TRANSCRIPTS {
        check(&dir, name, line);
    }
    assert!(!dir.join("tariff/2027-01").exists() && !dir.join("back-too").exists());
    assert!(!dir.join("none").exists() && !dir.join("all.xlsx").exists());
    let table = |of: &str| fs::read(dir.join(of).join("parts.csv")).unwrap();
    assert_eq!(table("tariff/2026-07"), table("back"));
}
