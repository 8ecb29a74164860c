//! All of an edition is written, or nothing.

use std::fs;

use evenfare_files::book::{parse_book, read_book};
use evenfare_files::read_tariff;

use crate::by_hand::book;

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
fn a_book_that_is_not_there_is_told() {
    let report = read_book("no/such.xlsx".as_ref()).unwrap_err();
    assert!(report.has_unreadable());
    assert_eq!(
        report.to_string(),
        "no/such.xlsx: error[unreadable]: cannot be read: there is no such file or folder"
    );
}
