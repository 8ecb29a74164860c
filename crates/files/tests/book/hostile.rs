//! Books made for harm, or by accident: bounded, and refused with a reason.

use std::io::{Cursor, Read, Write};

use evenfare_files::Report;
use evenfare_files::book::{Imported, parse_book};
use proptest::prelude::*;
use proptest::sample::Index;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::by_hand::book;

/// The book with another text in one of its parts.
fn with_part(book: &[u8], part: &str, change: impl FnOnce(&str) -> String) -> Vec<u8> {
    let mut archive = ZipArchive::new(Cursor::new(book)).unwrap();
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let mut change = Some(change);
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut text = String::new();
        file.read_to_string(&mut text).unwrap();
        if name == part {
            text = change.take().unwrap()(&text);
        }
        writer.start_file(name, SimpleFileOptions::default()).unwrap();
        writer.write_all(text.as_bytes()).unwrap();
    }
    assert!(change.is_none(), "there is no {part}");
    writer.finish().unwrap().into_inner()
}

/// The sheet of `parts`, the third.
const PARTS: &str = "xl/worksheets/sheet3.xml";

/// The book with other rows at the end of `parts`.
fn with_rows(rows: &str) -> Vec<u8> {
    with_part(&book(&[], |_| {}), PARTS, |text| text.replace("</sheetData>", &format!("{rows}</sheetData>")))
}

fn read(bytes: &[u8]) -> Result<Imported, Report> {
    parse_book("b.xlsx", bytes)
}

fn refused(bytes: &[u8], told: &str) {
    let report = read(bytes).unwrap_err().to_string();
    assert!(report.contains(told), "no {told} in\n{report}");
}

#[test]
fn what_is_no_book_is_told() {
    let none = "it is not a valid .xlsx file; save it as one in a spreadsheet program";
    let told = format!("b.xlsx: error[unreadable]: cannot be read: {none}");
    assert_eq!(read(b"").unwrap_err().to_string(), told);
    refused(b"code,text\n", none);
    refused(
        b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and so on",
        "it is an old .xls, or locked by a password; save it as .xlsx without one",
    );
    let whole = book(&[], |_| {});
    refused(&whole[..whole.len() / 2], none);
    let mut empty = ZipWriter::new(Cursor::new(Vec::new()));
    empty.start_file("a.txt", SimpleFileOptions::default()).unwrap();
    refused(&empty.finish().unwrap().into_inner(), none);
    refused(
        &vec![0; 16 * 1024 * 1024 + 1],
        "error[file_too_large]: found `16777217 bytes`, expected at most 16 MiB",
    );
}

#[test]
fn a_book_that_unpacks_to_too_much_is_refused() {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let chunk = vec![b' '; 1024 * 1024];
    for part in ["xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"] {
        writer.start_file(part, SimpleFileOptions::default()).unwrap();
        (0..100).for_each(|_| writer.write_all(&chunk).unwrap());
    }
    let bomb = writer.finish().unwrap().into_inner();
    assert!(bomb.len() < 1024 * 1024);
    refused(&bomb, "error[file_too_large]: found `a book that unpacks to more`, expected at most 192 MiB");
}

#[test]
fn a_sheet_may_say_that_it_is_huge_but_not_be_so() {
    let sound = book(&[], |_| {});
    let huge = with_part(&sound, PARTS, |text| {
        let (before, rest) = text.split_once("<dimension ref=\"").unwrap();
        let (_, after) = rest.split_once('"').unwrap();
        format!("{before}<dimension ref=\"A1:XFD1048576\"{after}")
    });
    read(&huge).unwrap_or_else(|report| panic!("{report}"));
    let beyond = "expected nothing beyond row 250000 and column 64";
    refused(&with_rows("<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>"), beyond);
    refused(
        &with_rows("<row r=\"9\"><c r=\"BM9\"><v>1</v></c></row>"),
        "b.xlsx: parts!BM9: error[out_of_reach]",
    );
    refused(&with_rows("<row r=\"250001\"><c r=\"A250001\"><v>1</v></c></row>"), beyond);
    // Formatted cells with nothing in them do not count, wherever they are.
    let imported = read(&with_rows("<row r=\"1048576\"><c r=\"XFD1048576\" s=\"0\"/></row>")).unwrap();
    assert!(imported.files().all(|(_, text)| !text.ends_with(b"\n\n")));
}

#[test]
fn many_empty_rows_are_nothing() {
    let rows: String = (10..300_000).map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\"/></row>")).collect();
    let imported = read(&with_rows(&rows)).unwrap_or_else(|report| panic!("{report}"));
    let parts = imported.text("parts.csv").unwrap();
    assert_eq!(parts.lines().count(), 4);
}

#[test]
fn cells_and_sheets_that_cannot_be_are_refused() {
    let doubled = with_rows("<row r=\"3\"><c r=\"B3\"><v>1</v></c></row>");
    refused(
        &doubled,
        "b.xlsx: parts!B3: error[doubled_cell]: found `B3`, expected each cell once in a sheet",
    );
    for place in ["ZZZZZZZZZZZZZZZ9", "A99999999999999", "9", "A", "?"] {
        refused(&with_rows(&format!("<row><c r=\"{place}\"><v>1</v></c></row>")), "error[unreadable]");
    }
    refused(&with_rows("<row r=\"9\"><c r=\"A9\" t=\"s\"><v>99999999</v></c></row>"), "error[unreadable]");
    let shared =
        "<row r=\"9\"><c r=\"A9\"><f t=\"shared\" si=\"4000000000\" ref=\"A9:A10\">B1</f><v>1</v></c></row>";
    refused(&with_rows(shared), "b.xlsx: parts!B9: error[empty_cell]");
    let never = with_rows("<row r=\"9\"><c r=\"A9\"><f>A1&amp;1</f></c></row>");
    refused(
        &never,
        "b.xlsx: parts!A9: error[formula_without_value]: found `=A1&1`, expected a value; open the book",
    );
    for name in ["../up", "a/b", "..", "c:d"] {
        let renamed = with_part(&book(&[], |_| {}), "xl/workbook.xml", |text| {
            text.replace("name=\"grades\"", &format!("name=\"{name}\""))
        });
        refused(&renamed, "error[not_a_file_name]");
    }
    let twice = with_part(&book(&[], |_| {}), "xl/workbook.xml", |text| {
        text.replace("name=\"credits\"", "name=\"PARTS\"")
    });
    refused(&twice, "b.xlsx: PARTS: error[doubled_sheet]: found `PARTS`, expected one sheet for PARTS.csv");
}

/// As many cases as are asked for; by default few, as each packs and unpacks a book.
pub fn cases() -> ProptestConfig {
    let few = ProptestConfig::with_cases(32);
    if std::env::var_os("PROPTEST_CASES").is_some() { ProptestConfig::default() } else { few }
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn spoiled_books_are_read_or_refused(
        part in prop::sample::select(&[PARTS, "xl/workbook.xml", "xl/sharedStrings.xml", "xl/styles.xml"][..]),
        changes in prop::collection::vec((any::<Index>(), 0..20_usize, "[0-9A-Za-z<>/\"= &;.-]{0,6}"), 1..5),
    ) {
        let spoiled = with_part(&book(&[], |_| {}), part, |text| {
            let mut text: Vec<char> = text.chars().collect();
            for (at, length, new) in &changes {
                let start = at.index(text.len() + 1);
                let end = (start + length).min(text.len());
                text.splice(start..end, new.chars());
            }
            text.into_iter().collect()
        });
        if let Err(report) = read(&spoiled) {
            prop_assert!(report.has_errors());
            prop_assert!(!report.to_string().is_empty());
        }
    }

    #[test]
    fn any_bytes_are_no_book(bytes in prop::collection::vec(any::<u8>(), 0..300), at in any::<Index>()) {
        prop_assert!(read(&bytes).is_err());
        let mut spoiled = book(&[], |_| {});
        let start = at.index(spoiled.len());
        for (old, new) in spoiled[start..].iter_mut().zip(&bytes) {
            *old = *new;
        }
        let _ = read(&spoiled);
    }
}
