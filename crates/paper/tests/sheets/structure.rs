//! What stands under which heading, what is labelled as what, and what is said once.

use std::collections::BTreeSet;

use evenfare_engine::language::Language;
use evenfare_engine::view::View;
use evenfare_paper::State;
use evenfare_paper::sheet::{self, Block, Given, Sheet};

use crate::world::{Kind, given, quote, quote_of, seen, stationery};

/// What stands under each heading, or heading of a part, of those words.
fn under(sheet: &Sheet, words: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut is_under = false;
    for block in &sheet.blocks {
        let said: &[String] = match block {
            Block::Heading { text } | Block::Subheading { text } => {
                is_under = text == words;
                if is_under {
                    found.push(Vec::new());
                }
                continue;
            }
            Block::Text { text, .. } => std::slice::from_ref(text),
            Block::List { items, .. } => items,
            _ => continue,
        };
        if let Some(last) = found.last_mut().filter(|_| is_under) {
            last.extend(said.iter().map(|said| said.replace('\u{a0}', " ")));
        }
    }
    found
}

/// The customer's quote of the longest demo job; the view may be another before it is written.
fn longest(change: impl Fn(&mut View)) -> Sheet {
    let (quote, stationery) = (quote(12).unwrap(), stationery());
    let mut view = seen(&quote, "customer");
    change(&mut view);
    sheet::quote(&given(&view, &stationery, Language::English)).unwrap()
}

const COVERED: &str = "Warranty from 9 October 2026 until 9 October 2027. It ends earlier after 200,000 duty cycles \
                       counted from 9 October 2026.";
const RETURNED: &str = "No warranty is given for a unit that is returned as it came.";
const AS_QUOTED: &str = "As stated above for the job as quoted.";

#[test]
fn a_warranty_that_all_ways_share_is_said_once() {
    let said = under(&longest(|_| {}), "Warranty");
    let once = vec![format!("U1, U3: {COVERED}"), format!("U2: {RETURNED}")];
    let again = vec![format!("U1, U2, U3: {AS_QUOTED}")];
    assert_eq!(said, [once, again.clone(), again]);
}

/// Each way says what its own warranty leaves out, even where another leaves out the same; where another does not,
/// it refers to none.
#[test]
fn each_way_says_what_its_warranty_leaves_out() {
    let sheet = longest(|view| {
        let drifts = view.main.units[0].findings[0].text.clone();
        for offer in std::iter::once(&mut view.main).chain(&mut view.alternatives[..1]) {
            offer.units[0].warranty.as_mut().unwrap().excludes = vec![drifts.clone()];
        }
    });
    let left_out = "Not covered by the warranty: Current reading drifts.";
    let expected = [
        vec![format!("U1: {COVERED} {left_out}"), format!("U2: {RETURNED}"), format!("U3: {COVERED}")],
        vec![format!("U1: {AS_QUOTED} {left_out}"), format!("U2, U3: {AS_QUOTED}")],
        vec![format!("U1: {COVERED}"), format!("U2, U3: {AS_QUOTED}")],
    ];
    assert_eq!(under(&sheet, "Warranty"), expected);
}

/// A unit that is mended for free keeps the warranty that it came back under: its cycles are not counted anew from the
/// day on which it is dispatched now.
#[test]
fn cycles_are_counted_from_the_day_that_the_warranty_begins() {
    let quote = quote_of(11, |job| job.units[0].findings.truncate(1)).unwrap();
    let view = seen(&quote, "customer");
    let sheet = sheet::quote(&given(&view, &stationery(), Language::English)).unwrap();
    let kept = "Returned under the warranty of quote J-2026-0031, open until 5 March 2027. 166,500 duty cycles of it are \
                left. Warranty from 5 March 2026 until 5 March 2027. It ends earlier after 200,000 duty cycles counted \
                from 5 March 2026.";
    assert_eq!(under(&sheet, "Warranty"), [[kept]]);
}

#[test]
fn no_warranty_is_said_twice() {
    let stationery = stationery();
    let mut ways = 0;
    for quote in (1..=12).filter_map(quote) {
        let sheet = Kind::Quote.sheet(&quote, &stationery, Language::English).unwrap();
        let sections = under(&sheet, "Warranty");
        assert_eq!(sections.len(), quote.offers.len(), "{}", quote.reference);
        assert!(sections.iter().all(|section| !section.is_empty()), "{}", quote.reference);
        let said: Vec<&String> = sections.iter().flatten().filter(|said| !said.contains(AS_QUOTED)).collect();
        assert_eq!(said.len(), said.iter().collect::<BTreeSet<_>>().len(), "{}: {said:?}", quote.reference);
        ways += sections.len();
    }
    assert!(ways > 14, "{ways} ways");
}

/// It stood below the last warranty, or whatever came before it.
#[test]
fn what_goes_with_the_units_has_a_heading() {
    let (quote, stationery) = (quote(12).unwrap(), stationery());
    let view = seen(&quote, "customer");
    for number in [Some("Q-2026-000042"), None] {
        let given = Given { number, ..given(&view, &stationery, Language::English) };
        let sheet = sheet::quote(&given).unwrap();
        assert_eq!(
            under(&sheet, "Delivery"),
            [["Keep the crate: it is used for the way back."]],
            "{number:?}"
        );
    }
    // A workshop may say nothing of it, and what was taken back is not delivered.
    let mut silent = stationery.clone();
    silent.letterhead.texts.clear();
    let sheet = sheet::quote(&given(&view, &silent, Language::English)).unwrap();
    assert!(under(&sheet, "Delivery").is_empty());
    let back = seen(&quote.reversed().unwrap(), "customer");
    let given = Given { state: State::InForce, ..given(&back, &stationery, Language::English) };
    assert!(under(&sheet::quote(&given).unwrap(), "Delivery").is_empty());
}

/// Of one unit alone the sheets of the office and of a partner said nothing but its lines.
#[test]
fn every_sheet_says_which_unit_it_is_of() {
    let stationery = stationery();
    for number in [2, 4, 8] {
        let quote = quote(number).unwrap();
        let serial = seen(&quote, "office").main.units[0].serial.clone();
        for kind in Kind::ALL {
            let sheet = kind.sheet(&quote, &stationery, Language::English).unwrap();
            let is_named = |block: &Block| match block {
                Block::Text { text, .. } | Block::Heading { text } | Block::Subheading { text } => {
                    text.contains(serial.as_str())
                }
                _ => false,
            };
            assert_eq!(sheet.blocks.iter().filter(|&block| is_named(block)).count(), 1, "{}", kind.name());
        }
    }
}

/// A partner who takes a net amount for what he has to pay pays too little.
#[test]
fn what_a_partner_pays_and_keeps_is_said_to_be_net() {
    let (quote, stationery) = (quote(2).unwrap(), stationery());
    for (&language, net) in Language::ALL.iter().zip(["net", "netto", "netto", "HT", "bez DPH"]) {
        let sheet = Kind::Partner.sheet(&quote, &stationery, language).unwrap();
        let facts = sheet.blocks.iter().find_map(|block| match block {
            Block::Amounts { facts } => Some(facts),
            _ => None,
        });
        let names: Vec<&str> = facts.unwrap().iter().map(|fact| fact.name.as_str()).collect();
        assert_eq!(names.len(), 4, "{language}: {names:?}");
        assert!(names.iter().all(|name| name.ends_with(net)), "{language}: {names:?}");
    }
}
