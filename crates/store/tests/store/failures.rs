//! Where the disk has no more room.

use std::path::Path;
use std::process::Command;

use evenfare_store::Store;
use evenfare_store::audit::audit;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;

use crate::postgres::Cluster;
use crate::world::{code, content, day, issue, run};

/// No file of this process grows beyond that many bytes: a write fails as it does on a full disk.
fn limit_files(bytes: &str) {
    let limit = format!("--fsize={bytes}:");
    let done = Command::new("prlimit").args(["--pid", &std::process::id().to_string(), &limit]).status();
    assert!(done.unwrap().success(), "prlimit {limit}");
}

fn room_taken(path: &Path) -> u64 {
    let size = |ending: &str| {
        std::fs::metadata(format!("{}{ending}", path.display())).map_or(0, |metadata| metadata.len())
    };
    size("").max(size("-wal"))
}

/// Runs by itself, in a process of its own: the limit is that of a process.
#[test]
#[ignore = "run by `a_full_disk_loses_nothing_answered`"]
fn within_a_process_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    let wanted = |place: usize| issue(&format!("r-{place}"), "Q", content(day(2026, 2, 2), 12_000));
    run(async {
        let store = Sqlite::open(&path).unwrap();
        for place in 0..20 {
            store.write(wanted(place)).await.unwrap();
        }
        limit_files(&(room_taken(&path) + 150_000).to_string());
        let (mut written, mut failed) = ((0..20).collect::<Vec<_>>(), Vec::new());
        for round in 0..40 {
            let places: Vec<usize> = (0..4).map(|at| 20 + round * 4 + at).collect();
            let asked = places.iter().map(|place| store.write(wanted(*place)));
            for (place, answer) in places.iter().zip(futures_util::future::join_all(asked).await) {
                match answer {
                    Ok(_) => written.push(*place),
                    Err(StoreError::Unavailable(_)) => failed.push(*place),
                    Err(other) => panic!("{other}"),
                }
            }
        }
        assert!(
            written.len() > 20 && failed.len() > 20,
            "{} written, {} failed",
            written.len(),
            failed.len()
        );
        for place in &written {
            let id = code(&format!("r-{place}"));
            assert!(store.answered(&id).await.unwrap().is_some(), "{id} was answered and is lost");
        }
        // Nothing at all can be written, and that is seen without a request.
        limit_files("1");
        assert!(matches!(store.can_write().await, Err(StoreError::Unavailable(_))));
        let last = store.last().await.unwrap();
        // There is room again: the same requests are sent once more.
        limit_files("unlimited");
        store.can_write().await.unwrap();
        assert_eq!(store.last().await.unwrap(), last);
        for place in &failed {
            store.write(wanted(*place)).await.unwrap();
        }
        let audited = audit(&store, None, |_| Ok(())).await.unwrap();
        let count = u64::try_from(written.len() + failed.len()).unwrap();
        assert_eq!((audited.entries, audited.numbers.len()), (count, 1));
        store.close().await;
        // And what was answered stands in the file.
        let again = Sqlite::open(&path).unwrap();
        assert_eq!(again.last().await.unwrap(), count);
    });
}

#[test]
fn a_request_that_cannot_be_written_takes_no_other_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        let store = Sqlite::open(&path).unwrap();
        let refuse = "CREATE TRIGGER refuse AFTER INSERT ON entries WHEN NEW.reference = 'BAD' \
             BEGIN SELECT raise(ABORT, 'not this one'); END";
        rusqlite::Connection::open(&path).unwrap().execute_batch(refuse).unwrap();
        let wanted = |place: usize| {
            let mut quote = content(day(2026, 2, 2), 9_000);
            if place % 5 == 3 {
                quote.reference = code("BAD");
            }
            store.write(issue(&format!("r-{place}"), "Q", quote))
        };
        let answers = futures_util::future::join_all((0..40).map(wanted)).await;
        for (place, answer) in answers.into_iter().enumerate() {
            match answer {
                Ok(_) => assert_ne!(place % 5, 3, "{place}"),
                Err(StoreError::Unavailable(said)) => {
                    assert!(place % 5 == 3 && said.contains("not this one"), "{place}: {said}");
                }
                Err(other) => panic!("{other}"),
            }
        }
        assert!(store.transactions() < 20, "they were not written together");
        let audited = audit(&store, None, |_| Ok(())).await.unwrap();
        assert_eq!((audited.events, audited.entries), (32, 32));
        store.close().await;
    });
}

#[test]
fn what_a_killed_process_has_not_flushed_is_flushed_before_it_is_answered_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    run(async {
        let killed = Sqlite::open(path("store.db")).unwrap();
        killed.write(issue("r-1", "Q", content(day(2026, 2, 2), 9_000))).await.unwrap();
        // What it leaves: all that is in the log, flushed or not.
        for ending in ["", "-wal"] {
            std::fs::copy(path(&format!("store.db{ending}")), path(&format!("left.db{ending}"))).unwrap();
        }
        let next = Sqlite::open(path("left.db")).unwrap();
        assert_eq!(next.last().await.unwrap(), 1);
        // Taken over into the file, which is done after the log is flushed and no earlier.
        std::fs::copy(path("left.db"), path("alone.db")).unwrap();
        let alone = Sqlite::open(path("alone.db")).unwrap();
        assert!(alone.answered(&code("r-1")).await.unwrap().is_some());
    });
}

#[test]
fn a_full_disk_loses_nothing_answered() {
    let done = Command::new("sh")
        // Such a write would end the process by a signal, which it is told to ignore.
        .args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\""])
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "failures::within_a_process_of_its_own", "--ignored", "--nocapture"])
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success() && said.contains("1 passed"), "{said}");
}

#[test]
fn whether_postgresql_can_write_is_seen_without_a_request() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    let name = url.rsplit('/').next().unwrap().to_owned();
    // As those who run databases do when a disk is nearly full. It holds for sessions that begin afterwards.
    let read_only = |is: &str| {
        cluster.sql("postgres", &format!("ALTER DATABASE {name} SET default_transaction_read_only = {is}"));
        let end = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname";
        cluster.sql("postgres", &format!("{end} = '{name}'"));
    };
    run(async {
        let store = Postgres::connect(&url).await.unwrap();
        store.can_write().await.unwrap();
        store.write(issue("r-1", "Q", content(day(2026, 2, 2), 100))).await.unwrap();
        read_only("on");
        let why = store.can_write().await.unwrap_err();
        assert!(matches!(&why, StoreError::Unavailable(why) if why.contains("read-only")), "{why}");
        // It still reads.
        assert_eq!(store.last().await.unwrap(), 1);
        read_only("off");
        store.can_write().await.unwrap();
        assert_eq!(store.last().await.unwrap(), 1);
        store.close().await;
        assert_eq!(store.can_write().await, Err(StoreError::Closed));
    });
}

/// A power cut takes nothing that was answered, also where the database is set to answer before it has written.
#[test]
fn postgresql_has_written_what_it_answers_for_however_it_is_set() {
    let Some(cluster) = Cluster::shared() else { return };
    // What holds where an event is written.
    let note = "CREATE TABLE noted (setting text); CREATE FUNCTION note() RETURNS trigger LANGUAGE plpgsql AS $$ \
         BEGIN INSERT INTO noted VALUES (current_setting('synchronous_commit')); RETURN NEW; END $$; \
         CREATE TRIGGER note BEFORE INSERT ON events FOR EACH ROW EXECUTE FUNCTION note()";
    for (set, holds) in [("off", "on"), ("local", "local"), ("on", "on")] {
        let url = cluster.database();
        let name = url.rsplit('/').next().unwrap();
        cluster.sql("postgres", &format!("ALTER DATABASE {name} SET synchronous_commit = {set}"));
        run(async {
            let store = Postgres::connect(&url).await.unwrap();
            cluster.sql(name, note);
            for id in ["r-1", "r-2"] {
                store.write(issue(id, "Q", content(day(2026, 2, 2), 100))).await.unwrap();
            }
            store.close().await;
        });
        assert_eq!(cluster.sql(name, "SELECT DISTINCT setting FROM noted").trim(), holds, "set to {set}");
    }
}
