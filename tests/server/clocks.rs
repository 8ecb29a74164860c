//! A clock that was ahead when something was written down: the office goes on in its own time, and is told.

use chrono::{Days, NaiveDate, TimeDelta, Utc};
use evenfare::wire::pb;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare_store::Store;
use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::clock::Clock;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::sqlite::Sqlite;

use crate::harness::{Server, World, audit, connect, evenfare, issued, office, until};

/// Somebody is let in by a clock that is so much ahead.
async fn let_in_ahead(world: &World, ahead: TimeDelta) {
    let store = Sqlite::open_by(&world.database, Clock::new(move || Utc::now() + ahead)).unwrap();
    let command = Command::AddCaller {
        name: "early-bird".parse().unwrap(),
        role: Role::Office,
        kind: CredentialKind::Token,
        credential: Digest::of(b"of nobody"),
    };
    let (id, fingerprint) = ("early".parse().unwrap(), Digest::of(b"early"));
    let request = Request { id, fingerprint, caller: "command-line".parse().unwrap(), command };
    store.write(request).await.unwrap();
    store.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_clock_that_was_ahead_is_told_and_not_followed() {
    let world = World::new();
    let year = TimeDelta::days(365);
    let (before, ahead) = (Utc::now(), Utc::now() + year);
    let_in_ahead(&world, year).await;
    let server = Server::start(&world.database, &[]);
    until(async || server.log().contains("the last event is dated after now")).await;

    let mut office = office(&world, &server).await;
    let kept = issued(&mut office, "R-1", "01-direct-oven").await;
    let recorded = kept.recorded.unwrap().seconds;
    assert!((before.timestamp()..=Utc::now().timestamp()).contains(&recorded), "{recorded}");

    // The accountant finds it on its day, and nothing of it a year ahead.
    let mut accountant = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let mut exported = async |day: NaiveDate| {
        let request = pb::ExportPeriodRequest {
            from: Some(day.into()),
            until: Some((day + Days::new(1)).into()),
            ..pb::ExportPeriodRequest::default()
        };
        let mut parts = accountant.export_period(request).await.unwrap().into_inner();
        let mut numbers = Vec::new();
        while let Some(part) = parts.message().await.unwrap() {
            numbers.push(part.event.unwrap().number);
        }
        numbers
    };
    assert_eq!(exported(before.date_naive()).await, [kept.number]);
    assert!(exported(ahead.date_naive()).await.is_empty());

    // Everything is as it was written down, and the audit says where time goes back.
    let (whole, found) = audit(&world.database);
    assert!(whole, "{found:#}");
    let set_back = found["set_back"].as_array().unwrap();
    assert_eq!(set_back.len(), 1, "{found:#}");
    assert_eq!(set_back[0]["event"], found["events"]);
    let page = evenfare(&["audit", "--database", &world.database]);
    assert!(page.contains("a clock was ahead until then"), "{page}");
}

/// Servers differ by seconds, and nobody wants to hear of it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn clocks_that_differ_a_little_are_no_news() {
    let world = World::new();
    let_in_ahead(&world, TimeDelta::minutes(3)).await;
    let server = Server::start(&world.database, &[]);
    issued(&mut office(&world, &server).await, "R-1", "01-direct-oven").await;
    let (whole, found) = audit(&world.database);
    assert!(whole && found.get("set_back").is_none(), "{found:#}");
    assert!(!server.log().contains("dated after now"), "{}", server.log());
}
