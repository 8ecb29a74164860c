//! Backups: taken while others write, checked, and put back.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use evenfare_store::Store;
use evenfare_store::audit::audit;
use evenfare_store::sqlite::{BackupError, Sqlite};

use crate::world::{content, day, fill, issue_under, run};

#[test]
fn a_backup_taken_while_others_write_is_a_store() {
    let folder = tempfile::tempdir().unwrap();
    let (path, copy, back) =
        (folder.path().join("store.db"), folder.path().join("copy.db"), folder.path().join("back.db"));
    run(async {
        let store = Arc::new(Sqlite::open(&path).unwrap());
        fill(store.as_ref()).await;
        let done = Arc::new(AtomicBool::new(false));
        let writing = {
            let (store, done) = (Arc::clone(&store), Arc::clone(&done));
            tokio::spawn(async move {
                let mut place = 0_u64;
                while !done.load(Ordering::Relaxed) {
                    place += 1;
                    store
                        .write(issue_under(2, &format!("b-{place}"), "B", content(day(2026, 1, 1), 9000)))
                        .await
                        .unwrap();
                }
                place
            })
        };
        let mut before = store.last().await.unwrap();
        for _ in 0..5 {
            let _ = std::fs::remove_file(&copy);
            let audited = Sqlite::backup(&path, &copy).await.unwrap();
            let after = store.last().await.unwrap();
            assert!((before..=after).contains(&audited.events), "{before} {} {after}", audited.events);
            before = after;
        }
        done.store(true, Ordering::Relaxed);
        assert!(writing.await.unwrap() > 5, "nobody wrote meanwhile");
        // An older copy is not written over, nor is a link that leads nowhere.
        let older = std::fs::read(&copy).unwrap();
        let link = folder.path().join("link.db");
        std::os::unix::fs::symlink(folder.path().join("nowhere.db"), &link).unwrap();
        for taken in [&copy, &link] {
            let again = Sqlite::backup(&path, taken).await;
            assert_eq!(again, Err(BackupError::Exists(taken.display().to_string())));
        }
        assert!(std::fs::read(&copy).unwrap() == older);
        std::fs::remove_file(&link).unwrap();
        // It is one file, and nothing else was left behind.
        let mut names: Vec<_> = std::fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        assert_eq!(names, ["copy.db", "store.db", "store.db-shm", "store.db-wal"]);

        // What was left behind of another store is not taken for a part of this one.
        let left = folder.path().join("back.db-journal");
        std::fs::write(&left, "left behind").unwrap();
        let beside = Sqlite::restore(&copy, &back).await;
        assert_eq!(beside, Err(BackupError::Exists(left.display().to_string())));
        std::fs::remove_file(&left).unwrap();

        let restored = Sqlite::restore(&copy, &back).await.unwrap();
        let again = Sqlite::restore(&copy, &back).await;
        assert_eq!(again, Err(BackupError::Exists(back.display().to_string())));
        let store_again = Sqlite::open(&back).unwrap();
        assert_eq!(
            store_again.records(0, 10_000).await.unwrap(),
            store.records(0, u32::try_from(restored.events).unwrap()).await.unwrap()
        );
        store_again.write(issue_under(2, "later", "B", content(day(2026, 1, 1), 10))).await.unwrap();
        audit(&store_again, None, |_| Ok(())).await.unwrap();
        store_again.close().await;
        store.close().await;
    });
}

#[test]
fn a_damaged_backup_is_not_put_back() {
    let folder = tempfile::tempdir().unwrap();
    let (copy, damaged, back) =
        (folder.path().join("copy.db"), folder.path().join("damaged.db"), folder.path().join("back.db"));
    run(async {
        let path = folder.path().join("store.db");
        let store = Sqlite::open(&path).unwrap();
        fill(&store).await;
        Sqlite::backup(&path, &copy).await.unwrap();
        let records = store.records(0, 100).await.unwrap();
        store.close().await;
        let whole = std::fs::read(&copy).unwrap();
        let (mut refused, mut harmless) = (0, 0);
        let mut cases: Vec<Vec<u8>> = [0, 100, whole.len() / 2, whole.len() - 1]
            .iter()
            .map(|length| whole[..*length].to_vec())
            .collect();
        // All over the file.
        cases.extend((0..whole.len()).step_by(whole.len() / 150 + 1).map(|at| {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x41;
            bytes
        }));
        for bytes in cases {
            std::fs::write(&damaged, &bytes).unwrap();
            match Sqlite::restore(&damaged, &back).await {
                Err(_) => {
                    refused += 1;
                    assert!(!back.exists(), "a damaged store was put back");
                }
                Ok(_) => {
                    // A byte that nothing is kept in.
                    harmless += 1;
                    let store = Sqlite::open(&back).unwrap();
                    assert_eq!(store.records(0, 100).await.unwrap(), records);
                    store.close().await;
                    for ending in ["", "-wal", "-shm"] {
                        let _ = std::fs::remove_file(format!("{}{ending}", back.display()));
                    }
                }
            }
        }
        println!("{refused} refused, {harmless} harmless");
        assert!(refused > 10, "{refused} refused, {harmless} harmless");
    });
}

/// Also where the last of what was written is just being taken over.
#[test]
fn a_store_that_was_closed_is_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store.db");
    run(async {
        for place in 0..6 {
            let store = Sqlite::open(&path).unwrap();
            // A reader stays open, as a server has some.
            store.last().await.unwrap();
            let long = content(day(2026, 1, 1), 5 << 20);
            store.write(issue_under(0, &format!("r-{place}"), "Q", long)).await.unwrap();
            store.close().await;
            let log = std::fs::metadata(folder.path().join("store.db-wal")).map_or(0, |log| log.len());
            assert_eq!(log, 0, "{place}");
        }
    });
}
