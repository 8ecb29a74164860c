//! Texts and pictures of sheets, held against those that somebody has looked at.

use evenfare_engine::language::Language;

use crate::looked_at::{check_picture, check_text};
use crate::world::{Kind, quote, stationery};

#[test]
fn every_kind_says_what_it_said() {
    let stationery = stationery();
    for kind in Kind::ALL {
        for number in [2, 12] {
            let quote = quote(number).unwrap();
            let Some(sheet) = kind.sheet(&quote, &stationery, Language::English) else { continue };
            check_text(&format!("{}-{number:02}", kind.name()), &sheet);
        }
    }
}

#[test]
fn every_language_says_what_it_said() {
    let stationery = stationery();
    let quote = quote(3).unwrap();
    for language in Language::ALL {
        let sheet = Kind::Quote.sheet(&quote, &stationery, *language).unwrap();
        check_text(&format!("quote-03-{language}"), &sheet);
    }
    let quote = crate::world::quote(2).unwrap();
    for kind in [Kind::Partner, Kind::Office, Kind::Bench] {
        let sheet = kind.sheet(&quote, &stationery, Language::German).unwrap();
        check_text(&format!("{}-02-de", kind.name()), &sheet);
    }
}

#[test]
fn every_kind_looks_as_it_looked() {
    let stationery = stationery();
    let quote = quote(2).unwrap();
    for kind in Kind::ALL {
        let sheet = kind.sheet(&quote, &stationery, Language::English).unwrap();
        check_picture(&format!("{}-02", kind.name()), &sheet, 0);
    }
}

/// Tables that go on over a page, and words that are longer than the English ones.
#[test]
fn later_pages_and_other_languages_look_as_they_looked() {
    let stationery = stationery();
    for (kind, number, language, page) in [
        (Kind::Quote, 12, Language::English, 1),
        (Kind::Quote, 12, Language::English, 3),
        (Kind::Bench, 12, Language::English, 1),
        (Kind::Office, 2, Language::English, 1),
        (Kind::Partner, 2, Language::English, 1),
        (Kind::Quote, 3, Language::German, 0),
    ] {
        let sheet = kind.sheet(&quote(number).unwrap(), &stationery, language).unwrap();
        check_picture(&format!("{}-{number:02}-{language}", kind.name()), &sheet, page);
    }
}
