//! An invented workshop for packing-machine drives, and one job that comes to 20 lines.

mod tariff;

use std::error::Error;
use std::str::FromStr;

use evenfare_engine::job::{Customer, Finding, Job, Parcel, Stop, Task, Unit};
use evenfare_engine::period::Span;

pub use tariff::tariff;

type Read<T> = Result<T, Box<dyn Error>>;

fn read<T: FromStr<Err: Error + 'static>>(text: &str) -> Read<T> {
    Ok(text.parse()?)
}

/// Nothing where the text is empty.
fn optional<T: FromStr<Err: Error + 'static>>(text: &str) -> Read<Option<T>> {
    if text.is_empty() { Ok(None) } else { read(text).map(Some) }
}

/// The rows of a table, one for each line; fields are parted by blanks, and `-` is an empty one.
fn table<R, const N: usize>(text: &str, row: impl Fn([&str; N]) -> Read<R>) -> Read<Vec<R>> {
    let fields = |line: &str| {
        let mut fields = [""; N];
        let mut words = line.split_whitespace();
        for (field, word) in fields.iter_mut().zip(&mut words) {
            *field = if word == "-" { "" } else { word };
        }
        row(fields)
    };
    text.trim().lines().map(fields).collect()
}

fn span(from: &str, until: &str) -> Read<Span> {
    Ok(Span { from: read(from)?, until: optional(until)? })
}

/// One job: seven findings, an urgent one, through two partners to a customer in France.
pub fn job() -> Read<Job> {
    let finding = |[code, position, quantity]: [&str; 3]| {
        Ok(Finding { code: read(code)?, position: optional(position)?, quantity: optional(quantity)? })
    };
    let parcel = |[length, width, height, weight]: [&str; 4]| {
        Ok(Parcel {
            length_cm: read(length)?,
            width_cm: read(width)?,
            height_cm: read(height)?,
            weight_kg: read(weight)?,
        })
    };
    Ok(Job {
        reference: read("B-0001")?,
        received: read("2026-10-05")?,
        quoted: None,
        dispatch: None,
        tax_date: None,
        currency: None,
        customer: Customer {
            name: read("Emballage du Ried SAS")?,
            street: read("4 quai des Tisserands")?,
            postcode: read("67100")?,
            city: read("Strasbourg")?,
            country: read("FR")?,
            vat_id: optional("FR85539026179")?,
            business: true,
            language: None,
        },
        route: vec![
            Stop { partner: read("P-KEHL")?, takes_over: None },
            Stop { partner: read("P-ALSACE")?, takes_over: None },
        ],
        extras: vec![read("URGENT")?],
        units: vec![Unit {
            id: read("U1")?,
            family: read("AXIS-4")?,
            serial: read("A4-15-00731")?,
            built: optional("2015-06-17")?,
            cycles: Some(412_700),
            hours: None,
            declared_value: read("3100")?,
            task: Task::Refresh,
            class: None,
            parcels: table("48 38 26 11.2\n30 20 15.5 2.85", parcel)?,
            findings: table(
                "BRIDGE V12 -
                 BRIDGE V11 -
                 BRIDGE V12 1
                 GATE U4 -
                 DC-BUS C3 -
                 CURRENT R7 2
                 RELAY K1 -",
                finding,
            )?,
            returned: None,
        }],
        alternatives: Vec::new(),
    })
}
