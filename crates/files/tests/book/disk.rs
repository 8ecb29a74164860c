//! All of an edition is written, or nothing.

use std::fs;

use evenfare_files::book::{parse_book, read_book};
use evenfare_files::{beside, read_tariff};

use crate::by_hand::{Put, book};

#[test]
fn an_edition_is_written_whole_or_not_at_all() {
    let imported = parse_book("b.xlsx", &book(&[], |_| {})).unwrap();
    let home = tempfile::tempdir().unwrap();
    let dir = home.path().join("tariff/2026-07");
    imported.write_to(&dir).unwrap();
    assert_eq!(read_tariff(&dir).unwrap().editions().len(), 1);
    assert_eq!(fs::read_dir(home.path().join("tariff")).unwrap().count(), 1, "nothing is left beside it");

    // Not over what lies there.
    fs::write(dir.join("notes.txt"), "mine").unwrap();
    let before: Vec<_> = fs::read_dir(&dir).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    let error = imported.write_to(&dir).unwrap_err();
    assert_eq!(error.kind(), std::io::ErrorKind::DirectoryNotEmpty);
    let after: Vec<_> = fs::read_dir(&dir).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(before, after);

    // An empty folder is as good as none; a file is no folder.
    let empty = home.path().join("empty");
    fs::create_dir(&empty).unwrap();
    imported.write_to(&empty).unwrap();
    assert_eq!(read_tariff(&empty).unwrap().editions().len(), 1);
    let file = home.path().join("file");
    fs::write(&file, "mine").unwrap();
    assert!(imported.write_to(&file).is_err());
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn an_edition_is_held_against_those_beside_it() {
    let home = tempfile::tempdir().unwrap();
    let write = |folder: &str, put: &[(&str, &str, Put)]| {
        let imported = parse_book("b.xlsx", &book(put, |_| {})).unwrap();
        imported.write_to(&home.path().join(folder)).unwrap();
        let told = beside(&home.path().join(folder)).to_string();
        told.replace(&format!("{}/", home.path().display()), "")
    };
    assert_eq!(write("first", &[]), "");
    // The same again: its name and its days are taken. The folders are told in order.
    let again = write("second", &[]);
    let codes = ["duplicate_edition", "overlapping_editions"].map(|code| format!("warning[{code}]"));
    assert!(codes.iter().all(|code| again.contains(code)) && again.lines().count() == 2, "{again}");
    assert!(again.lines().all(|line| line.starts_with("second/edition.toml:")), "{again}");
    // What is no edition, or is hidden, is no neighbour.
    fs::create_dir(home.path().join("notes")).unwrap();
    fs::rename(home.path().join("second"), home.path().join(".second")).unwrap();
    assert!(beside(&home.path().join("first")).is_empty());
}

#[test]
fn a_book_that_is_not_there_is_told() {
    let report = read_book("no/such.xlsx".as_ref()).unwrap_err();
    assert!(report.has_unreadable());
    assert_eq!(
        report.to_string(),
        "no/such.xlsx: error[unreadable]: cannot be read: there is no such file or folder"
    );
}
