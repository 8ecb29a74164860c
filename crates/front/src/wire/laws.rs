//! Laws of the wire, on jobs drawn at random to the ends of what the engine's types can hold.
//!
//! That a message gives the same quote as a job file is held in `tests/three_files.rs`, on jobs that
//! can be priced.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use chrono::NaiveDate;
use evenfare_engine::category::Work;
use evenfare_engine::country::Country;
use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Returned, Stop, Task, Unit};
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Quantity, UnitPrice};
use evenfare_engine::text::{Code, Text};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use prost::Message;

use super::pb;

fn code() -> impl Strategy<Value = Code> {
    "[A-Za-z0-9._/+-]{1,40}".prop_map(|text| text.parse().unwrap())
}

fn text() -> impl Strategy<Value = Text> {
    prop_oneof!["[^\\p{Cc}]{0,200}", "[ -~]{0,20}"].prop_map(|text| text.parse().unwrap())
}

/// An optional text that is there and empty says nothing, so no reader makes one.
fn text_that_says_something() -> impl Strategy<Value = Text> {
    text().prop_filter("says nothing", |text| !text.as_str().is_empty())
}

fn day() -> impl Strategy<Value = NaiveDate> {
    let days = |from: &str, until: &str| {
        let count = |day: &str| chrono::Datelike::num_days_from_ce(&day.parse::<NaiveDate>().unwrap());
        (count(from)..=count(until)).prop_map(|day| NaiveDate::from_num_days_from_ce_opt(day).unwrap())
    };
    prop_oneof![days("0001-01-01", "9999-12-31"), days("2020-01-01", "2030-12-31")]
}

fn quantity() -> impl Strategy<Value = Quantity> {
    (0..=Quantity::MAX.scaled()).prop_map(|scaled| Quantity::from_scaled(scaled).unwrap())
}

fn currency() -> impl Strategy<Value = Currency> {
    select(&["EUR", "JPY", "KWD", "CHF", "CLF"][..]).prop_map(|code| code.parse().unwrap())
}

fn country() -> impl Strategy<Value = Country> {
    select(&["DE", "GR", "GB", "CH", "JP"][..]).prop_map(|code| code.parse().unwrap())
}

fn task() -> impl Strategy<Value = Task> {
    select(Task::ALL)
}

prop_compose! {
    fn customer()(
        name in text(), street in text(), postcode in text(), city in text(),
        country in country(), vat_id in of(text_that_says_something()), business: bool,
        language in of(select(Language::ALL)),
    ) -> Customer {
        Customer { name, street, postcode, city, country, vat_id, business, language }
    }
}

prop_compose! {
    fn stop()(partner in code(), takes_over in of(vec(select(Work::ALL), 0..6))) -> Stop {
        Stop { partner, takes_over }
    }
}

prop_compose! {
    fn parcel()(length_cm in quantity(), width_cm in quantity(), height_cm in quantity(), weight_kg in quantity()) -> Parcel {
        Parcel { length_cm, width_cm, height_cm, weight_kg }
    }
}

prop_compose! {
    fn finding()(code in code(), position in of(code()), quantity: Option<u32>) -> Finding {
        Finding { code, position, quantity }
    }
}

prop_compose! {
    fn returned()(
        quote in code(), dispatched in day(), warranty_months: u32,
        warranty_cycles: Option<u64>, cycles_at_dispatch: Option<u64>,
    ) -> Returned {
        Returned { quote, dispatched, warranty_months, warranty_cycles, cycles_at_dispatch }
    }
}

prop_compose! {
    fn unit()(
        id in code(), family in code(), serial in text(), built in of(day()), cycles: Option<u64>, hours: Option<u32>,
        declared in 0..=UnitPrice::MAX.scaled(), task in task(), class in of(code()),
        parcels in vec(parcel(), 0..3), findings in vec(finding(), 0..4), returned in of(returned()),
    ) -> Unit {
        let declared_value = UnitPrice::from_scaled(declared).unwrap();
        Unit { id, family, serial, built, cycles, hours, declared_value, task, class, parcels, findings, returned }
    }
}

prop_compose! {
    fn change()(unit in code(), task in of(task()), class in of(code()), findings in vec(finding(), 0..3)) -> Change {
        Change { unit, task, class, findings }
    }
}

prop_compose! {
    fn alternative()(id in code(), text in text(), changes in vec(change(), 0..3)) -> Alternative {
        Alternative { id, text, changes }
    }
}

prop_compose! {
    pub(super) fn job()(
        reference in code(), received in day(), quoted in of(day()), dispatch in of(day()), tax_date in of(day()),
        currency in of(currency()), customer in customer(), route in vec(stop(), 0..4), extras in vec(code(), 0..3),
        units in vec(unit(), 0..4), alternatives in vec(alternative(), 0..3),
    ) -> Job {
        Job { reference, received, quoted, dispatch, tax_date, currency, customer, route, extras, units, alternatives }
    }
}

proptest! {
    #[test]
    fn a_job_comes_back_as_it_went(job in job()) {
        let bytes = pb::Job::from(&job).encode_to_vec();
        let back = Job::try_from(pb::Job::decode(&*bytes).unwrap());
        prop_assert_eq!(back, Ok(job));
    }

    #[test]
    fn what_is_not_said_takes_no_bytes(job in job()) {
        let silent = Job { quoted: None, tax_date: None, currency: None, route: Vec::new(), ..job.clone() };
        let length = |job: &Job| pb::Job::from(job).encoded_len();
        prop_assert!(length(&silent) <= length(&job));
    }
}
