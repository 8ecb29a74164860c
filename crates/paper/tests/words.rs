//! The texts of documents: every language says all that English says, with the same arguments, and nothing is
//! there that nobody says.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use evenfare_engine::category::Category;
use evenfare_engine::country::Country;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::role::Role;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::trail::Rule;
use evenfare_files::Translations;
use evenfare_paper::phrases::Phrases;
use evenfare_paper::words::{Addressee, FILES, Words, texts};

/// A message: what it is told, and its text as it is written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Message {
    told: BTreeSet<String>,
    text: String,
}

impl Message {
    /// Is it in the text itself, and not only chosen by?
    fn shows(&self, name: &str) -> bool {
        self.text.contains(&format!("{{ ${name} }}"))
    }
}

/// The messages of a file, by a reading of its own.
fn messages(text: &str) -> BTreeMap<String, Message> {
    let mut messages: BTreeMap<String, Message> = BTreeMap::new();
    let mut last = String::new();
    for line in text.lines().filter(|line| !line.starts_with('#') && !line.is_empty()) {
        let text = match line.split_once(" = ") {
            Some((id, text)) if !line.starts_with([' ', '}']) => {
                last = id.to_owned();
                assert!(messages.insert(last.clone(), Message::default()).is_none(), "{id} is there twice");
                text
            }
            _ => line,
        };
        let message = messages.get_mut(&last).unwrap();
        message.text.push_str(text);
        let names = text.split('$').skip(1);
        message.told.extend(
            names.map(|name| name.split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap().to_owned()),
        );
    }
    messages
}

fn files_of(language: Language) -> Vec<(&'static str, BTreeMap<String, Message>)> {
    FILES.iter().copied().zip(texts(language)).map(|(file, text)| (file, messages(text))).collect()
}

#[test]
fn every_language_says_what_english_says() {
    let english = files_of(Language::English);
    let mut ids: Vec<&String> = english.iter().flat_map(|(_, messages)| messages.keys()).collect();
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count, "a name is in two files");
    assert!(count > 100, "{count} messages");
    for &language in Language::ALL {
        for ((file, of_english), (_, own)) in english.iter().zip(files_of(language)) {
            let names = |messages: &BTreeMap<String, Message>| messages.keys().cloned().collect::<Vec<_>>();
            assert_eq!(names(of_english), names(&own), "{language}/{file}");
            for (id, message) in &own {
                // What only chooses between singular and plural may be of no use in another language.
                let told = &of_english[id].told;
                assert!(message.told.is_subset(told), "{language}/{file}: {id} is not told that much");
                for name in told.iter().filter(|name| of_english[id].shows(name)) {
                    assert!(message.shows(name), "{language}/{file}: {id} does not show {name}");
                }
                assert!(!message.text.trim().is_empty(), "{language}/{file}: {id} says nothing");
            }
        }
    }
}

/// What cannot be read of a file would be said in English, or not at all.
#[test]
fn every_message_can_be_said() {
    for &language in Language::ALL {
        let words = Words::of(language);
        for (file, messages) in files_of(language) {
            for (id, message) in messages {
                for number in [0_u64, 1, 2, 5, 22, 1_234_567] {
                    let told: Vec<_> =
                        message.told.iter().map(|name| (name.as_str(), number.into())).collect();
                    let said = words.say_with(&id, &told);
                    let is_whole = !said.trim().is_empty() && !said.contains(['{', '}', '$']) && said != id;
                    assert!(
                        is_whole || said == id && message.text == id,
                        "{language}/{file}: {id} says {said}"
                    );
                    if language != Language::English && message.text.len() > 40 && !message.text.contains('{')
                    {
                        assert_eq!(said, message.text, "{language}/{file}: {id}");
                    }
                }
            }
        }
    }
}

#[test]
fn no_message_is_left_over() {
    fn sources(dir: &Path, into: &mut String) {
        for entry in fs::read_dir(dir).unwrap().map(Result::unwrap) {
            match entry.path() {
                path if path.is_dir() => sources(&path, into),
                path => into.push_str(&fs::read_to_string(path).unwrap_or_default()),
            }
        }
    }
    let mut source = String::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut source);
    // By names of the engine, which `every_step_of_the_working_has_words_in_every_language` goes through.
    let named = |id: &str| id.starts_with("rule-") || id.starts_with("input-");
    for (file, messages) in files_of(Language::English) {
        for id in messages.keys().filter(|id| !named(id)) {
            assert!(source.contains(&format!("\"{id}\"")), "nobody says {id} of {file}");
        }
    }
}

/// A sentence of another language that is the English one was forgotten.
#[test]
fn nothing_is_left_in_english() {
    let english = files_of(Language::English);
    for &language in Language::ALL.iter().skip(1) {
        for ((file, of_english), (_, own)) in english.iter().zip(files_of(language)) {
            for (id, message) in own {
                let is_sentence = message.text.split(' ').filter(|word| word.len() > 2).count() > 3;
                assert!(!is_sentence || message != of_english[&id], "{language}/{file}: {id}");
            }
        }
    }
}

#[test]
fn plurals_are_those_of_the_language() {
    let check = |language, id, count: u64, expected: &str| {
        let said = Words::of(language).say_with(id, &[("count", count.into())]);
        assert_eq!(said.replace('\u{a0}', " "), expected, "{language}");
    };
    check(Language::Polish, "cycles", 1, "1 cykl pracy");
    check(Language::Polish, "cycles", 3, "3 cykle pracy");
    check(Language::Polish, "cycles", 12, "12 cykli pracy");
    check(Language::Polish, "cycles", 200_000, "200 000 cykli pracy");
    check(Language::Czech, "days", 1, "1 den");
    check(Language::Czech, "days", 4, "4 dny");
    check(Language::Czech, "days", 30, "30 dnů");
    check(Language::French, "days", 0, "0 jour");
    check(Language::German, "days", 14, "14 Tage");
    check(Language::English, "cycles", 200_000, "200,000 duty cycles");
}

#[test]
fn quantities_have_units_of_the_language() {
    let check = |language, quantity: &str, expected: &str| {
        assert_eq!(Words::of(language).quantity(quantity).replace('\u{a0}', " "), expected);
    };
    check(Language::German, "2 set", "2 Sätze");
    check(Language::Czech, "5 set", "5 sad");
    check(Language::Czech, "1.5 set", "1,5 sady");
    check(Language::Polish, "1200 pc", "1200 szt.");
    check(Language::English, "1 pc", "1 pc");
    check(Language::French, "104.5 min", "104,5 min");
    check(Language::German, "", "");
    check(Language::German, "3 furlong", "3 furlong");
}

/// Directive 2006/112/EC Art. 226(11a) has an invoice say so, each language version in words of its own.
#[test]
fn reverse_charge_is_said_as_the_directive_has_it() {
    let said = Language::ALL.iter().map(|&language| Words::of(language).vat_reason(VatCategory::AE).unwrap());
    let expected = [
        "Reverse charge",
        "Steuerschuldnerschaft des Leistungsempfängers",
        "Odwrotne obciążenie",
        "Autoliquidation",
        "Daň odvede zákazník",
    ];
    assert!(said.eq(expected));
    assert_eq!(Words::of(Language::German).vat_reason(VatCategory::S), None);
}

/// What the engine can put into a working is a closed list, and English says it as the engine does.
#[test]
fn every_step_of_the_working_has_words_in_every_language() {
    let typeset = |text: &str| text.replace(" x ", " × ").replace(" - ", " − ").replace('\'', "’");
    let count = |messages: &BTreeMap<String, Message>, kind: &str| {
        messages.keys().filter(|id| id.starts_with(kind)).count()
    };
    for &language in Language::ALL {
        let words = Words::of(language);
        let messages = files_of(language).into_iter().find(|(file, _)| *file == "working.ftl").unwrap().1;
        assert_eq!(count(&messages, "rule-"), Rule::ALL.len(), "{language}");
        assert_eq!(count(&messages, "input-"), Role::ALL.len(), "{language}");
        let rules = Rule::ALL.iter().map(|rule| (words.rule(*rule), typeset(rule.text())));
        for (said, english) in rules {
            assert!(!said.starts_with("rule-"), "{language}: {said}");
            assert_eq!(said == english, language == Language::English, "{language}: {said}");
        }
        for role in Role::ALL {
            let said = words.role(role.word());
            assert!(!said.starts_with("input-"), "{language}: {said}");
            // `minimum` and `minutes` are words of several languages, sentences are not.
            let is_word = !role.word().contains(' ');
            assert!(
                is_word || (said == role.word()) == (language == Language::English),
                "{language}: {said}"
            );
        }
    }
}

#[test]
fn every_word_of_the_engine_has_one_of_each_language() {
    for &language in Language::ALL {
        let words = Words::of(language);
        let categories = Category::ALL.iter().map(|&category| words.category(category));
        let tasks = Task::ALL.iter().map(|&task| words.task(task));
        let readers = [Addressee::Office, Addressee::Partner, Addressee::Customer];
        let flags = Flag::ALL.iter().flat_map(|&flag| readers.map(|reader| words.flag(flag, reader, &[])));
        for said in categories.chain(tasks).chain(flags) {
            assert!(said.chars().next().unwrap().is_uppercase(), "{language}: {said}");
        }
    }
}

/// Who embeds the engine alone has the words of the office's documents.
#[test]
fn flags_are_said_as_the_engine_says_them() {
    for flag in Flag::ALL {
        let said = Words::of(Language::English).flag(*flag, Addressee::Office, &[]);
        let (first, rest) = flag.text().split_at(1);
        assert_eq!(said, format!("{}{}.", first.to_uppercase(), rest.replace('\'', "’")));
    }
}

#[test]
fn reasons_are_told_in_the_language_of_the_reader() {
    let plain = Translations::default();
    let found = |code: &str, text: &str| OfferedFinding {
        code: code.parse().unwrap(),
        text: text.parse().unwrap(),
        position: None,
        times: 1,
        covered: false,
    };
    let findings = [found("RELAY-BURNT", "Relaiskontakte verschmort"), found("PSU", "Netzteil defekt")];
    // A step at K7.
    let check = |language, why: &str, expected: &str| {
        let step = PlanStep {
            category: Category::Part,
            code: "RELAY".parse().unwrap(),
            text: "Relay".parse().unwrap(),
            quantity: "1 pc".into(),
            position: Some("K7".into()),
            why: why.parse().unwrap(),
        };
        let told = Phrases::new(language, &plain).why(&step, &findings);
        assert_eq!(told.replace('\u{a0}', " "), expected);
    };
    check(
        Language::German,
        "finding RELAY-BURNT at K7; refresh, from 400000 cycles; not known, so taken for due",
        "Relaiskontakte verschmort; Erneuerungsliste: ab 400.000 Schaltspielen; nicht bekannt, daher als fällig angesehen",
    );
    // Another place is said, and what nobody has found is said by its code.
    check(
        Language::German,
        "finding FAN at M1; finding PSU; finding RELAY-BURNT at K9",
        "Befund FAN (M1); Netzteil defekt; Relaiskontakte verschmort (K9)",
    );
    check(Language::Polish, "refresh, from 8 years", "Lista wymian: od 8 lat");
    check(
        Language::Czech,
        "refresh, from 62.5 % of its life used (W-CAP)",
        "Seznam obnovy: od 62,5 % spotřebované životnosti",
    );
    check(Language::French, "test of the family", "Essai prévu pour la gamme");
    check(Language::English, "refresh, always", "Refresh list: always");
}

#[test]
fn countries_have_a_name_in_each_language() {
    let union: Vec<Country> = Country::all().filter(Country::is_eu).collect();
    assert_eq!(union.len(), 27);
    for &language in Language::ALL {
        let names: BTreeSet<String> =
            union.iter().map(|country| Words::of(language).country(*country)).collect();
        assert_eq!(names.len(), 27, "{language}: two countries of one name");
    }
    for country in Country::all() {
        assert_eq!(Words::of(Language::English).country(country), country.name());
        // What the engine names has a name in each language: `Japan` stood on French paper.
        let (is_named, id) =
            (country.name() != country.as_str(), format!("country-{country}").to_lowercase());
        for &language in Language::ALL {
            assert_eq!(Words::of(language).say(&id) != id, is_named, "{language}: {country}");
            assert_eq!(
                Words::of(language).country(country) != country.as_str(),
                is_named,
                "{language}: {country}"
            );
        }
    }
    let of = |language, code: &str| Words::of(language).country(code.parse().unwrap());
    assert_eq!(of(Language::Czech, "SK"), "Slovensko");
    assert_eq!(of(Language::German, "CH"), "Schweiz");
    assert_eq!(of(Language::French, "GB"), "Royaume-Uni");
    assert_eq!(of(Language::French, "JP"), "Japon");
}
