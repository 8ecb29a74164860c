//! Small things that the tests write down.

use std::fmt::Debug;
use std::future::Future;
use std::sync::atomic::{AtomicU32, Ordering};

use chrono::{Days, NaiveDate};
use evenfare_engine::text::{Code, Text};
use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Content, Offered};
use evenfare_store::event::{Kept, Record};
use evenfare_store::invoice::Sale;
use evenfare_store::number::{Number, Series};
use evenfare_store::{Sight, Store};
use proptest::prelude::*;

use crate::postgres::Cluster;

pub fn code(text: &str) -> Code {
    text.parse().unwrap()
}

pub fn text(text: &str) -> Text {
    text.parse().unwrap()
}

pub fn series(text: &str) -> Series {
    text.parse().unwrap()
}

pub fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

/// An offer with what it comes to.
pub fn offered(id: &str, net_minor: i64) -> Offered {
    Offered { id: code(id), net_minor: Some(net_minor) }
}

/// A first revision, with a document of that many bytes.
pub fn content(quoted: NaiveDate, bytes: usize) -> Content {
    Content {
        revision: 1,
        reversal: false,
        reference: code("JOB-1"),
        customer: text("Bäckerei am Markt, 'Süd'"),
        edition: code("2026-07"),
        currency: "EUR".parse().unwrap(),
        quoted,
        valid_until: quoted + Days::new(30),
        end_net_minor: 123_456,
        offers: vec![offered("main", 123_456), offered("swap", -98_765)],
        partners: Vec::new(),
        document: (0..bytes).map(|at| u8::try_from(at * at % 251).unwrap()).collect(),
    }
}

/// A request whose fingerprint is that of its command.
pub fn request(id: &str, command: Command) -> Request {
    let fingerprint = Digest::of(format!("{command:?}").as_bytes());
    Request { id: code(id), fingerprint, caller: code("office-1"), command }
}

pub fn issue(id: &str, in_series: &str, content: Content) -> Request {
    issue_under(0, id, in_series, content)
}

/// Where there are that many editions.
pub fn issue_under(editions: usize, id: &str, in_series: &str, content: Content) -> Request {
    request(id, Command::Issue { series: series(in_series), content: Box::new(content), editions })
}

/// Two quotes, one revised and accepted, one declined and reversed; two editions.
pub async fn fill_quotes(store: &dyn Store) {
    let write = async |request| store.write(request).await.unwrap();
    let quote = |revision, reversal, partners: &[&str]| {
        let mut quote = content(day(2026, 7, 1), 300);
        (quote.revision, quote.reversal) = (revision, reversal);
        quote.partners = partners.iter().map(|partner| code(partner)).collect();
        quote
    };
    let etag = |record: &Record| record.event.hash;
    let number = |record: &Record| match &record.kept {
        Kept::Entry(entry) => entry.number.clone(),
        other => panic!("{other:?}"),
    };
    let first = write(issue("i-1", "Q", quote(1, false, &["NORD", "SUED"]))).await;
    let second = write(issue("i-2", "Q", quote(1, false, &["NORD"]))).await;
    let (one, two) = (number(&first), number(&second));
    let revise = Command::Revise {
        number: one.clone(),
        etag: etag(&first),
        content: Box::new(quote(2, false, &["SUED"])),
        editions: 0,
        reason: text("one finding more"),
    };
    let revised = write(request("r-1", revise)).await;
    let (offer, on) = (code("main"), day(2026, 7, 9));
    write(request("a-1", Command::Accept { number: one, etag: etag(&revised), offer, day: on })).await;
    let decline =
        Command::Decline { number: two.clone(), etag: etag(&second), day: on, reason: text("too dear") };
    let declined = write(request("d-1", decline)).await;
    let reverse = Command::Reverse {
        number: two,
        etag: etag(&declined),
        content: Box::new(quote(1, true, &["NORD"])),
        reason: text("wrong customer"),
    };
    write(request("v-1", reverse)).await;
    for (place, until) in [(1, Some(day(2026, 6, 30))), (2, None)] {
        let from = day(2026, 6 * place - 5, 1);
        let (name, archive) = (code(&format!("E{place}")), vec![1, 2, 3]);
        let currency = "EUR".parse().unwrap();
        let publish = Command::Publish { code: name, from, until, currency, archive };
        write(request(&format!("p-{place}"), publish)).await;
    }
}

/// An invoice that a credit note takes back, and another of the same quote, which is the first of [`fill_quotes`].
pub async fn fill_invoices(store: &dyn Store) {
    let quote: Number = "Q-2026-00001".parse().unwrap();
    let entry = store.entry(&quote, None, &Sight::All).await.unwrap().unwrap();
    let invoice = |days: u64| {
        let (number, etag, issued) = (quote.clone(), entry.etag, day(2026, 7, 10) + Days::new(days));
        let (due, sale) = (issued + Days::new(14), Sale { net_minor: 10_000, gross_minor: 11_900 });
        Command::Invoice { series: Series::of_invoices(), number, etag, issued, due, sale }
    };
    let written = store.write(request("n-1", invoice(0))).await.unwrap();
    let credit = Command::Credit {
        series: Series::of_invoices(),
        invoice: written.event.subject.parse().unwrap(),
        issued: day(2026, 7, 11),
        reason: text("due too late"),
    };
    store.write(request("n-2", credit)).await.unwrap();
    store.write(request("n-3", invoice(1))).await.unwrap();
}

/// A bit of everything: that, two invoices and a credit note, and two callers, one of them withdrawn.
pub async fn fill(store: &dyn Store) {
    fill_quotes(store).await;
    fill_invoices(store).await;
    fill_callers(store).await;
}

/// Two callers, one of them withdrawn.
pub async fn fill_callers(store: &dyn Store) {
    let write = async |request| store.write(request).await.unwrap();
    for name in ["anna", "nord-portal"] {
        let role = if name == "anna" { Role::Office } else { Role::Partner(code("NORD")) };
        let (kind, credential) = (CredentialKind::Token, Digest::of(name.as_bytes()));
        write(request(name, Command::AddCaller { name: code(name), role, kind, credential })).await;
    }
    write(request("w-1", Command::WithdrawCaller { name: code("anna") })).await;
}

/// A schema of its own: as good as a database, and made faster.
pub fn schema(cluster: &Cluster) -> String {
    static SCHEMAS: AtomicU32 = AtomicU32::new(0);
    let name = format!("s{}", SCHEMAS.fetch_add(1, Ordering::Relaxed));
    cluster.sql("postgres", &format!("CREATE SCHEMA {name}"));
    format!("{}?options=-c%20search_path%3D{name}", cluster.url("postgres"))
}

/// Runs it to its end.
pub fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap()
        .block_on(future)
}

/// Are they the same?
pub fn same<T: PartialEq + Debug>(of: &str, found: &T, expected: &T) -> Result<(), TestCaseError> {
    prop_assert_eq!(found, expected, "{}", of);
    Ok(())
}
