//! Databases that earlier versions have left behind: opened, brought up to date, sound, and written to.
//!
//! They stand in `old/`, one for every version before the last. A new migration adds one: what the version
//! before it makes of `world::fill`.

use std::path::Path;

use evenfare_store::audit::audit;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{Filter, Listing, Sight, Store};

use crate::postgres::Cluster;
use crate::world::{code, content, day, fill_callers, fill_invoices, issue_under, run};

const OLD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/store/old");

/// What the database of an earlier version holds, and that everything can be done with it.
async fn check(store: &dyn Store, version: usize) {
    let (events, callers, invoices) = [(8, 0, 0), (11, 2, 0), (14, 2, 3), (14, 2, 3)][version - 1];
    let audited = audit(store, None, |_| Ok(())).await.unwrap();
    assert_eq!(audited.invoices, invoices);
    assert_eq!((audited.events, audited.entries, audited.editions, audited.callers), (events, 4, 2, callers));
    let record = store.answered(&code("a-1")).await.unwrap().unwrap();
    assert_eq!(record.event.subject, "Q-2026-00001");
    assert_eq!(store.settings().await.unwrap(), events);
    let listing = Listing { sight: Sight::All, filter: Filter::default(), before: None, limit: 9 };
    let page = store.list(&listing).await.unwrap();
    let lines: Vec<_> = page.summaries.into_iter().map(Result::unwrap).collect();
    let accepted: Vec<_> = lines.iter().map(|line| (&line.accepted, line.accepted_net_minor)).collect();
    assert_eq!(accepted, [(&None, None), (&Some(code("main")), Some(123_456))]);
    if version == 1 {
        fill_callers(store).await;
    }
    let quote = content(day(2026, 8, 1), 100);
    let record = store.write(issue_under(2, "new", "Q", quote)).await.unwrap();
    assert_eq!((record.event.sequence, record.event.subject.as_str()), (events.max(11) + 1, "Q-2026-00003"));
    // Where they are there, the same requests are answered as they were.
    fill_invoices(store).await;
    let audited = audit(store, None, |_| Ok(())).await.unwrap();
    assert_eq!((audited.events, audited.callers, audited.invoices), (15, 2, 3));
    store.close().await;
}

#[test]
fn an_old_sqlite_file_is_brought_up_to_date() {
    for version in [1, 2, 3, 4] {
        let folder = tempfile::tempdir().unwrap();
        let (old, path) =
            (Path::new(OLD).join(format!("version-{version}.sqlite")), folder.path().join("store.db"));
        std::fs::copy(&old, &path).unwrap();
        run(async {
            // A copy is brought up to date, and what it is a copy of is not: an earlier program may be using it.
            let (before, copy) = (std::fs::read(&path).unwrap(), folder.path().join("copy.db"));
            assert_eq!(Sqlite::backup(&path, &copy).await.unwrap().entries, 4);
            assert!(std::fs::read(&path).unwrap() == before);
            check(&Sqlite::open(&copy).unwrap(), version).await;
            check(&Sqlite::open(&path).unwrap(), version).await;
            // Put back from an old backup it is brought up to date as well.
            let back = folder.path().join("back.db");
            let restored = Sqlite::restore(&old, &back).await.unwrap();
            assert_eq!(restored.entries, 4);
            check(&Sqlite::open(&back).unwrap(), version).await;
        });
    }
}

#[test]
fn an_old_postgresql_database_is_brought_up_to_date() {
    let Some(cluster) = Cluster::shared() else { return };
    for version in [1, 2, 3, 4] {
        let url = cluster.database();
        let dump = Path::new(OLD).join(format!("version-{version}.postgres.sql"));
        cluster.sql(&url, &std::fs::read_to_string(dump).unwrap());
        run(async {
            // Several servers start after the update.
            let (one, two) = tokio::join!(Postgres::connect(&url), Postgres::connect(&url));
            check(&one.unwrap(), version).await;
            assert_eq!(two.unwrap().last().await.unwrap(), 15);
        });
    }
}

#[test]
fn a_database_of_a_later_version_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    let later = "INSERT INTO evenfare_versions VALUES (99, 0)";
    let newer = StoreError::Newer { found: 99, known: 5 };
    run(async {
        Sqlite::open(&path).unwrap().close().await;
        rusqlite::Connection::open(&path).unwrap().execute_batch(later).unwrap();
        assert_eq!(Sqlite::open(&path).err(), Some(newer.clone()));
        let Some(cluster) = Cluster::shared() else { return };
        let url = cluster.database();
        Postgres::connect(&url).await.unwrap().close().await;
        cluster.sql(&url, later);
        assert_eq!(Postgres::connect(&url).await.err(), Some(newer));
    });
}

#[test]
fn a_file_of_something_else_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other.db");
    rusqlite::Connection::open(&path).unwrap().execute_batch("CREATE TABLE songs (name TEXT)").unwrap();
    let before = std::fs::read(&path).unwrap();
    assert!(matches!(Sqlite::open(&path), Err(StoreError::Corrupt(_))));
    // Not a byte of it, nor how it is written to.
    assert!(std::fs::read(&path).unwrap() == before);
    let text = folder.path().join("text.db");
    std::fs::write(&text, "not a database, but long enough to be looked at".repeat(50)).unwrap();
    assert!(matches!(Sqlite::open(&text), Err(StoreError::Corrupt(_))));
}
