//! Whatever stands in an edition comes back out of a book.

use std::cell::Cell;
use std::io::Write;

use evenfare_files::book::{parse_book, write_book};
use evenfare_files::{Folder, parse_tariff};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::hostile::cases;
use crate::workshop::EDITION;

/// Cells that spreadsheets like to make something else of, and any others.
fn cell() -> impl Strategy<Value = String> {
    const TROUBLEMAKERS: &[&str] = &[
        "",
        "0815",
        "1e5",
        "1-2",
        "=1+1",
        "'",
        "+49",
        "TRUE",
        "#REF!",
        "#",
        " x ",
        "\u{A0}",
        "\"",
        "a\"b",
        ",",
        "a\nb",
        "\t",
        "_x000D_",
        "_x005F_",
        "&amp;",
        "<c>",
        "]]>",
        "2026-07-01",
        "1900-01-01",
        "0.30000000000000004",
        "😀\u{202E}",
    ];
    prop_oneof![
        prop::sample::select(TROUBLEMAKERS).prop_map(String::from),
        "[^\\p{Cc}\u{FFFE}\u{FFFF}]{0,12}",
    ]
}

/// Rows, comments and blank lines of a table.
#[derive(Debug, Clone)]
enum Line {
    Blank,
    Note(String),
    Row(Vec<String>),
}

const WIDTH: usize = 4;

fn line() -> impl Strategy<Value = Line> {
    prop_oneof![
        1 => Just(Line::Blank),
        1 => "[^\\p{Cc}\u{FFFE}\u{FFFF}]{0,20}".prop_map(|text| Line::Note(format!("#{text}").trim_end().to_owned())),
        4 => prop::collection::vec(cell(), WIDTH).prop_map(Line::Row),
    ]
}

/// The table as our reader writes it.
fn table(lines: &[Line]) -> String {
    let quoted = |(column, cell): (usize, &String)| {
        let is_plain = !cell.contains([',', '"', '\n']) && cell.trim() == cell;
        if is_plain && !(column == 0 && cell.starts_with('#')) {
            cell.clone()
        } else {
            format!("\"{}\"", cell.replace('"', "\"\""))
        }
    };
    let text = |line: &Line| match line {
        Line::Blank => String::from("\n"),
        Line::Note(text) => format!("{text}\n"),
        Line::Row(cells) => cells.iter().enumerate().map(quoted).collect::<Vec<_>>().join(",") + "\n",
    };
    lines.iter().map(text).collect()
}

/// Does a sheet have it for what it is?
fn can_be_told(line: &Line) -> bool {
    match line {
        Line::Row(cells) => {
            cells.iter().any(|cell| !cell.is_empty()) && !cells[1..].iter().all(String::is_empty)
        }
        _ => true,
    }
}

fn folder(files: impl IntoIterator<Item = (String, String)>) -> Folder {
    Folder::from_files("t", files)
}

fn edition() -> Vec<(String, String)> {
    EDITION.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn any_table_comes_back(lines in prop::collection::vec(line().prop_filter("blank or a comment", can_be_told), 0..12)) {
        // Whatever nobody reads is kept as well; its header is the row that its cells have to be as wide as.
        let header = Line::Row(["a", "b", "c", "d"].map(String::from).to_vec());
        let text = table(&[&[header], &lines[..]].concat());
        let mut files = edition();
        files.push((String::from("anything.csv"), text.clone()));
        let book = write_book(&folder(files)).map_err(|report| TestCaseError::fail(report.to_string()))?;
        let imported = parse_book("b", &book).map_err(|report| TestCaseError::fail(report.to_string()))?;
        prop_assert_eq!(imported.changes(), &[]);
        let back = imported.text("anything.csv").unwrap();
        prop_assert_eq!(back.trim_end_matches('\n'), text.trim_end_matches('\n'));
    }
}

#[test]
fn any_texts_and_amounts_come_back() {
    let (config, refused) = (cases(), Cell::new(0_u32));
    let cases = config.cases;
    let texts = ("[^\\p{Cc}]{1,60}", "[^\\p{Cc}\u{FFFE}\u{FFFF}]{0,30}");
    let amounts = prop::collection::vec((0_u64..100_000_000_000, 0_u32..5), 3);
    let held = TestRunner::new(config).run(&(texts, amounts), |((name, note), amounts)| {
        let amount = |(scaled, decimals): &(u64, u32)| match decimals {
            0 => format!("{}", scaled % 1_000_000_000),
            decimals => {
                let width = *decimals as usize;
                let unit = 10_u64.pow(*decimals);
                format!("{}.{:0width$}", (scaled / unit) % 1_000_000_000, scaled % unit)
            }
        };
        let mut files = edition();
        let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
        files[0].1 = files[0].1.replacen("name = \"Lötwerk\"", &format!("name = \"{quoted}\" # {note}"), 1);
        let [one, two, three] = [0, 1, 2].map(|index| amount(&amounts[index]));
        files[2].1 = format!(
            "code,text,unit,unit_cost,fit_minutes,fit_grade\n# {note}\nCAP-470,x,pc,{one},6,fitter\n\
             RELAY-4,\"{}\",pc,{two},15,fitter\n\nSCREW,Screw,pc,{three},0,\n",
            name.replace('"', "\"\""),
        );
        files[3].1 = String::from("part,from_quantity,unit_cost\n");
        let folder = folder(files.clone());
        let Ok(before) = parse_tariff(&folder) else {
            refused.set(refused.get() + 1);
            return Ok(());
        };
        let book = write_book(&folder).map_err(|report| TestCaseError::fail(report.to_string()))?;
        let imported = parse_book("b", &book).map_err(|report| TestCaseError::fail(report.to_string()))?;
        prop_assert_eq!(imported.changes(), &[]);
        prop_assert_eq!(format!("{:?}", imported.tariffs().editions()), format!("{:?}", before.editions()));
        // What came back goes out as the same book.
        let back = imported.files().map(|(name, text)| (name.to_owned(), text.to_owned()));
        prop_assert!(write_book(&Folder::from_files("t", back)).unwrap() == book);
        Ok(())
    });
    held.unwrap_or_else(|error| panic!("{error}"));
    let refused = refused.get();
    // The test harness captures `eprintln!` and not this.
    let told = format!("law any_texts_and_amounts_come_back: {cases} cases, {refused} tariffs refused");
    let _ = writeln!(std::io::stderr().lock(), "{told}");
    assert!(refused * 20 < cases.max(100), "{told}");
}
