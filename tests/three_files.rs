//! A job as a TOML file, as a JSON file and as a message of the wire gives one and the same quote.
//!
//! The jobs are those of the worked example, and jobs under tariffs that are drawn at random, the
//! same that the laws of pricing are held on. `PROPTEST_CASES` says how many; each law tells on
//! standard error what it has seen.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

/// The worlds of the laws, with more in them than is needed here.
#[allow(dead_code, unused_imports)]
mod laws {
    pub mod tape;
    pub mod worlds;
}

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use std::sync::LazyLock;

use evenfare::wire::{WrittenQuote, pb};
use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Text;
use evenfare_engine::view::{Reader, RefusedView, View, view};
use evenfare_engine::{Refused, quote};
use evenfare_files::{parse_job, read_job, read_tariff};
use laws::tape;
use laws::tape::Tapes;
use laws::worlds::{Recipe, World};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseResult, TestRunner};
use prost::Message;
use prost_reflect::{DescriptorPool, DynamicMessage, ReflectMessage};
use serde_json::Value as Json;

/// The ways in, each with a name and the job as it comes out of it.
fn ways_in(job: &Job) -> Vec<(&'static str, Job)> {
    let toml = toml::to_string(job).unwrap();
    let json = serde_json::to_string(job).unwrap();
    let bytes = pb::Job::from(job).encode_to_vec();
    let file = |name: &str, text: &str| match parse_job(name, text) {
        Ok((job, _)) => job,
        Err(report) => panic!("{report:?}\n{text}"),
    };
    vec![
        ("TOML", file("job.toml", &toml)),
        ("TOML with dates of its own", file("job.toml", &with_bare_dates(&toml))),
        ("JSON", file("job.json", &json)),
        ("wire", pb::Job::decode(&*bytes).unwrap().try_into().unwrap()),
    ]
}

/// `received = "2026-07-14"` becomes `received = 2026-07-14`, as people write it.
fn with_bare_dates(toml: &str) -> String {
    let bare = |line: &str| {
        let (key, value) = line.split_once(" = \"")?;
        let is_date = ["received", "quoted", "dispatch", "tax_date", "built", "dispatched"].contains(&key);
        is_date.then(|| format!("{key} = {}\n", value.trim_end_matches('"')))
    };
    toml.lines().map(|line| bare(line).unwrap_or_else(|| format!("{line}\n"))).collect()
}

fn bytes(quote: &Quote) -> Vec<u8> {
    serde_json::to_vec(&view(quote, &Reader::Office)).unwrap()
}

/// The quote, or the reason why there is none, by each way in.
fn one_quote(job: &Job, edition: &Edition) -> Result<Result<Quote, Refused>, TestCaseError> {
    let expected = quote(job, edition);
    for (way, read) in ways_in(job) {
        prop_assert_eq!(&read, job, "the job as {}", way);
        match (&expected, quote(&read, edition)) {
            (Ok(expected), Ok(got)) => prop_assert!(bytes(expected) == bytes(&got), "the quote as {}", way),
            (Err(expected), Err(got)) => prop_assert_eq!(expected, &got, "the refusal as {}", way),
            (expected, got) => prop_assert!(false, "{}: {:?} and {:?}", way, expected, got),
        }
    }
    Ok(expected)
}

/// What every reader sees of a quote, and what the office sees of its reversal.
fn same_figures(quote: &Quote, amounts: &mut usize) -> Result<(), TestCaseError> {
    let partners = quote.route.iter().map(|party| Reader::Partner(party.code.clone()));
    for reader in [Reader::Office, Reader::Customer].into_iter().chain(partners) {
        same_view(&view(quote, &reader).unwrap(), amounts)?;
    }
    same_view(&view(&quote.reversed().unwrap(), &Reader::Office).unwrap(), amounts)
}

fn same_view(view: &View, amounts: &mut usize) -> Result<(), TestCaseError> {
    let (by_json, by_wire) = (said_by_json(view), said_by_wire(view));
    *amounts += by_wire.keys().filter(|path| path.ends_with("_minor")).count();
    for (path, leaf) in &by_json {
        prop_assert_eq!(by_wire.get(path), Some(leaf), "{}", path);
    }
    for path in by_wire.keys() {
        prop_assert!(by_json.contains_key(path), "{} is on the wire alone", path);
    }
    Ok(())
}

/// Everything that is said, each with its place; in the words of the JSON.
type Said = BTreeMap<String, String>;

/// What is empty or no stands for itself on the wire; an amount of nothing is sent.
fn say(said: &mut Said, path: &str, leaf: String) {
    if path.ends_with("_minor") || !["", "0", "false"].contains(&&*leaf) {
        assert!(said.insert(path.trim_start_matches('.').to_owned(), leaf).is_none(), "{path} is said twice");
    }
}

fn said_by_json(view: &View) -> Said {
    fn walk(value: &Json, path: &str, said: &mut Said) {
        match value {
            Json::Object(fields) => {
                fields.iter().for_each(|(name, value)| walk(value, &format!("{path}.{name}"), said))
            }
            Json::Array(list) => (0..)
                .zip(list)
                .for_each(|(nth, value): (usize, _)| walk(value, &format!("{path}[{nth}]"), said)),
            Json::Null => {}
            Json::String(text) => say(said, path, text.clone()),
            other => say(said, path, other.to_string()),
        }
    }
    let mut said = Said::new();
    walk(&serde_json::to_value(view).unwrap(), "", &mut said);
    said
}

/// The same from the bytes of the message, read back by the descriptor that a client would read.
fn said_by_wire(view: &View) -> Said {
    static POOL: LazyLock<DescriptorPool> =
        LazyLock::new(|| DescriptorPool::decode(pb::FILE_DESCRIPTOR_SET).unwrap());
    let quote = POOL.get_message_by_name("evenfare.v1.Quote").unwrap();
    let sent = WrittenQuote::from(view);
    let mut said = Said::new();
    walk(&DynamicMessage::decode(quote, sent.as_bytes()).unwrap(), "", &view.currency, &mut said);
    said
}

fn walk(message: &DynamicMessage, path: &str, currency: &str, said: &mut Said) {
    let of = message.descriptor().name().to_owned();
    for (field, value) in message.fields() {
        // Where the JSON has another name, or one level less.
        let name = match (&*of, field.name()) {
            ("Quote", "main") | ("Route", "partners") | ("CostList", "costs") => String::new(),
            ("Quote", "currency_code") => ".currency".to_owned(),
            ("Party", name @ ("country_code" | "language_code")) => {
                format!(".{}", name.trim_end_matches("_code"))
            }
            ("Offer" | "RefusedOffer", "id") => ".offer".to_owned(),
            ("WorkingInput", "figure" | "tariff" | "job") => format!(".from.{}", field.name()),
            (_, name) => format!(".{}", name.trim_end_matches("_percent")),
        };
        let path = format!("{path}{name}");
        match value {
            prost_reflect::Value::List(list) => {
                for (nth, value) in list.iter().enumerate() {
                    leaf(&field, value, &format!("{path}[{nth}]"), currency, said);
                }
            }
            value => leaf(&field, value, &path, currency, said),
        }
    }
}

fn leaf(
    field: &prost_reflect::FieldDescriptor,
    value: &prost_reflect::Value,
    path: &str,
    currency: &str,
    said: &mut Said,
) {
    use prost_reflect::{Kind, Value};
    let number = |message: &DynamicMessage, name| message.get_field_by_name(name).unwrap().to_string();
    match (field.kind(), value) {
        (Kind::Message(kind), Value::Message(money)) if kind.name() == "Money" => {
            assert_eq!(money.get_field_by_name("currency_code").unwrap().as_str(), Some(currency));
            say(said, &format!("{path}_minor"), number(money, "amount_minor"));
        }
        (Kind::Message(kind), Value::Message(date)) if kind.full_name() == "google.type.Date" => {
            let date: pb::Date = date.transcode_to().unwrap();
            say(said, path, format!("{:04}-{:02}-{:02}", date.year, date.month, date.day));
        }
        (_, Value::Message(message)) => walk(message, path, currency, said),
        (Kind::Enum(kind), Value::EnumNumber(number)) => {
            // CATEGORY_PART of Category is `part`; only VAT categories keep their capitals.
            let (value, is_vat) = (kind.get_value(*number).unwrap(), kind.name() == "VatCategory");
            let prefix = if is_vat { "VAT_CATEGORY_".len() } else { kind.name().len() + 1 };
            let word = &value.name()[prefix..];
            say(said, path, if is_vat { word.to_owned() } else { word.to_lowercase() });
        }
        (_, Value::String(text)) => say(said, path, text.clone()),
        (_, other) => say(said, path, other.to_string()),
    }
}

/// The test harness captures `eprintln!` and not this.
fn told(law: &str, what: &str) {
    let _ = writeln!(std::io::stderr().lock(), "law {law}: {what}");
}

/// Holds a law on a job and its edition for each case.
fn drawn(law: &str, check: impl FnMut(&Job, &Edition) -> TestCaseResult) {
    let config = Config { failure_persistence: None, max_shrink_iters: 20_000, ..Config::default() };
    let check = RefCell::new(check);
    // Texts of a world are plain; what people write is not.
    let name = prop_oneof!["[^\\p{Cc}]{0,60}", "[\"'\\\\#\\[\\]{}=,:ßé🧰 ]{0,20}"];
    let held = TestRunner::new(config).run(&(Tapes { of: Recipe }, name), |(recipe, name)| {
        let Ok(World { edition, mut job, .. }) = World::new(&recipe.0) else { return Ok(()) };
        if !name.is_empty() {
            job.units[0].serial = name.parse::<Text>().unwrap();
            job.customer.name = name.parse::<Text>().unwrap();
        }
        check.borrow_mut()(&job, &edition)
    });
    held.unwrap_or_else(|error| panic!("law {law} does not hold: {error}"));
}

fn demo() -> (evenfare_files::Tariffs, Vec<Job>) {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff")).unwrap();
    let files = std::fs::read_dir(bakery.join("jobs")).unwrap().map(|entry| entry.unwrap().path());
    let jobs: Vec<Job> = files.map(|path| read_job(&path).unwrap().0).collect();
    assert_eq!(jobs.len(), 12);
    (tariffs, jobs)
}

#[test]
fn three_files_one_quote_in_the_worked_example() {
    let (tariffs, jobs) = demo();
    let mut amounts = 0;
    for job in jobs {
        let edition = tariffs.on(job.received).unwrap();
        if let Ok(quote) = one_quote(&job, edition).unwrap() {
            same_figures(&quote, &mut amounts).unwrap();
            // No job of the example has one, and worlds seldom do.
            let mut office = view(&quote, &Reader::Office).unwrap();
            let (shares_minor, available_minor) = (Some(2), Some(3));
            let offer = "OTHER".into();
            let refused_by = "P-1".parse().ok();
            let refused = RefusedView { offer, end_net_minor: 1, shares_minor, available_minor, refused_by };
            office.refused.push(refused);
            same_view(&office, &mut amounts).unwrap();
        }
    }
    assert!(amounts > 1_000, "{amounts} amounts compared");
}

#[test]
fn three_files_one_quote() {
    let (mut quotes, mut refusals) = (0, 0);
    drawn("three_files_one_quote", |job, edition| {
        match one_quote(job, edition)? {
            Ok(_) => quotes += 1,
            Err(_) => refusals += 1,
        }
        Ok(())
    });
    let cases = quotes + refusals;
    told(
        "three_files_one_quote",
        &format!("{cases} cases by 4 ways in, {quotes} quotes and {refusals} refusals"),
    );
    assert!(cases < 100 || quotes * 3 > cases * 2, "{quotes} quotes in {cases} cases");
}

#[test]
fn wire_and_json_carry_the_same_figures() {
    let (mut cases, mut quotes, mut amounts) = (0, 0, 0);
    drawn("wire_and_json_carry_the_same_figures", |job, edition| {
        cases += 1;
        if let Ok(quote) = quote(job, edition) {
            quotes += 1;
            same_figures(&quote, &mut amounts)?;
        }
        Ok(())
    });
    let what =
        format!("{cases} cases, {quotes} quotes and their reversals for every reader, {amounts} amounts");
    told("wire_and_json_carry_the_same_figures", &what);
    assert!(cases < 100 || quotes * 3 > cases * 2, "{quotes} quotes in {cases} cases");
}
