//! Every reason is in the table of `refusal.proto`, and what does not fit is counted.

use super::*;
use crate::serve::transport::REASONS;
use evenfare_engine::text::Code as Name;
use evenfare_reconcile::error::{How, Stated, Untied};
use evenfare_reconcile::input::{Balance, Place as InFile, Slip};
use evenfare_store::number::{Number, Series};
use tonic_types::StatusExt;

/// One of each kind.
fn all() -> Vec<Refusal> {
    let number: Number = "Q-2026-00001".parse().unwrap();
    let (name, day) = ("X".parse::<Name>().unwrap(), chrono::NaiveDate::default());
    let problem = || Problem::error(Place::field("job"), "missing_field", "", "a job");
    let number = || number.clone();
    let (month, currency) = ("2026-10".parse().unwrap(), "EUR".parse().unwrap());
    let slip = Slip {
        place: InFile { file: "october.csv".into(), line: 2 },
        code: "said_twice",
        found: String::from("invoice R-1"),
        expected: String::from("the same"),
    };
    let refused = [
        Refused::RequestIdReused { id: name.clone() },
        Refused::NoSuchQuote { number: number() },
        Refused::EtagMismatch { number: number() },
        Refused::NotOpen { number: number(), state: evenfare_store::entry::State::Declined },
        Refused::AlreadyReversed { number: number() },
        Refused::NoSuchOffer { number: number(), offer: name.clone(), offers: vec![name.clone()] },
        Refused::Expired { number: number(), valid_until: day },
        Refused::BeforeQuote { number: number(), quoted: day },
        Refused::WrongRevision { number: number(), expected: 2 },
        Refused::TariffChanged,
        Refused::EditionExists { code: name.clone() },
        Refused::EditionTooEarly { code: name.clone(), after: day },
        Refused::EditionUnreadable { code: name },
        Refused::NotAccepted { number: number(), state: evenfare_store::entry::State::Open },
        Refused::AlreadyInvoiced { number: number(), invoice: number() },
        Refused::BeforeAcceptance { number: number(), accepted: day },
        Refused::DueBeforeIssue { issued: day },
        Refused::NoSuchInvoice { number: number() },
        Refused::NotAnInvoice { number: number(), preceding: number() },
        Refused::AlreadyCredited { number: number(), credit_note: number() },
        Refused::BeforeInvoice { number: number(), issued: day },
        Refused::OutOfOrder { last: number(), issued: day },
        Refused::SeriesInUse { series: Series::usual(), of: "invoices" },
        Refused::SeriesExhausted { series: Series::usual(), year: 2026 },
    ];
    let store = [
        StoreError::Busy,
        StoreError::Unavailable(String::from("gone")),
        StoreError::Corrupt(String::from("torn")),
        StoreError::Closed,
    ];
    let store = refused.into_iter().map(StoreError::from).chain(store).map(Refusal::Store);
    let others = [
        Refusal::Input(vec![problem()]),
        Refusal::Files(vec![problem()]),
        Refusal::Books(vec![problem()]),
        Refusal::Request(vec![problem()]),
        Refusal::Unreconciled(Unreconciled::MonthNotOver { month, until: day }),
        Refusal::Unreconciled(Unreconciled::InsideClosed { month, until: day }),
        Refusal::Unreconciled(Unreconciled::ClosingOutOfOrder { month }),
        Refusal::Unreconciled(Unreconciled::ClosingChanged { month }),
        Refusal::Unreconciled(Unreconciled::ClosingUnlinked { month }),
        Refusal::Unreconciled(Unreconciled::ClosingMissing { month, next: month.next() }),
        Refusal::Unreconciled(Unreconciled::NoRate { currency, day }),
        Refusal::Unreconciled(Unreconciled::AgreedTwice { number: String::new(), revision: 1 }),
        Refusal::Unreconciled(Unreconciled::StatementsUntied { untied: Vec::new() }),
        Refusal::Unreconciled(Unreconciled::Undecidable(Vec::new())),
        Refusal::Unreconciled(Unreconciled::SaidTwice(vec![slip])),
        Refusal::NotClosed("QUESTIONS_OPEN", String::new()),
        Refusal::NotAsNoted("CLOSING_CHANGED", String::new()),
        Refusal::NotAsNoted("CLOSING_MISSING", String::new()),
        Refusal::UnreadableEdition,
        Refusal::OutOfRange("TOO_LARGE", String::new()),
        Refusal::OutOfRange("OUT_OF_CALENDAR", String::new()),
        Refusal::UnderTheFloor(Box::default()),
        Refusal::AskTheOffice(Box::default()),
        Refusal::Withheld(Box::default(), Duration::from_secs(3_600)),
        Refusal::NoRoute,
        Refusal::IncompleteAddress(String::from("`customer` has no street")),
        Refusal::GoodsInChain,
        Refusal::NoNationalVat(String::new()),
        Refusal::NoSuchQuote,
        Refusal::NoSuchDocument(String::new()),
        Refusal::NotWritable(String::new()),
        Refusal::NoPdf,
        Refusal::Nobody("who?"),
        Refusal::NotHis,
        Refusal::NoSuchMethod,
        Refusal::TooMany("calls"),
        Refusal::Internal(String::from("a defect")),
    ];
    others.into_iter().chain(store).collect()
}

/// The table in `refusal.proto` has a row for each reason, with its status, and none besides.
#[test]
fn every_reason_is_written_down() {
    let table = include_str!("../../../../../proto/evenfare/v1/refusal.proto");
    let rows = table.lines().filter_map(|line| line.strip_prefix("// | ")).skip(2);
    let mut rows: Vec<(&str, &str)> =
        rows.filter_map(|row| Some((row.split(" | ").next()?, row.split(" | ").nth(1)?))).collect();
    rows.sort_unstable();
    let mut said: Vec<(String, String)> = all()
        .into_iter()
        .map(|refusal| {
            let status = Status::from(refusal);
            let reason = status.get_details_error_info().unwrap().reason;
            (reason, format!("{:?}", status.code()))
        })
        .collect();
    // What the transport tells of those that the libraries have refused.
    said.extend(REASONS.map(|(_, code, reason)| (reason.to_owned(), format!("{code:?}"))));
    said.sort();
    said.dedup();
    let plain = |code: &str| code.replace('_', "").to_lowercase();
    let rows: Vec<_> = rows.iter().map(|(reason, code)| (*reason, plain(code))).collect();
    let said: Vec<_> = said.iter().map(|(reason, code)| (reason.as_str(), plain(code))).collect();
    assert_eq!(rows, said);
}

/// Whoever is to come back is told when, and nobody else is.
#[test]
fn who_is_to_come_back_is_told_when() {
    let mut told: Vec<String> = all()
        .into_iter()
        .map(Status::from)
        .filter(|status| status.get_details_retry_info().is_some())
        .map(|status| status.get_details_error_info().unwrap().reason)
        .collect();
    told.sort();
    let expected = ["ASK_THE_OFFICE", "BUSY", "STOPPING", "STORE_UNAVAILABLE", "TARIFF_CHANGED", "TOO_MANY"];
    assert_eq!(told, expected);
}

#[test]
fn what_does_not_fit_is_counted() {
    let problem = |index| Problem::error(Place::field("extras").nth(index), "unknown_extra", "X", "an extra");
    let status = Status::from(Refusal::Input((0..500).map(problem).collect()));
    let fields = status.get_details_bad_request().unwrap().field_violations.len();
    assert!(fields > 20 && status.details().len() < 6_000);
    let expected = format!("the request has 500 mistakes; the details have the first {fields}");
    assert_eq!(status.message(), expected);
}

/// What a client has to take of a status, as HTTP counts it (RFC 9113, section 6.5.2).
fn taken(status: &Status) -> usize {
    let mut headers = http::HeaderMap::new();
    status.add_header(&mut headers).unwrap();
    headers.iter().map(|(name, value)| name.as_str().len() + value.len() + 32).sum()
}

/// Statements of which each leaves a gap to the one before it.
fn untied(count: u32) -> Vec<Untied> {
    let day = chrono::NaiveDate::default();
    let stated = |line, minor| Stated {
        place: InFile { file: "statements/2026-10.xml".into(), line },
        id: format!("STATEMENT-{line}").into(),
        opening: Balance { day, minor },
        closing: Balance { day, minor },
    };
    let one = |line| Untied {
        account: "DE02120300000000202051".into(),
        currency: "EUR".parse().unwrap(),
        how: if line % 2 == 0 { How::Apart } else { How::Overlap },
        earlier: stated(line, 0),
        later: stated(line + 1, 100),
    };
    (0..count).map(one).collect()
}

#[test]
fn whatever_is_told_clients_take_it() {
    // Each of its letters is nine bytes of a header; a place may be the name of a file.
    let long = "見積書".repeat(2_000);
    let problem = |index| Problem::error(Place::field(&"票".repeat(67)).nth(index), "unknown", &long, &long);
    let offers = (0..499).map(|place| format!("SOME-OTHER-WAY-TO-DO-IT-{place}").parse().unwrap()).collect();
    let offer =
        Refused::NoSuchOffer { number: "Q-2026-00001".parse().unwrap(), offer: "X".parse().unwrap(), offers };
    for (refusal, fields) in [
        (Refusal::NotWritable(long.clone()), 0),
        (Refusal::NotClosed("QUESTIONS_OPEN", long.clone()), 0),
        (Refusal::problem(problem(0)), 1),
        (Refusal::Input((0..500).map(problem).collect()), 4),
        (Refusal::from(StoreError::from(offer)), 1),
        (Refusal::Unreconciled(Unreconciled::StatementsUntied { untied: untied(1) }), 1),
        (Refusal::Unreconciled(Unreconciled::StatementsUntied { untied: untied(500) }), 10),
    ] {
        let status = Status::from(refusal);
        let told = status.get_details_bad_request().map_or(0, |bad| bad.field_violations.len());
        assert!(told >= fields, "{told} of {fields}");
        // What else a server says in its headers has room beside it.
        assert!(taken(&status) <= (8 << 10) - 512, "{} bytes of {:.80}", taken(&status), status.message());
        assert!(!status.message().is_empty());
    }
    let many = Refusal::Unreconciled(Unreconciled::StatementsUntied { untied: untied(500) });
    assert!(Status::from(many).message().starts_with("the books have 500 mistakes; the details have"));
    // In a stream there is room for all of it.
    assert_eq!(pb::Refusal::from(Refusal::NotWritable(long.clone())).message, long);
}
