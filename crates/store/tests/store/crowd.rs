//! Many at once, on both databases; two servers on one.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use evenfare_store::Store;
use evenfare_store::audit::audit;
use evenfare_store::event::Record;
use evenfare_store::number::Number;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use tokio_postgres::NoTls;

use crate::postgres::Cluster;
use crate::world::{content, day, issue, run, schema};

const TASKS: usize = 16;
const QUOTES: usize = 240;

/// The quote of that place; how often one was told that it is not known whether it was issued, and has
/// asked again.
async fn issued(store: &dyn Store, place: usize) -> (Record, usize) {
    let series = ["Q", "AB", "C3"][place % 3];
    let year = [2025, 2026][place % 2];
    let request = issue(&format!("r-{place}"), series, content(day(year, 5, 5), 500));
    let mut unknown = 0;
    loop {
        match store.write(request.clone()).await {
            Err(StoreError::Busy) => tokio::task::yield_now().await,
            Err(StoreError::Unavailable(_)) => unknown += 1,
            answer => return (answer.unwrap(), unknown),
        }
    }
}

/// Every quote is asked for by two tasks, under the same id; how often they had to ask again.
pub async fn issue_at_once(stores: &[Arc<dyn Store>]) -> usize {
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let store = Arc::clone(&stores[task % stores.len()]);
            tokio::spawn(async move {
                let mut answers: Vec<(usize, (Record, usize))> = Vec::new();
                for turn in 0..2 * QUOTES / TASKS {
                    // Task 0 and task 8 ask for the same, and so on.
                    let place = turn * (TASKS / 2) + task % (TASKS / 2);
                    answers.push((place, issued(store.as_ref(), place).await));
                }
                answers
            })
        })
        .collect();
    let mut asked_again = 0;
    let mut numbers: HashMap<usize, (u64, String)> = HashMap::new();
    for task in tasks {
        for (place, (record, unknown)) in task.await.unwrap() {
            asked_again += unknown;
            let told = (record.event.sequence, record.event.subject);
            assert_eq!(numbers.entry(place).or_insert_with(|| told.clone()), &told, "{place}");
        }
    }
    assert_eq!(numbers.len(), QUOTES);
    let mut series: BTreeMap<(String, u16), BTreeSet<u32>> = BTreeMap::new();
    for (_, number) in numbers.values() {
        let Number { series: name, year, sequence } = number.parse().unwrap();
        assert!(series.entry((name.to_string(), year)).or_default().insert(sequence), "{number} twice");
    }
    for (name, numbers) in series {
        let count = u32::try_from(numbers.len()).unwrap();
        assert!(numbers.into_iter().eq(1..=count), "{name:?} has a gap");
    }
    for store in stores {
        assert_eq!(store.last().await.unwrap(), QUOTES as u64);
        audit(store.as_ref(), None, |_| Ok(())).await.unwrap();
        store.close().await;
        let after = store.write(issue("late", "Q", content(day(2026, 1, 1), 1))).await;
        assert_eq!(after, Err(StoreError::Closed));
    }
    asked_again
}

#[test]
fn a_crowd_gets_gapless_numbers_from_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        assert_eq!(issue_at_once(&[Arc::new(Sqlite::open(&path).unwrap())]).await, 0);
    });
}

#[test]
fn a_crowd_gets_gapless_numbers_from_two_that_share_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let opened: Vec<_> = (0..2)
            .map(|_| {
                let path = path.clone();
                tokio::task::spawn_blocking(move || Arc::new(Sqlite::open(path).unwrap()) as Arc<dyn Store>)
            })
            .collect();
        let mut stores = Vec::new();
        for store in opened {
            stores.push(store.await.unwrap());
        }
        assert_eq!(issue_at_once(&stores).await, 0);
    });
}

#[test]
fn a_crowd_gets_gapless_numbers_from_two_servers_on_postgresql() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = schema(&cluster);
    run(async {
        // Both find an empty database, and make the tables.
        let (one, two) = tokio::join!(Postgres::connect(&url), Postgres::connect(&url));
        assert_eq!(issue_at_once(&[Arc::new(one.unwrap()), Arc::new(two.unwrap())]).await, 0);
    });
}

#[test]
fn connections_that_break_lose_nothing_and_do_nothing_twice() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    let name = url.rsplit('/').next().unwrap().to_owned();
    run(async {
        let one: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        let two: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        let of = Arc::clone(&cluster);
        let breaking = tokio::task::spawn_blocking(move || {
            // The database ends every session again and again, in whatever it is doing.
            for _ in 0..12 {
                std::thread::sleep(Duration::from_millis(25));
                let end = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity \
                     WHERE datname = current_database() AND pid <> pg_backend_pid()";
                of.sql(&name, end);
            }
        });
        assert_eq!(issue_at_once(&[one, two]).await, 0);
        breaking.await.unwrap();
    });
}

#[test]
fn whoever_asks_of_a_full_queue_is_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let store = Sqlite::open(&path).unwrap();
        // Somebody else writes: nothing gets on.
        let other = rusqlite::Connection::open(&path).unwrap();
        other.execute_batch("BEGIN IMMEDIATE").unwrap();
        let requests = (0..3000).map(|place| issue(&format!("r-{place}"), "Q", content(day(2026, 1, 1), 1)));
        let waiting = futures_util::future::join_all(requests.map(|request| store.write(request)));
        let freed = async {
            tokio::time::sleep(Duration::from_millis(300)).await;
            other.execute_batch("COMMIT").unwrap();
        };
        let (answers, ()) = tokio::join!(waiting, freed);
        let busy = answers.iter().filter(|answer| **answer == Err(StoreError::Busy)).count();
        let written = answers.iter().filter(|answer| answer.is_ok()).count();
        assert!(busy > 1000 && written >= 1024, "{busy} busy, {written} written");
        assert_eq!(busy + written, 3000);
        assert_eq!(store.last().await.unwrap(), written as u64);
    });
}

/// An answer that nobody waits for any more is read to its end, over a connection of its own.
#[test]
fn who_gives_up_a_slow_read_keeps_nobody_waiting() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    run(async {
        let store = Postgres::connect(&url).await.unwrap();
        let (other, connection) = tokio_postgres::connect(&url, NoTls).await.unwrap();
        tokio::spawn(connection);
        other.batch_execute("BEGIN; LOCK TABLE callers IN ACCESS EXCLUSIVE MODE").await.unwrap();
        for _ in 0..3 {
            let given_up = tokio::time::timeout(Duration::from_millis(50), store.callers()).await;
            assert!(given_up.is_err(), "{given_up:?}");
        }
        for _ in 0..8 {
            let answer = tokio::time::timeout(Duration::from_secs(5), store.last()).await;
            assert_eq!(answer.expect("it waits for an answer that nobody wants"), Ok(0));
        }
        other.batch_execute("ROLLBACK").await.unwrap();
        assert!(store.callers().await.unwrap().is_empty());
        store.close().await;
    });
}

/// Somebody who reads, and goes on reading.
fn reading(path: &Path) -> rusqlite::Connection {
    let reader = rusqlite::Connection::open(path).unwrap();
    reader.execute_batch("BEGIN").unwrap();
    reader.query_row("SELECT count(*) FROM events", (), |row| row.get::<_, i64>(0)).unwrap();
    reader
}

/// Commands open the store beside the server, where somebody always reads: a backup, say, for minutes.
#[test]
fn who_closes_a_store_that_others_use_keeps_none_of_them_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let server = Sqlite::open(&path).unwrap();
        server.write(issue("r-1", "Q", content(day(2026, 1, 1), 500))).await.unwrap();
        let reader = reading(&path);
        let command = Sqlite::open(&path).unwrap();
        assert_eq!(command.last().await, Ok(1));
        let closing = tokio::spawn(async move { command.close().await });
        tokio::time::sleep(Duration::from_millis(300)).await;
        let begun = Instant::now();
        server.write(issue("r-2", "Q", content(day(2026, 1, 1), 500))).await.unwrap();
        let took = begun.elapsed();
        assert!(took < Duration::from_secs(2), "it waited {took:?} for a command that waits for a reader");
        closing.await.unwrap();
        reader.execute_batch("COMMIT").unwrap();
        server.close().await;
    });
}

/// On a slow disk a server takes its log over for seconds; whoever withdraws a caller meanwhile has to get in.
#[test]
fn who_opens_a_store_waits_for_those_who_take_its_log_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let server = Sqlite::open(&path).unwrap();
        server.write(issue("r-1", "Q", content(day(2026, 1, 1), 500))).await.unwrap();
        let reader = reading(&path);
        let slow = rusqlite::Connection::open(&path).unwrap();
        slow.busy_timeout(Duration::from_secs(3)).unwrap();
        let taking_over = std::thread::spawn(move || {
            // It waits for the reader, and lets nobody else do this meanwhile.
            slow.query_row("PRAGMA wal_checkpoint(TRUNCATE)", (), |row| row.get::<_, i64>(0)).unwrap()
        });
        tokio::time::sleep(Duration::from_millis(300)).await;
        let command = Sqlite::open(&path).unwrap();
        assert_eq!(taking_over.join().unwrap(), 1, "it was in the way, and has given up");
        command.close().await;
        reader.execute_batch("COMMIT").unwrap();
        server.close().await;
    });
}
