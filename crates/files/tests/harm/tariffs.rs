//! Tariffs, of 16 MiB a file at most.

use evenfare_files::{Folder, parse_tariff};

use crate::workshop::{EDITION, spoiled};
use crate::{MIB, alone, refused, within};

/// A few copies of a file, where each line begins, and what may be made of its cells.
const MOST: usize = 128;

/// The small edition with another text for one of its files.
fn with(file: &str, text: impl Into<Vec<u8>>) -> Folder {
    let mut text = Some(text.into());
    let files = EDITION.iter().map(|(name, sound)| {
        let bytes = if *name == file { text.take().unwrap() } else { sound.as_bytes().to_vec() };
        (format!("2026-07/{name}"), bytes)
    });
    Folder::from_files("tariff", files.collect::<Vec<_>>())
}

fn check(what: &str, folder: &Folder, code: &str) {
    refused(&within(MOST, what, || parse_tariff(folder)), code);
}

const PARTS: &str = "code,text,unit,unit_cost,fit_minutes,fit_grade\n";

#[test]
fn tables() {
    let _alone = alone();
    let cell = |text: &str| with("parts.csv", format!("{PARTS}CAP-470,{text},pc,1.85,6,fitter\n"));
    check("a cell of 10 MB", &cell(&"x".repeat(10 * MIB)), "not_a_line");
    check("a cell in quotes of 10 MB", &cell(&format!("\"{}\"", "\"\"".repeat(MIB))), "not_a_line");
    check("a cell of lines", &cell(&format!("\"{}\"", "\n".repeat(2 * MIB))), "not_a_line");
    check("commas", &with("parts.csv", format!("{PARTS}{}", "a,".repeat(MIB))), "ragged_row");
    check("a header of commas", &with("parts.csv", ",".repeat(2 * MIB)), "unknown_column");
    check("lines", &with("parts.csv", format!("{PARTS}{}", "\n".repeat(2 * MIB))), "unknown_part");
    check("rows of one cell", &with("parts.csv", format!("{PARTS}{}", "a\n".repeat(50_000))), "ragged_row");
    check("quotes", &with("parts.csv", format!("{PARTS}{}", "\"\n".repeat(50_000))), "ragged_row");
    check(
        "an open quote",
        &with("parts.csv", format!("{PARTS}\"{}", "\"\"\n".repeat(50_000))),
        "unclosed_quote",
    );
    check("no text", &with("parts.csv", vec![0xFF; 2 * MIB]), "invalid_utf8");
    check("keys", &with("edition.toml", "a = 1\n".repeat(20_000)), "toml_syntax");
    check("too much", &with("parts.csv", vec![b' '; 16 * MIB + 1]), "file_too_large");
}

#[test]
fn numbers_of_ten_thousand_digits() {
    let _alone = alone();
    let digits = "9".repeat(10_000);
    for (file, from, to) in [
        ("parts.csv", ",1.85,", format!(",{digits},")),
        ("parts.csv", ",1.85,", format!(",0.{digits},")),
        ("parts.csv", ",6,fitter", format!(",{digits},fitter")),
        ("vat_rates.csv", ",19", format!(",{digits}")),
        ("currency_rates.csv", "0.9321", format!("{digits}.{digits}")),
        ("edition.toml", "\"95.00\"", format!("\"{digits}\"")),
        ("edition.toml", "= 35", format!("= {digits}")),
    ] {
        let told = within(8, file, || parse_tariff(&spoiled(&[(file, from, &to)])));
        assert!(told.starts_with(&format!("tariff/2026-07/{file}:")), "{told}");
    }
}

#[test]
fn many_files() {
    let _alone = alone();
    let mut files: Vec<(String, Vec<u8>)> =
        EDITION.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect();
    files.extend((0..5_000).map(|number| (format!("x{number}.csv"), Vec::new())));
    let folder = Folder::from_files("tariff", files);
    let told = within(MOST, "tables of nobody", || {
        let tariffs = parse_tariff(&folder)?;
        assert_eq!(tariffs.warnings().len(), 5_000);
        Ok(())
    });
    assert_eq!(told, "");
}
