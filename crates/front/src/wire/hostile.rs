//! Messages that are no job: everything wrong is said at once, nothing is taken for right, and
//! nothing brings the process down.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test may fail")]

use evenfare_engine::job::Job;
use evenfare_engine::problem::Problem;
use proptest::collection::vec;
use proptest::prelude::*;
use prost::Message;

use super::pb;

fn good() -> pb::Job {
    pb::Job {
        reference: "J-1".into(),
        received: Some(pb::Date { year: 2026, month: 7, day: 14 }),
        customer: Some(pb::Customer {
            name: "Mill".into(),
            country_code: "DE".into(),
            business: true,
            ..pb::Customer::default()
        }),
        route: vec![pb::Stop {
            partner: "P-1".into(),
            takes_over: Some(pb::TakenOver { works: vec![1, 5] }),
        }],
        units: vec![pb::Unit {
            family: "DRV-A".into(),
            declared_value: "900".into(),
            parcels: vec![pb::Parcel {
                length_cm: "40".into(),
                width_cm: "30".into(),
                height_cm: "20.5".into(),
                weight_kg: "7.25".into(),
            }],
            findings: vec![pb::Finding { code: "F-1".into(), ..pb::Finding::default() }],
            ..pb::Unit::default()
        }],
        ..pb::Job::default()
    }
}

fn problems(wire: pb::Job) -> Vec<Problem> {
    Job::try_from(wire).map_or_else(|invalid| invalid.problems().to_vec(), |_| Vec::new())
}

/// What a change of a good message is refused for: place, code, what was found.
fn check(change: impl FnOnce(&mut pb::Job), expect: &[(&str, &str, &str)]) {
    let mut wire = good();
    change(&mut wire);
    let got = problems(wire);
    let got: Vec<_> =
        got.iter().map(|problem| (problem.place.as_str(), problem.code, &*problem.found)).collect();
    assert_eq!(got, expect);
}

#[test]
fn a_good_message_is_taken() {
    check(|_| {}, &[]);
    check(|wire| wire.units[0].class = Some(String::new()), &[]);
    check(|wire| wire.route[0].takes_over = Some(pb::TakenOver::default()), &[]);
}

#[test]
fn an_empty_message_lacks_all_that_is_needed() {
    let got = problems(pb::Job::default());
    let got: Vec<_> = got.iter().map(ToString::to_string).collect();
    assert_eq!(
        got,
        [
            "reference: found `nothing`, expected a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -",
            "received: found `nothing`, expected a whole day of the calendar: year, month and day",
            "customer: found `nothing`, expected the end customer",
        ]
    );
}

#[test]
fn everything_wrong_is_said_at_once_and_in_order() {
    check(
        |wire| {
            wire.reference = "two words".into();
            wire.currency_code = Some("eur".into());
            wire.received = Some(pb::Date { year: 2026, month: 7, day: 0 });
            wire.dispatch = Some(pb::Date { year: 2026, month: 2, day: 30 });
            let customer = wire.customer.as_mut().unwrap();
            customer.name = "a\u{1b}[31mb".into();
            customer.country_code = "EL".into();
            wire.route[0].takes_over.as_mut().unwrap().works = vec![1, 0, 77];
            wire.extras = vec!["URGENT".into(), String::new()];
            let mut second = wire.units[0].clone();
            second.declared_value = "NaN".into();
            second.task = -1;
            second.parcels[0].weight_kg = "-1".into();
            second.parcels[0].height_cm = "1e3".into();
            second.findings.push(pb::Finding { position: Some("?".into()), ..pb::Finding::default() });
            second.returned = Some(pb::Returned::default());
            wire.units.push(second);
            wire.alternatives = vec![pb::Alternative {
                changes: vec![pb::Change { task: 4, ..pb::Change::default() }],
                ..pb::Alternative::default()
            }];
        },
        &[
            ("reference", "not_a_code", "two words"),
            ("received", "partial_date", "2026-07-00"),
            ("dispatch", "not_a_date", "2026-02-30"),
            ("currency", "unknown_currency", "eur"),
            ("customer.name", "not_a_line", "a\\u{1b}[31mb"),
            ("customer.country", "unknown_country", "EL"),
            ("route[0].takes_over[1]", "unknown_number", "0"),
            ("route[0].takes_over[2]", "unknown_number", "77"),
            ("extras[1]", "missing_field", ""),
            ("units[1].declared_value", "not_a_number", "NaN"),
            ("units[1].task", "unknown_number", "-1"),
            ("units[1].parcels[0].height_cm", "not_a_number", "1e3"),
            ("units[1].parcels[0].weight_kg", "out_of_range", "-1"),
            ("units[1].findings[1].code", "missing_field", ""),
            ("units[1].findings[1].position", "not_a_code", "?"),
            ("units[1].returned.quote", "missing_field", ""),
            ("units[1].returned.dispatched", "missing_field", ""),
            ("alternatives[0].id", "missing_field", ""),
            ("alternatives[0].changes[0].unit", "missing_field", ""),
            ("alternatives[0].changes[0].task", "unknown_number", "4"),
        ],
    );
}

#[test]
fn numbers_are_plain_decimals_or_refused() {
    let wrong = |value: &'static str, code: &'static str| {
        check(
            |wire| wire.units[0].declared_value = value.into(),
            &[("units[0].declared_value", code, value)],
        );
    };
    for value in [
        "NaN",
        "inf",
        "-Infinity",
        "1e9",
        "0x10",
        "1,000",
        "1_000",
        "+1",
        ".5",
        "5.",
        "١٢",
        " 1",
        "1 ",
        "1.2.3",
    ] {
        wrong(value, "not_a_number");
    }
    wrong("-0.01", "out_of_range");
    wrong("1000000001", "out_of_range");
    wrong("0.00001", "too_many_decimals");
}

#[test]
fn a_country_that_is_meant_is_named() {
    let mut wire = good();
    wire.customer.as_mut().unwrap().country_code = "el".into();
    let expected = &problems(wire)[0].expected;
    assert!(expected.contains("DE"), "{expected}");
    let mut wire = good();
    wire.customer.as_mut().unwrap().country_code = "EL".into();
    assert_eq!(problems(wire)[0].expected, "GR, as ISO 3166-1 writes Greece");
}

#[test]
fn very_long_fields_are_refused_and_not_repeated() {
    for character in ["9", "A", "\u{1f9f0}", "\n"] {
        let long = character.repeat(10_000_000 / character.len());
        let some = Some(long.clone());
        let finding = pb::Finding { code: long.clone(), position: some.clone(), quantity: None };
        let mut wire = good();
        wire.reference.clone_from(&long);
        wire.currency_code.clone_from(&some);
        let customer = wire.customer.as_mut().unwrap();
        customer.name.clone_from(&long);
        customer.country_code.clone_from(&long);
        customer.vat_id.clone_from(&some);
        wire.route[0].partner.clone_from(&long);
        wire.extras.push(long.clone());
        let unit = &mut wire.units[0];
        unit.id.clone_from(&long);
        unit.declared_value.clone_from(&long);
        unit.parcels[0].weight_kg.clone_from(&long);
        unit.class = some;
        unit.findings.push(finding);
        let problems = problems(wire);
        assert_eq!(problems.len(), 13);
        for problem in problems {
            assert!(problem.found.len() <= 400, "{}", problem.found.len());
        }
    }
}

#[test]
fn of_very_many_mistakes_the_rest_is_counted() {
    let mut wire = good();
    wire.extras = vec![String::new(); 100_000];
    let problems = problems(wire);
    assert_eq!(problems.len(), 1_001);
    assert_eq!(problems[1_000].found, "99000 more mistakes");
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[A-Z]{2,3}",
        "[0-9.]{0,8}",
        "-?[0-9]{1,40}",
        Just("NaN".to_owned()),
        Just(String::new())
    ]
}

fn any_date() -> impl Strategy<Value = Option<pb::Date>> {
    let small = (-1..=10_000, -1..=13, -1..=32);
    let date = |(year, month, day)| pb::Date { year, month, day };
    proptest::option::of(prop_oneof![any::<(i32, i32, i32)>().prop_map(date), small.prop_map(date)])
}

prop_compose! {
    fn any_unit()(
        text in vec(any_text(), 7), built in any_date(), dispatched in any_date(), task in prop_oneof![any::<i32>(), 0..4],
        quantity: Option<u32>, cycles: Option<u64>,
    ) -> pb::Unit {
        let [id, family, serial, declared_value, weight_kg, class, code] = <[String; 7]>::try_from(text).unwrap();
        let finding = pb::Finding { code: code.clone(), position: Some(class.clone()), quantity };
        pb::Unit {
            parcels: vec![pb::Parcel { weight_kg, length_cm: serial.clone(), ..pb::Parcel::default() }],
            returned: Some(pb::Returned { quote: code, dispatched, ..pb::Returned::default() }),
            id, family, serial, declared_value, built, task, cycles,
            class: Some(class),
            findings: vec![finding],
            ..pb::Unit::default()
        }
    }
}

prop_compose! {
    fn any_message()(
        text in vec(any_text(), 6), received in any_date(), quoted in any_date(), works in vec(any::<i32>(), 0..4),
        units in vec(any_unit(), 0..4),
    ) -> pb::Job {
        let [reference, currency, name, country_code, vat_id, extra] = <[String; 6]>::try_from(text).unwrap();
        pb::Job {
            customer: Some(pb::Customer { name, country_code, vat_id: Some(vat_id.clone()), ..pb::Customer::default() }),
            route: vec![pb::Stop { partner: vat_id, takes_over: Some(pb::TakenOver { works }) }],
            reference, received, quoted, units,
            currency_code: Some(currency),
            extras: vec![extra],
            ..pb::Job::default()
        }
    }
}

/// Either a job, or at least one mistake, each with a place and something to be done about it.
fn said_clearly(wire: pb::Job) -> Result<(), TestCaseError> {
    match Job::try_from(wire) {
        Ok(job) => prop_assert_eq!(Job::try_from(pb::Job::from(&job)), Ok(job)),
        Err(invalid) => {
            prop_assert!(!invalid.problems().is_empty());
            for problem in invalid.problems() {
                prop_assert!(!problem.expected.is_empty());
                prop_assert!(!problem.place.as_str().is_empty() || problem.code == "too_many_mistakes");
                prop_assert!(!problem.found.contains(char::is_control));
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_message_is_a_job_or_says_what_is_wrong(wire in any_message()) {
        said_clearly(wire)?;
    }

    #[test]
    fn any_bytes_are_a_message_or_not(bytes in vec(any::<u8>(), 0..2_000)) {
        if let Ok(wire) = pb::Job::decode(&*bytes) {
            said_clearly(wire)?;
        }
    }

    #[test]
    fn damaged_bytes_are_a_message_or_not(
        job in super::laws::job(),
        damage in vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        cut in any::<prop::sample::Index>(),
        is_cut: bool,
    ) {
        let mut bytes = pb::Job::from(&job).encode_to_vec();
        for (index, byte) in damage {
            let index = index.index(bytes.len());
            bytes[index] = byte;
        }
        if is_cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(wire) = pb::Job::decode(&*bytes) {
            said_clearly(wire)?;
        }
    }
}
