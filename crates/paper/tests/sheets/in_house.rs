//! What stays in the house: the office's sheet, and the bench's.

use evenfare_engine::category::Category;
use evenfare_engine::language::Language;
use evenfare_paper::sheet::{self, Block, Column, Given, Rows, Sheet, Width};
use evenfare_paper::words::Words;

use crate::tables::tables;
use crate::world::{Kind, given, here, quote, seen, stationery};

const INTERNAL: [&str; 5] = [
    "Internal, not to be sent",
    "Intern, nicht zum Versand",
    "Dokument wewnętrzny, nie wysyłać",
    "Document interne, ne pas envoyer",
    "Interní, neodesílat",
];

fn fact<'a>(sheet: &'a Sheet, name: &str) -> Option<&'a str> {
    sheet.facts.iter().find(|fact| fact.name == name).map(|fact| fact.value.as_str())
}

/// An address in the window of an envelope asks for the sheet to be sent, with cost and shares on it.
#[test]
fn nothing_of_the_house_has_an_address() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    for (&language, internal) in Language::ALL.iter().zip(INTERNAL) {
        for kind in [Kind::Office, Kind::Bench] {
            let sheet = kind.sheet(&quote, &stationery, language).unwrap();
            assert_eq!(sheet.recipient, [internal], "{}", kind.name());
            assert!(sheet.head.sender.is_empty() && sheet.head.foot.is_empty(), "{}", kind.name());
            let customer = Words::of(language).say("customer");
            assert_eq!(fact(&sheet, &customer), Some(quote.customer.name.as_str()), "{}", kind.name());
        }
    }
}

/// Tables below a heading of a part of that name, up to the next one.
fn below<'a>(sheet: &'a Sheet, heading: &str) -> Vec<(&'a [Column], &'a [Rows])> {
    let mut is_below = false;
    let mut tables = Vec::new();
    for block in &sheet.blocks {
        match block {
            Block::Heading { text } | Block::Subheading { text } => is_below = text == heading,
            Block::Table { columns, groups, .. } if is_below => tables.push((&**columns, &**groups)),
            _ => {}
        }
    }
    tables
}

/// The codes of a group of a table that is ticked off.
fn codes(group: &Rows) -> Vec<&str> {
    group.rows.iter().map(|row| row.cells[2].as_str()).collect()
}

/// "Unpack" stood last of a list of parts to be replaced.
#[test]
fn work_is_no_part_of_the_refresh_list() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    let sheet = Kind::Bench.sheet(&quote, &stationery, Language::English).unwrap();
    let view = seen(&quote, "office");
    let planned = |is_of_it: fn(Category) -> bool| {
        let plan = view.main.units.iter().flat_map(|unit| &unit.plan);
        let mut codes: Vec<&str> =
            plan.filter(|step| is_of_it(step.category)).map(|step| step.code.as_str()).collect();
        codes.sort_unstable();
        codes
    };
    let work = below(&sheet, "Work steps");
    let [(_, [steps])] = work.as_slice() else { panic!("{work:?}") };
    let mut done = codes(steps);
    assert!(done.contains(&"OP-INTAKE") && done.contains(&"OP-SAFE"), "{done:?}");
    done.sort_unstable();
    assert_eq!(done, planned(|category| !matches!(category, Category::Part | Category::Test)));
    let parts = below(&sheet, "Parts");
    let [(_, [found, refresh])] = parts.as_slice() else { panic!("{parts:?}") };
    assert_eq!(found.head.as_deref(), Some("For what was found"));
    assert_eq!(refresh.head.as_deref(), Some("Refresh list: parts to be replaced"));
    assert!(refresh.rows.iter().all(|row| row.note.as_ref().unwrap().starts_with("Refresh list")));
    assert!(found.rows.iter().all(|row| !row.note.as_ref().unwrap().starts_with("Refresh list")));
    let mut replaced = [codes(found), codes(refresh)].concat();
    replaced.sort_unstable();
    assert_eq!(replaced, planned(|category| category == Category::Part));
}

/// By codes, calibrating came first and unpacking last.
#[test]
fn work_stands_in_the_order_of_the_tariff() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    let file = here().join("../../examples/bakery/tariff/2026-07/operations.csv");
    let file = std::fs::read_to_string(file).unwrap();
    let view = seen(&quote, "office");
    let plan = || view.main.units.iter().flat_map(|unit| &unit.plan);
    let rows = file.lines().filter_map(|line| line.split_once(',')).map(|(code, _)| code);
    let expected: Vec<&str> = rows.filter(|code| plan().any(|step| step.code.as_str() == *code)).collect();
    let sheet = Kind::Bench.sheet(&quote, &stationery, Language::English).unwrap();
    let work = below(&sheet, "Work steps");
    let [(_, [steps])] = work.as_slice() else { panic!("{work:?}") };
    assert_eq!(codes(steps), expected);
    assert_eq!((expected.first(), expected.last()), (Some(&"OP-INTAKE"), Some(&"OP-FINAL")));
    // The customer reads it in that order too.
    let text_of = |code: &&str| plan().find(|step| step.code.as_str() == *code).unwrap().text.as_str();
    let expected: Vec<&str> = expected.iter().map(text_of).collect();
    let sheet = Kind::Quote.sheet(&quote, &stationery, Language::English).unwrap();
    let told = tables(&sheet).flat_map(|table| table.rows()).map(|row| row.cells[0].as_str());
    assert_eq!(told.filter(|text| expected.contains(text)).collect::<Vec<_>>(), expected);
}

/// Four boxes without a word stood beneath each test.
#[test]
fn each_box_of_a_test_says_what_it_is_for() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    let results = [
        ["Pass", "Fail", "Initials"],
        ["i. O.", "nicht i. O.", "Kürzel"],
        ["Zgodny", "Niezgodny", "Inicjały"],
        ["Conforme", "Non conforme", "Paraphe"],
        ["Vyhovuje", "Nevyhovuje", "Iniciály"],
    ];
    for (&language, results) in Language::ALL.iter().zip(results) {
        let sheet = Kind::Bench.sheet(&quote, &stationery, language).unwrap();
        let tests = below(&sheet, &Words::of(language).say("test-programme"));
        assert_eq!(tests.len(), 2, "{language}: one for each programme");
        for (columns, groups) in tests {
            let heads: Vec<&str> = columns.iter().map(|column| column.head.as_str()).collect();
            assert_eq!(heads[3..], results);
            let boxes: Vec<Width> = columns[2..].iter().map(|column| column.width).collect();
            assert_eq!(boxes, [Width::Room, Width::Tick, Width::Tick, Width::Room]);
            assert!(heads.iter().all(|head| !head.is_empty()), "{language}: {heads:?}");
            let cells = || groups.iter().flat_map(|group| &group.rows).flat_map(|row| &row.cells);
            assert!(cells().count() > 0 && cells().all(String::is_empty), "{language}: {groups:?}");
        }
    }
}

/// A number that is not there yet has no revision.
#[test]
fn a_draft_is_of_no_revision() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    let partner = &quote.route.last().unwrap().code;
    let [customer, office, his] =
        ["customer", "office", &format!("partner:{partner}")].map(|reader| seen(&quote, reader));
    for (number, revision) in [(Some("Q-2026-000042"), Some("1")), (None, None)] {
        let of = |view| Given { number, ..given(view, &stationery, Language::English) };
        let sheets = [
            sheet::quote(&of(&customer)),
            sheet::office(&of(&office)),
            sheet::bench(&of(&office), "main"),
            sheet::partner(&of(&his), partner),
        ];
        for sheet in sheets.map(Result::unwrap) {
            assert_eq!(fact(&sheet, "Revision"), revision, "{}", sheet.heading);
            assert_eq!(fact(&sheet, "Reference"), Some("J-2026-0238"), "{}", sheet.heading);
        }
    }
}
