//! Books of sheets, of 16 MiB packed at most: small files that unpack to much, or say that they do.

use std::io::{Cursor, Read, Write};

use evenfare_files::Folder;
use evenfare_files::book::{parse_book, write_book};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::workshop::EDITION;
use crate::{MIB, alone, refused, within};

/// The small edition as a book, with other contents for some of its parts, or parts beside them.
fn with(changes: &[(&str, &str)]) -> Vec<u8> {
    let sound = write_book(&Folder::from_files("tariff", EDITION.iter().copied())).unwrap();
    let mut archive = ZipArchive::new(Cursor::new(sound)).unwrap();
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        if changes.iter().all(|(changed, _)| *changed != name) {
            writer.start_file(name, SimpleFileOptions::default()).unwrap();
            writer.write_all(&bytes).unwrap();
        }
    }
    for (name, text) in changes {
        writer.start_file(*name, SimpleFileOptions::default()).unwrap();
        writer.write_all(text.as_bytes()).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn check(what: &str, mib: usize, book: &[u8], told: &str) {
    let report = within(mib, what, || parse_book("b.xlsx", book));
    assert!(report.contains(told), "{what}: no {told} in {report}");
}

const TEXTS: &str = "xl/sharedStrings.xml";

#[test]
fn a_list_of_texts_may_say_that_it_is_long() {
    let _alone = alone();
    for count in ["3000000", "1000000000000", "18446744073709551615", "99999999999999999999", "many"] {
        let texts = format!("<sst uniqueCount=\"{count}\"><si><t>a</t></si></sst>");
        check(
            "texts that are not there",
            32,
            &with(&[(TEXTS, &texts)]),
            "found `more texts`, expected at most 2500000",
        );
    }
    // Wherever in a book the list lies, and whatever its letters.
    let texts = "<x:sst xmlns:x=\"y\" uniqueCount=\"1000000000000\"/>";
    check("texts elsewhere", 32, &with(&[("XL/sharedstrings.XML", texts)]), "found `more texts`");
    let many = format!("<sst>{}</sst>", "<si/>".repeat(2_500_001));
    check("too many texts", 64, &with(&[(TEXTS, &many)]), "found `more texts`");
}

#[test]
fn what_says_how_cells_look_has_a_limit() {
    let _alone = alone();
    let fonts = format!("<styleSheet><fonts>{}</fonts></styleSheet>", "<font/>".repeat(3 * MIB));
    check(
        "fonts",
        64,
        &with(&[("xl/styles.xml", &fonts)]),
        "`a part beside its sheets with more`, expected at most 16 MiB",
    );
    let sheets =
        format!("<workbook><sheets>{}</sheets></workbook>", "<sheet name=\"a\" sheetId=\"1\"/>".repeat(MIB));
    check("sheets", 64, &with(&[("xl/workbook.xml", &sheets)]), "expected at most 16 MiB");
    let fonts = format!("<styleSheet><fonts>{}</fonts></styleSheet>", "<font/>".repeat(100_000));
    within(64, "a hundred thousand fonts", || parse_book("b.xlsx", &with(&[("xl/styles.xml", &fonts)])));
}

#[test]
fn sheets_are_counted() {
    let _alone = alone();
    let sheets: String = (0..300)
        .map(|number| format!("<sheet name=\"s{number}\" sheetId=\"{number}\" r:id=\"rId1\"/>"))
        .collect();
    let namespace = "xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\"";
    let workbook = format!("<workbook {namespace}><sheets>{sheets}</sheets></workbook>");
    check("sheets", 32, &with(&[("xl/workbook.xml", &workbook)]), "found `300 sheets`, expected at most 256");
}

#[test]
fn a_cell_of_ten_megabytes_is_refused() {
    let _alone = alone();
    let text = "9".repeat(10 * MIB);
    for cell in [
        format!("<c r=\"A1\" t=\"inlineStr\"><is><t>{text}</t></is></c>"),
        format!("<c r=\"A1\"><v>{text}</v></c>"),
        format!("<c r=\"A1\"><f>{text}</f><v>1</v></c>"),
    ] {
        let sheet = format!("<worksheet><sheetData><row r=\"1\">{cell}</row></sheetData></worksheet>");
        let told =
            within(192, "a cell", || parse_book("b.xlsx", &with(&[("xl/worksheets/sheet4.xml", &sheet)])));
        assert!(told.contains("error["), "{told}");
    }
}

/// The last part is the one before it once more.
#[test]
fn parts_that_lie_in_each_other_are_refused() {
    let _alone = alone();
    let mut book = with(&[("xl/a.bin", &"x".repeat(1_000)), ("xl/b.bin", &"x".repeat(1_000))]);
    let entry = |name: &[u8]| {
        let at = book.windows(name.len()).rposition(|window| window == name).unwrap();
        // The offset of its header is the last of what stands before a name.
        at - 4..at
    };
    let (first, second) = (entry(b"xl/a.bin"), entry(b"xl/b.bin"));
    let offset: [u8; 4] = book[first].try_into().unwrap();
    book[second].copy_from_slice(&offset);
    refused(&within(32, "parts", || parse_book("b.xlsx", &book)), "unreadable");
    check("parts", 32, &book, "it is not a valid .xlsx file");
}
