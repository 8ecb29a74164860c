//! Transactions that the database breaks off and asks to have again: real ones, between two connections.

use std::sync::Arc;
use std::time::Duration;

use evenfare_store::Store;
use evenfare_store::audit::audit;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;

use crate::postgres::Cluster;
use crate::world::{content, day, issue, run};

/// Counts how often an event was tried to be written down: a sequence is not rolled back.
const TRIES: &str = "CREATE SEQUENCE tries";

/// What the writer's transaction does besides, at each event that it writes.
fn at_each_event(what: &str) -> String {
    format!(
        "CREATE FUNCTION meet() RETURNS trigger LANGUAGE plpgsql AS $$ \
         DECLARE tried bigint := nextval('tries'); BEGIN {what} RETURN NEW; END $$; \
         CREATE TRIGGER meet BEFORE INSERT ON events FOR EACH ROW EXECUTE FUNCTION meet();"
    )
}

/// Waits until somebody waits for that lock.
fn somebody_waits_for(lock: u32) -> String {
    format!(
        "WHILE NOT EXISTS (SELECT FROM pg_locks WHERE locktype = 'advisory' AND objid = {lock} AND NOT granted) \
         LOOP PERFORM pg_sleep(0.005); END LOOP;"
    )
}

/// A database of its own with an empty store, and the store.
async fn store_in(cluster: &Cluster) -> (String, Postgres) {
    let url = cluster.database();
    let store = Postgres::connect(&url).await.unwrap();
    (url.rsplit_once('/').unwrap().1.to_owned(), store)
}

/// One quote is issued while the rival does what he does. How often its transaction was tried.
async fn issued_beside(cluster: &Arc<Cluster>, name: &str, store: &Postgres, rival: String) -> u64 {
    let beside = {
        let (cluster, name) = (Arc::clone(cluster), name.to_owned());
        tokio::task::spawn_blocking(move || cluster.sql(&name, &rival))
    };
    // Not before he holds his lock.
    let held = "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND objid = 2 AND granted \
                AND database = (SELECT oid FROM pg_database WHERE datname = current_database())";
    while cluster.sql(name, held).trim() == "0" {
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let record = store.write(issue("r-1", "Q", content(day(2026, 2, 2), 300))).await.unwrap();
    assert_eq!((record.event.sequence, record.event.subject.as_str()), (1, "Q-2026-00001"));
    beside.await.unwrap();
    // It was written once, and the store goes on from there.
    let next = store.write(issue("r-2", "Q", content(day(2026, 2, 2), 300))).await.unwrap();
    assert_eq!((next.event.sequence, next.event.subject.as_str()), (2, "Q-2026-00002"));
    assert_eq!(audit(store, None, |_| Ok(())).await.unwrap().events, 2);
    // The second quote took one try.
    cluster.sql(name, "SELECT last_value FROM tries").trim().parse::<u64>().unwrap() - 1
}

/// A cluster that says the code of each error in its log.
fn cluster() -> Option<Arc<Cluster>> {
    Cluster::start_with(&[("postgresql.auto.conf", "log_error_verbosity = verbose\n")]).map(Arc::new)
}

/// The writer reads what the rival writes, and the rival has read what the writer writes: they could not have run
/// one after the other. The rival is the first to commit.
#[test]
fn what_cannot_be_serialised_is_tried_again() {
    let Some(cluster) = cluster() else { return };
    run(async {
        let (name, store) = store_in(&cluster).await;
        let meet = at_each_event("PERFORM FROM rivals; PERFORM pg_advisory_xact_lock(2);");
        cluster.sql(&name, &format!("{TRIES}; CREATE TABLE rivals (rival bigint); {meet}"));
        let rival = format!(
            "BEGIN ISOLATION LEVEL SERIALIZABLE; SELECT count(*) FROM events; INSERT INTO rivals VALUES (1); \
             SELECT pg_advisory_lock(2); DO $$ BEGIN {} END $$; COMMIT",
            somebody_waits_for(2)
        );
        assert_eq!(issued_beside(&cluster, &name, &store, rival).await, 2);
        let log = cluster.log();
        assert!(log.contains("ERROR:  40001: could not serialize access"), "{log}");
        store.close().await;
    });
}

/// The writer holds what the rival waits for, and waits for what the rival holds. The rival never looks whether
/// that is so: the writer is the one who is broken off.
#[test]
fn a_deadlock_is_tried_again() {
    let Some(cluster) = cluster() else { return };
    run(async {
        let (name, store) = store_in(&cluster).await;
        let meet = format!(
            "IF tried = 1 THEN PERFORM pg_advisory_xact_lock(1); {} PERFORM pg_advisory_xact_lock(2); END IF;",
            somebody_waits_for(1)
        );
        cluster.sql(&name, &format!("{TRIES}; {}", at_each_event(&meet)));
        let holds = "SELECT FROM pg_locks WHERE locktype = 'advisory' AND objid = 1 AND granted";
        let rival = format!(
            "SET deadlock_timeout = '1h'; SELECT pg_advisory_lock(2); \
             DO $$ BEGIN WHILE NOT EXISTS ({holds}) LOOP PERFORM pg_sleep(0.005); END LOOP; END $$; \
             SELECT pg_advisory_lock(1)"
        );
        assert_eq!(issued_beside(&cluster, &name, &store, rival).await, 2);
        let log = cluster.log();
        assert!(log.contains("ERROR:  40P01: deadlock detected"), "{log}");
        store.close().await;
    });
}

/// What fails at every try is told in the end, and nothing of it is kept.
#[test]
fn what_is_never_done_is_told() {
    let Some(cluster) = cluster() else { return };
    run(async {
        let (name, store) = store_in(&cluster).await;
        let fail = "RAISE 'not today' USING ERRCODE = 'serialization_failure';";
        cluster.sql(&name, &format!("{TRIES}; {}", at_each_event(fail)));
        let told = store.write(issue("r-1", "Q", content(day(2026, 2, 2), 300))).await;
        assert_eq!(told, Err(StoreError::Unavailable("not today (40001)".to_owned())));
        let tries = cluster.sql(&name, "SELECT last_value FROM tries").trim().parse::<u32>().unwrap();
        assert!((2..=12).contains(&tries), "{tries} tries");
        cluster.sql(&name, "DROP TRIGGER meet ON events");
        let record = store.write(issue("r-1", "Q", content(day(2026, 2, 2), 300))).await.unwrap();
        assert_eq!(record.event.sequence, 1);
        store.close().await;
    });
}
