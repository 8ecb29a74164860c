//! What is written is read back; what is spoilt is read or refused.

use chrono::{Days, NaiveDate};
use evenfare_engine::money::Currency;
use evenfare_files::{parse_charges, parse_courier_bills, parse_invoice, parse_statements};
use evenfare_reconcile::input::{Balance, Batch, Payment, Place, Statement, Status};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::day_of;
use crate::written::{VERSIONS, file};

fn place() -> Place {
    Place { file: "s.xml".into(), line: 0 }
}

fn text() -> impl Strategy<Value = Box<str>> {
    "[A-Za-z0-9<>&äß/.+-]{1,20}( [A-Za-z0-9'\"]{1,10})?".prop_map(String::into_boxed_str)
}

fn day() -> impl Strategy<Value = NaiveDate> {
    (2020..2030_i32, 1..=365_u32).prop_map(|(year, day)| NaiveDate::from_yo_opt(year, day).unwrap())
}

fn currency() -> impl Strategy<Value = Currency> {
    prop::sample::select(vec!["EUR", "CHF", "JPY", "KWD"]).prop_map(|code| code.parse().unwrap())
}

prop_compose! {
    /// A payment that comes in, with what was kept back of it.
    fn payment()(
        minor in 1..10_000_000_i64,
        instructed in prop::option::of(1..10_000_000_i64),
        kept_back in prop_oneof![3 => Just(0_i64), 1 => 1..1_000_i64],
        end_to_end in prop::option::of("[A-Z0-9-]{1,20}"),
        structured in prop::collection::vec(text(), 0..3),
        remittance in prop::option::of(text()),
        party in prop::option::of(text()),
        party_account in prop::option::of("[A-Z0-9]{1,20}"),
    ) -> Payment {
        Payment {
            place: place(),
            minor,
            instructed: instructed.map(|minor| (minor, "USD".parse().unwrap())),
            charges_minor: kept_back,
            end_to_end: end_to_end.map(String::into_boxed_str),
            structured,
            remittance: remittance.unwrap_or_default(),
            party,
            party_account: party_account.map(String::into_boxed_str),
        }
    }
}

prop_compose! {
    fn batch()(
        payments in prop::collection::vec(payment(), 1..4),
        comes_in in any::<bool>(),
        reversal in any::<bool>(),
        status in prop::sample::select(vec![Status::Booked, Status::Booked, Status::Pending, Status::Information]),
        booked in day(),
        value in prop::option::of(day()),
        reference in prop::option::of("[A-Z0-9-]{1,20}"),
    ) -> Batch {
        let mut payments = payments;
        if !comes_in {
            payments.iter_mut().for_each(|payment| payment.minor = -payment.minor);
        }
        let minor = payments.iter().map(|payment| payment.minor).sum();
        let reference = reference.map(String::into_boxed_str);
        Batch { place: place(), reference, minor, reversal, status, booked, value, payments }
    }
}

prop_compose! {
    fn statement()(
        id in text(),
        account in "[A-Z0-9]{1,30}",
        currency in currency(),
        days in (day(), day()),
        opening in -1_000_000_000..1_000_000_000_i64,
        batches in prop::collection::vec(batch(), 0..6),
    ) -> Statement {
        let mut batches = batches;
        let (first, last) = (days.0.min(days.1), days.0.max(days.1));
        // What only waits may be for any day.
        for batch in batches.iter_mut().filter(|batch| batch.status == Status::Booked) {
            batch.booked = batch.booked.clamp(first, last);
        }
        let is_booked = |batch: &&Batch| batch.status == Status::Booked;
        let booked: i64 = batches.iter().filter(is_booked).map(|batch| batch.minor).sum();
        Statement {
            place: place(),
            id,
            account: account.into_boxed_str(),
            currency,
            opening: Balance { day: first, minor: opening },
            closing: Balance { day: last, minor: opening + booked },
            batches,
        }
    }
}

/// Without places.
fn placeless(mut statements: Vec<Statement>) -> Vec<Statement> {
    for statement in &mut statements {
        statement.place.line = 0;
        for batch in &mut statement.batches {
            batch.place.line = 0;
            batch.payments.iter_mut().for_each(|payment| payment.place.line = 0);
        }
    }
    statements
}

proptest! {
    #[test]
    fn statements_that_are_written_are_read_back(statements in prop::collection::vec(statement(), 1..4)) {
        for version in VERSIONS {
            let read = parse_statements("s.xml", file(&statements, version));
            let read = read.map_err(|report| TestCaseError::fail(report.to_string()))?;
            prop_assert_eq!(placeless(read), statements.clone());
        }
    }

    #[test]
    fn a_balance_that_is_off_is_found(
        statement in statement(),
        off in prop_oneof![-9_i64..0, 1..10_i64],
        version in prop::sample::select(VERSIONS.to_vec()),
    ) {
        let mut statement = statement;
        statement.closing.minor += off;
        let report = parse_statements("s.xml", file(&[statement], version)).unwrap_err();
        let codes: Vec<_> = report.iter().map(|mistake| (mistake.code(), mistake.line())).collect();
        prop_assert_eq!(codes, [("does_not_tie", Some(5))]);
    }

    #[test]
    fn an_entry_of_another_day_is_found(
        statement in statement(),
        at in any::<Index>(),
        off in 1..1_000_u64,
        is_before in any::<bool>(),
        version in prop::sample::select(VERSIONS.to_vec()),
    ) {
        let mut statement = statement;
        let booked = statement.batches.iter_mut().filter(|batch| batch.status == Status::Booked);
        let mut booked: Vec<&mut Batch> = booked.collect();
        if booked.is_empty() {
            return Ok(());
        }
        let at = at.index(booked.len());
        booked[at].booked = match is_before {
            true => statement.opening.day - Days::new(off),
            false => statement.closing.day + Days::new(off),
        };
        let report = parse_statements("s.xml", file(&[statement], version)).unwrap_err();
        let codes: Vec<_> = report.iter().map(|mistake| mistake.code()).collect();
        prop_assert_eq!(codes, ["out_of_range"]);
    }

    #[test]
    fn spoiled_statements_are_read_or_refused(
        statement in statement(),
        changes in prop::collection::vec((any::<Index>(), 0..20_usize, prop::sample::select(vec![
            "", "<", ">", "&", "&#0;", "]]>", "<![CDATA[", "<!--", "</Ntry>", "<Ntry>", "-", "9999999999999999999", "\u{202E}",
        ])), 1..6),
    ) {
        for version in VERSIONS {
            let mut bytes = file(std::slice::from_ref(&statement), version).into_bytes();
            for (at, removed, added) in &changes {
                let start = at.index(bytes.len());
                let end = (start + removed).min(bytes.len());
                bytes.splice(start..end, added.bytes());
            }
            match parse_statements("s.xml", &bytes) {
                Ok(read) => for statement in read {
                    let booked = statement.batches.iter().filter(|batch| batch.status == Status::Booked);
                    let sum: i64 = booked.map(|batch| batch.minor).sum();
                    prop_assert_eq!(statement.opening.minor + sum, statement.closing.minor);
                },
                Err(report) => prop_assert!(report.has_errors()),
            }
        }
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(parse_statements("s.xml", &bytes).is_err());
        prop_assert!(parse_invoice("i.xml", &bytes).is_err());
        for told in [parse_charges("c.csv", &bytes).err(), parse_courier_bills("b.csv", &bytes).err()] {
            prop_assert!(told.is_none_or(|report| report.has_errors()));
        }
    }
}

/// 200,000 entries are read where the build is fast; what they say is held, and not the tree of their
/// elements, of which there are more than may be held at once.
#[test]
fn long_statements_are_read() {
    let entries: u32 = if cfg!(debug_assertions) { 25_000 } else { 200_000 };
    let one = "<Ntry><Amt Ccy=\"EUR\">1.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts>BOOK</Sts><BookgDt><Dt>2026-07-02</Dt></BookgDt>\
        <NtryDtls><TxDtls><Refs><EndToEndId>Q-1</EndToEndId></Refs></TxDtls></NtryDtls></Ntry>\n";
    let empty = Statement {
        place: place(),
        id: "S".into(),
        account: "A".into(),
        currency: "EUR".parse().unwrap(),
        opening: Balance { day: day_of("2026-07-01"), minor: 0 },
        closing: Balance { day: day_of("2026-07-02"), minor: 100 * i64::from(entries) },
        batches: Vec::new(),
    };
    let text = file(&[empty], "02")
        .replace("</Stmt>", &format!("{}</Stmt>", one.repeat(usize::try_from(entries).unwrap())));
    let read = parse_statements("s.xml", text).map_err(|report| report.to_string()).unwrap();
    let last = read[0].batches.last().unwrap();
    assert_eq!((read[0].batches.len(), last.place.line), (usize::try_from(entries).unwrap(), entries + 5));
    let told = parse_statements("s.xml", vec![b' '; 64 * 1024 * 1024 + 1]).unwrap_err().to_string();
    assert!(told.contains("file_too_large"), "{told}");
}
