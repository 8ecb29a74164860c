//! Bank statements, camt.053.

use chrono::NaiveDate;
use evenfare_files::parse_statements;
use evenfare_reconcile::input::{Balance, Batch, Payment, Place, Statement, Status};

use crate::refused::is_refused_clearly;

#[path = "../../../files/tests/books/written.rs"]
#[allow(missing_docs, clippy::all, reason = "of the readers' own tests")]
mod written;

pub fn seeds() -> Vec<Vec<u8>> {
    let place = || Place { file: "s".into(), line: 0 };
    let day = |day| NaiveDate::from_ymd_opt(2026, 7, day).expect("a day");
    let payment = |minor: i64, party: &str| Payment {
        place: place(),
        minor,
        instructed: Some((minor.abs(), "CHF".parse().expect("a currency"))),
        charges_minor: 10,
        end_to_end: Some("Q-2026-00001".into()),
        structured: vec!["RF18539007547034".into()],
        remittance: "invoice R-2026-00001".into(),
        party: Some(party.into()),
        party_account: Some("DE02120300000000202051".into()),
    };
    let batch = |minor: i64, reversal, status, payments| Batch {
        place: place(),
        reference: Some("B-1".into()),
        minor,
        reversal,
        status,
        booked: day(3),
        value: Some(day(4)),
        payments,
    };
    let batches = vec![
        batch(30_000, false, Status::Booked, vec![payment(10_000, "Mill"), payment(20_000, "Sons")]),
        batch(-5_000, true, Status::Booked, vec![payment(-5_000, "Mill")]),
        batch(700, false, Status::Pending, vec![payment(700, "Mill")]),
    ];
    let statement = Statement {
        place: place(),
        id: "S-1".into(),
        account: "DE02100100100006820101".into(),
        currency: "EUR".parse().expect("a currency"),
        opening: Balance { day: day(1), minor: -100 },
        closing: Balance { day: day(31), minor: 24_900 },
        batches,
    };
    written::VERSIONS
        .map(|version| written::file(std::slice::from_ref(&statement), version).into_bytes())
        .to_vec()
}

pub fn run(bytes: &[u8]) {
    match parse_statements("s.xml", bytes) {
        Err(report) => is_refused_clearly(&report, [("s.xml", bytes)]),
        Ok(statements) => {
            assert!(!statements.is_empty(), "a file that says nothing");
            for statement in statements {
                let booked = statement.batches.iter().filter(|batch| batch.status == Status::Booked);
                let days = statement.opening.day..=statement.closing.day;
                assert!(booked.clone().all(|batch| days.contains(&batch.booked)));
                let sum: i128 = booked.map(|batch| i128::from(batch.minor)).sum();
                assert_eq!(i128::from(statement.opening.minor) + sum, i128::from(statement.closing.minor));
                assert!(statement.batches.iter().all(|batch| !batch.payments.is_empty()));
            }
        }
    }
}
