//! A book that another writer made: numbers as numbers, dates by the calendar of 1904, no cover, no notes.
//! `other_writer.py` beside this file made it, of the examples in FORMAT.md.

use evenfare_files::book::{Why, parse_book};
use evenfare_files::{Folder, parse_tariff};

#[test]
fn a_book_by_another_writer_is_the_edition_it_was_made_of() {
    let document = include_str!("../../FORMAT.md");
    let example = |section: &str| {
        let (name, text) = section.split_once('`').unwrap();
        let example = text.split("\n```").nth(1).unwrap().split_once('\n').unwrap().1;
        (name.to_owned(), format!("{example}\n"))
    };
    let files = document.split("\n## `").skip(1).map(example);
    let by_hand = parse_tariff(&Folder::from_files("", files)).unwrap();
    let imported = parse_book("other_writer.xlsx", include_bytes!("other_writer.xlsx"));
    let imported = imported.unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(format!("{:?}", imported.tariffs().editions()), format!("{:?}", by_hand.editions()));
    let changes: Vec<_> = imported.changes().iter().map(|change| (change.place(), change.why())).collect();
    assert_eq!(changes, [(String::from("operations!E3"), Why::Truth)]);
}
