//! Small things that the tests write down.

use std::future::Future;
use std::sync::atomic::{AtomicU32, Ordering};

use chrono::{Days, NaiveDate};
use evenfare_engine::text::{Code, Text};
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::Content;
use evenfare_store::number::Series;

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
        offers: vec![code("main"), code("swap")],
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
    request(id, Command::Issue { series: series(in_series), content: Box::new(content), editions: 0 })
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
