//! All of an edition is written, or nothing.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use evenfare_files::book::{NotWritten, parse_book, read_book};
use evenfare_files::{Report, read_tariff};

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
    assert!(matches!(imported.write_to(&dir), Err(NotWritten::NotEmpty)));
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

/// Everything below a folder, with what it says.
fn tree(dir: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let entries = fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().path());
    let below = |path: PathBuf| {
        if path.is_dir() { tree(&path) } else { [(path.clone(), fs::read(path).unwrap())].into() }
    };
    entries.flat_map(below).collect()
}

const ID: &str = "B2";
const FROM: &str = "B3";
const UNTIL: &str = "B4";

#[test]
fn an_edition_that_does_not_go_with_those_beside_it_is_not_written() {
    let home = tempfile::tempdir().unwrap();
    let tariff = home.path().join("tariff");
    let import = |folder: &str, put: &[(&'static str, &'static str)]| {
        let put: Vec<_> = put.iter().map(|(cell, text)| ("edition.toml", *cell, Put::Text(text))).collect();
        parse_book("b.xlsx", &book(&put, |_| {})).unwrap().write_to(&tariff.join(folder))
    };
    let told = |report: Report| report.to_string().replace(&format!("{}/", home.path().display()), "");
    let is_sound = || read_tariff(&tariff).unwrap().warnings().is_empty();
    let days = |id, from, until| [(ID, id), (FROM, from), (UNTIL, until)];
    assert!(import("second", &days("S", "2026-07-01", "2026-12-31")).unwrap().is_empty());

    let refused: [(&[(&str, &str)], &str); 6] = [
        // The same again.
        (
            &days("S", "2026-07-01", "2026-12-31"),
            "b.xlsx: edition.toml!B2: error[duplicate_edition]: found `S`, expected another name than that of \
             tariff/second/edition.toml\n\
             b.xlsx: edition.toml!B3: error[overlapping_editions]: found `2026-07-01`, expected a day after \
             2026-12-31, when S ends",
        ),
        (
            &days("S", "2027-01-01", " "),
            "b.xlsx: edition.toml!B2: error[duplicate_edition]: found `S`, expected another name than that of \
             tariff/second/edition.toml",
        ),
        (
            &days("T", "2026-12-31", " "),
            "b.xlsx: edition.toml!B3: error[overlapping_editions]: found `2026-12-31`, expected a day after \
             2026-12-31, when S ends",
        ),
        // It begins before the other: its end is what is wrong, and its name.
        (
            &days("S", "2026-01-01", "2026-07-01"),
            "b.xlsx: edition.toml!B2: error[duplicate_edition]: found `S`, expected another name than that of \
             tariff/second/edition.toml\n\
             b.xlsx: edition.toml!B4: error[overlapping_editions]: found `2026-07-01`, expected a day before \
             2026-07-01, when S begins",
        ),
        (
            &days("F", "2026-01-01", "2027-06-30"),
            "b.xlsx: edition.toml!B4: error[overlapping_editions]: found `2027-06-30`, expected a day before \
             2026-07-01, when S begins",
        ),
        (&days("F", "2026-01-01", " "), "found nothing, expected a day before 2026-07-01, when S begins"),
    ];
    let before = tree(home.path());
    for (put, expect) in refused {
        let Err(NotWritten::Beside(report)) = import("first", put) else { panic!("{put:?} was written") };
        assert!(told(report).contains(expect), "{put:?}");
        assert_eq!(tree(home.path()), before, "{put:?}");
    }

    // Days of nobody are worth a look, wherever they are; nothing is told of what is wrong between others.
    let early = told(import("first", &days("F", "2026-01-01", "2026-06-29")).unwrap());
    assert_eq!(
        early,
        "b.xlsx: edition.toml!B4: warning[gap_between_editions]: found `2026-06-29`, expected the day before \
         2026-07-01, when S begins"
    );
    let late = told(import("third", &days("T", "2027-01-02", " ")).unwrap());
    assert_eq!(
        late,
        "b.xlsx: edition.toml!B3: warning[gap_between_editions]: found `2027-01-02`, expected the day after \
         2026-12-31, when S ends"
    );
    assert!(!is_sound());
    fs::remove_dir_all(tariff.join("third")).unwrap();
    fs::remove_dir_all(tariff.join("first")).unwrap();
    assert!(import("third", &days("T", "2027-01-01", " ")).unwrap().is_empty());
    assert!(import("first", &days("F", "2026-01-01", "2026-06-30")).unwrap().is_empty());
    assert!(is_sound());

    // What is no edition, or is hidden, is no neighbour; neither are the editions of another folder.
    fs::create_dir(tariff.join("notes")).unwrap();
    fs::rename(tariff.join("second"), tariff.join(".second")).unwrap();
    assert!(!import("again", &days("S", "2026-07-02", "2026-12-31")).unwrap().has_errors());
    assert!(import("../alone", &days("F", "2026-07-02", "2026-12-31")).unwrap().is_empty());
    assert!(import(".hidden", &days("F", "2026-07-02", "2026-12-31")).unwrap().is_empty());
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
