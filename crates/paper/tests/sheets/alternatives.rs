//! Other ways to do a job, told by what is different.

use std::collections::BTreeMap;

use evenfare_engine::language::Language;
use evenfare_engine::view::{OfferView, View};
use evenfare_paper::figures;
use evenfare_paper::sheet::{Block, Sheet};
use evenfare_paper::words::Words;

use crate::tables::{Table, tables};
use crate::world::{Kind, demo_stationery, quote, seen, stationery};

/// The customer's quote of each demo job that can be done in several ways, and of its opposite entry.
fn quotes() -> Vec<(View, Sheet)> {
    let stationery = stationery();
    let quotes = (1..=12).filter_map(quote).flat_map(|quote| [quote.clone(), quote.reversed().unwrap()]);
    quotes
        .filter(|quote| quote.offers.len() > 1)
        .map(|quote| {
            let sheet = Kind::Quote.sheet(&quote, &stationery, Language::English).unwrap();
            (seen(&quote, "customer"), sheet)
        })
        .collect()
}

/// What a line is of, by its name: how much, and the net.
fn lines(offer: &OfferView) -> BTreeMap<&str, (&str, i64)> {
    let lines = offer.end.lines.iter();
    lines.map(|line| (line.id.as_str(), (line.quantity.as_str(), line.net_minor))).collect()
}

/// Where it stands as quoted, and where in another way.
fn compares(table: &Table<'_>) -> Option<[usize; 2]> {
    let [quoted, other] = ["As quoted", "Alternative"].map(|head| table.headed(head));
    Some([quoted?, other?])
}

#[test]
fn every_line_that_differs_is_told_with_both_amounts() {
    let mut told = 0;
    for (view, sheet) in quotes() {
        let currency = view.currency.parse().unwrap();
        let written = |minor| figures::amount(Language::English, minor, currency);
        let or_none =
            |line: Option<&(&str, i64)>| line.map_or_else(|| "–".to_owned(), |(_, net)| written(*net));
        let prices: Vec<(Table<'_>, [usize; 2])> = tables(&sheet)
            .filter(|table| !table.totals.is_empty())
            .filter_map(|table| compares(&table).map(|places| (table, places)))
            .collect();
        assert_eq!(prices.len(), view.alternatives.len(), "{}", view.reference);
        for (offer, (table, places)) in view.alternatives.iter().zip(prices) {
            let name = format!("{} {}", view.reference, offer.offer);
            let (before, here) = (lines(&view.main), lines(offer));
            let mut rows: Vec<[&str; 2]> =
                table.rows().map(|row| places.map(|place| row.cells[place].as_str())).collect();
            let count = rows.len();
            for (id, line) in here.iter().filter(|(id, line)| before.get(*id) != Some(*line)) {
                let expected = [or_none(before.get(id)), or_none(Some(line))];
                let at = rows.iter().position(|row| *row == expected.each_ref().map(String::as_str));
                rows.remove(at.unwrap_or_else(|| panic!("{name}: no {expected:?} of {id}")));
                told += 1;
            }
            // All that is the same is one line; what falls away is one for each unit.
            let same = rows.iter().filter(|row| row[0] == row[1]).count();
            assert!(same <= 1, "{name}: {rows:?}");
            assert!(rows.iter().all(|row| row[0] == row[1] || row[1] == "–"), "{name}: {rows:?}");
            assert!(count < 20, "{name}: {count} lines");
            // What both come to; that the lines do is a law of every table.
            let net = |offer: &OfferView| written(offer.sales.last().unwrap().net_minor);
            let totals = places.map(|place| table.totals[0].cells[place].clone());
            assert_eq!(totals, [net(&view.main), net(offer)], "{name}");
        }
        let note = Words::of(Language::English).say("vat-note");
        let said =
            sheet.blocks.iter().filter(|block| matches!(block, Block::Text { text, .. } if *text == note));
        assert_eq!(said.count(), 1, "{}: of all ways it is said once", view.reference);
    }
    assert!(told > 30, "{told} lines");
}

/// The plan of the mixer stood there again, thirty rows of it the same.
#[test]
fn work_is_told_by_what_differs() {
    let quote = quote(12).unwrap();
    let sheet = Kind::Quote.sheet(&quote, &stationery(), Language::English).unwrap();
    let work: Vec<(Table<'_>, [usize; 2])> = tables(&sheet)
        .filter(|table| table.totals.is_empty())
        .filter_map(|table| compares(&table).map(|places| (table, places)))
        .collect();
    // Of an exchange there is none.
    let [(table, [quoted, other])] = work.as_slice() else { panic!("{} tables", work.len()) };
    let rows: Vec<[String; 3]> = table
        .rows()
        .map(|row| [0, *quoted, *other].map(|place| row.cells[place].replace('\u{a0}', " ")))
        .collect();
    let has = |text: &str, quoted: &str, other: &str| {
        assert!(rows.iter().any(|row| *row == [text, quoted, other]), "{text}: {rows:?}");
    };
    has("Gate driver board, six channels", "–", "1 pc");
    has("Cyclic run with a matching drive", "24 h", "48 h");
    assert!(rows.iter().all(|row| row[1] != row[2]) && rows.len() < 10, "{rows:?}");
    let found: Vec<&Vec<String>> = sheet
        .blocks
        .iter()
        .filter_map(|block| match block {
            Block::List { items, caution: false } => Some(items),
            _ => None,
        })
        .collect();
    assert!(found.contains(&&vec!["Overhaul of the whole drive stage".to_owned()]), "{found:?}");
}

/// They were English on paper of every language.
#[test]
fn alternatives_are_named_in_the_language_of_the_reader() {
    let stationery = demo_stationery();
    for number in [10, 12] {
        let quote = quote(number).unwrap();
        for &language in Language::ALL {
            for kind in [Kind::Quote, Kind::Office] {
                let sheet = kind.sheet(&quote, &stationery, language).unwrap();
                let heads: Vec<&str> = sheet
                    .blocks
                    .iter()
                    .filter_map(|block| match block {
                        Block::Heading { text } => Some(text.as_str()),
                        _ => None,
                    })
                    .collect();
                for offer in quote.offers.iter().skip(1) {
                    let is_own = heads.iter().any(|head| head.contains(&*offer.text));
                    assert_eq!(is_own, language == Language::English, "{language}: {}", offer.text);
                }
            }
        }
    }
    let (quote, german) = (quote(12).unwrap(), Language::German);
    let sheet = Kind::Quote.sheet(&quote, &stationery, german).unwrap();
    let is_head =
        |block: &Block| matches!(block, Block::Heading { text } if text == "Alternative: Austauschgerät");
    assert!(sheet.blocks.iter().any(is_head));
}

/// A job need not say more of an alternative than its name.
#[test]
fn an_alternative_without_words_goes_by_its_name() {
    let (quote, stationery) = (quote(12).unwrap(), stationery());
    let mut view = seen(&quote, "customer");
    view.alternatives[0].text = "".into();
    let given = crate::world::given(&view, &stationery, Language::English);
    let sheet = evenfare_paper::sheet::quote(&given).unwrap();
    let is_head = |block: &Block| matches!(block, Block::Heading { text } if text == "Alternative: DRIVE");
    assert!(sheet.blocks.iter().any(is_head));
}
