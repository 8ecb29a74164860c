//! The working in the reader's language.

use std::collections::BTreeSet;

use evenfare_engine::language::Language;
use evenfare_engine::role::Role;
use evenfare_engine::trail::Rule;
use evenfare_paper::pdf::set;
use evenfare_paper::sheet::{Block, Followed};

use crate::pages::runs;
use crate::world::{Kind, quote, stationery};

fn working(number: u32, language: Language) -> Vec<Followed> {
    let Some(quote) = quote(number) else { return Vec::new() };
    let sheet = Kind::Office.sheet(&quote, &stationery(), language).unwrap();
    let rules = sheet.blocks.into_iter().filter_map(|block| match block {
        Block::Working { rules } => Some(rules),
        _ => None,
    });
    rules.flatten().collect()
}

/// Words of English that no other language has, of which every sentence of the engine has one.
const ENGLISH: [&str; 11] =
    ["the", "of", "at", "for", "from", "once", "known", "up", "what", "open", "until"];

#[test]
fn no_sentence_of_the_working_is_left_in_english() {
    let mut said = 0;
    for number in 1..=12 {
        for &language in Language::ALL.iter().filter(|language| **language != Language::English) {
            for rule in working(number, language) {
                let inputs = rule.figures.iter().map(|worked| &worked.inputs);
                for text in std::iter::once(&rule.rule).chain(inputs) {
                    said += 1;
                    let mut words = text.split([' ', '\u{a0}', ',', ';', '(', ')']);
                    assert!(!words.any(|word| ENGLISH.contains(&word)), "{number} {language}: {text}");
                    let is_left = |english: &str| english.contains(' ') && text.contains(english);
                    let left = Rule::ALL.iter().map(|rule| rule.text()).find(|text| is_left(text));
                    assert_eq!(left, None, "{number} {language}");
                    let left = Role::ALL.iter().map(|role| role.word()).find(|word| is_left(word));
                    assert_eq!(left, None, "{number} {language}: {text}");
                }
            }
        }
    }
    assert!(said > 1_000, "{said} texts");
}

/// Digits of results, whatever stands between them; a day is a word in part, and told apart by its rule.
#[test]
fn figures_of_the_working_are_those_of_english() {
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    for number in [2, 5, 6, 12] {
        let of = |language| {
            let rules = working(number, language);
            let figures = rules.into_iter().flat_map(|rule| rule.figures);
            figures
                .filter(|worked| !worked.figure.contains("until"))
                .map(|worked| (worked.figure, digits(&worked.result)))
                .collect::<Vec<_>>()
        };
        let english = of(Language::English);
        assert!(english.len() > 50);
        for &language in Language::ALL {
            assert_eq!(of(language), english, "{number} {language}");
        }
    }
}

/// Codes broke at their hyphens, and names of figures at their slashes.
#[test]
fn no_code_of_the_working_is_broken() {
    let language = Language::Polish;
    let sheet = Kind::Office.sheet(&quote(2).unwrap(), &stationery(), language).unwrap();
    let runs = runs(&set(&sheet, &[]).unwrap());
    let figures: Vec<_> = working(2, language).into_iter().flat_map(|rule| rule.figures).collect();
    let texts = figures.iter().flat_map(|worked| [&worked.figure, &worked.inputs]);
    let words = texts.flat_map(|text| text.split(' ')).filter(|word| word.contains(['-', '/']));
    let codes: BTreeSet<&str> = words.collect();
    assert!(codes.len() > 200, "{} codes", codes.len());
    for code in codes {
        assert!(runs.iter().any(|run| run.text.contains(code)), "`{code}` is broken");
    }
}
