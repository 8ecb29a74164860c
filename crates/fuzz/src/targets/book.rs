//! Books of sheets: the parts of one, packed here, so that a case is what is in them; or the bytes of one.

use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};

use evenfare_files::Folder;
use evenfare_files::book::{parse_book, write_book};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::files::{join, split};
use crate::refused::is_refused_clearly;
use crate::world::small_edition;

pub fn seeds() -> Vec<Vec<u8>> {
    let book =
        write_book(&Folder::from_files("tariff", small_edition())).expect("the small edition is sound");
    vec![join(parts(&book).iter().map(|(name, part)| (&**name, &**part))), book]
}

/// Those that are read: no notes and their drawings, which are most of a book.
fn parts(book: &[u8]) -> Vec<(String, Vec<u8>)> {
    const ASIDE: [&str; 5] = ["drawings/", "comments", "docProps/", "theme/", "worksheets/_rels/"];
    let mut archive = ZipArchive::new(Cursor::new(book)).expect("a book is an archive");
    let mut parts = Vec::new();
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).expect("a part");
        let name = file.name().expect("a name").into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).expect("a part that unpacks");
        if !ASIDE.iter().any(|aside| name.contains(aside)) {
            parts.push((name, bytes));
        }
    }
    parts
}

/// Nothing where the names cannot be those of parts.
fn packed(bytes: &[u8]) -> Option<Vec<u8>> {
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, part) in split(bytes) {
        writer.start_file(name, stored).ok()?;
        writer.write_all(part).ok()?;
    }
    Some(writer.finish().ok()?.into_inner())
}

pub fn run(bytes: &[u8]) {
    let book = if bytes.starts_with(b"PK") { Some(bytes.to_vec()) } else { packed(bytes) };
    let Some(book) = book else { return };
    match parse_book("b.xlsx", &book) {
        Err(report) => is_refused_clearly(&report, []),
        Ok(imported) => {
            assert_eq!(imported.tariffs().editions().len(), 1);
            let files: BTreeMap<&str, &[u8]> = imported.files().collect();
            // Not every text fits into a cell; what was written comes back.
            let Ok(again) = write_book(&Folder::from_files("b", files.clone())) else { return };
            let again = parse_book("b.xlsx", &again).unwrap_or_else(|report| panic!("{report}"));
            // Sheets may stand in any order.
            let again: BTreeMap<&str, &[u8]> = again.files().collect();
            assert!(again == files, "a book that was read is written as another");
        }
    }
}
