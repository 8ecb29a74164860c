//! What a disk leaves, and that SQLite runs on it as on a real one.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]

use std::time::Duration;

use evenfare_crash::disk::Disk;
use evenfare_crash::op::{Fate, Medium, Op, Reached, Rest, Tear};
use evenfare_crash::vfs;
use rusqlite::{Connection, ErrorCode};

fn wrote(at: usize, byte: u8, count: usize) -> Op {
    Op::Wrote { file: 0, at, bytes: vec![byte; count].into() }
}

/// A file of 1024 ones, flushed, and then that; what is left of it, as runs of a byte and their lengths.
fn check(since: &[Op], fates: &[Fate], expect: &[(u8, usize)]) {
    let mut medium = Medium::default();
    let made = Op::Created { name: "a".into(), file: 0 };
    for op in [made, wrote(0, 1, 1024), Op::Flushed { file: 0 }, Op::FolderFlushed].iter().chain(since) {
        medium.take(op);
    }
    let left = medium.left(fates);
    let runs: Vec<_> = left["a"].chunk_by(|one, other| one == other).map(|run| (run[0], run.len())).collect();
    assert_eq!(runs, expect);
}

fn torn(reached: Reached, rest: Rest) -> Fate {
    Fate::Torn(Tear { sector: 512, reached, rest })
}

#[test]
fn what_was_not_flushed_may_be_there_or_not() {
    let over = [wrote(256, 2, 512)];
    check(&over, &[Fate::Lost], &[(1, 1024)]);
    check(&over, &[Fate::Whole], &[(1, 256), (2, 512), (1, 256)]);
    check(&[wrote(256, 2, 512), Op::Flushed { file: 0 }], &[], &[(1, 256), (2, 512), (1, 256)]);
    let two = [wrote(0, 2, 512), wrote(512, 3, 512)];
    check(&two, &[Fate::Lost, Fate::Whole], &[(1, 512), (3, 512)]);
    check(&[Op::Resized { file: 0, size: 100 }], &[Fate::Whole], &[(1, 100)]);
    // The second write went past an end that the first never moved.
    let beyond = [wrote(1024, 2, 512), wrote(1536, 3, 512)];
    check(&beyond, &[Fate::Lost, Fate::Whole], &[(1, 1024), (0, 512), (3, 512)]);
}

#[test]
fn a_write_is_torn_at_the_bounds_of_sectors() {
    // It begins within one sector and ends within the next.
    let over = [wrote(256, 2, 512)];
    check(&over, &[torn(Reached::First(1), Rest::Old)], &[(1, 256), (2, 256), (1, 512)]);
    check(&over, &[torn(Reached::AllBut(1), Rest::Zeros)], &[(1, 256), (0, 256), (2, 256), (1, 256)]);
    check(&over, &[torn(Reached::Bits(0), Rest::Old)], &[(1, 1024)]);
    check(&over, &[torn(Reached::Bits(u64::MAX), Rest::Garbage)], &[(1, 256), (2, 512), (1, 256)]);
    let longer = [wrote(1024, 2, 1024)];
    check(&longer, &[torn(Reached::First(1), Rest::Old)], &[(1, 1024), (2, 512)]);
    check(&longer, &[torn(Reached::First(1), Rest::Zeros)], &[(1, 1024), (2, 512), (0, 512)]);
}

#[test]
fn a_name_is_there_when_its_folder_was_flushed() {
    let mut medium = Medium::default();
    let made = Op::Created { name: "a".into(), file: 0 };
    for op in [&made, &wrote(0, 1, 1), &Op::Flushed { file: 0 }] {
        medium.take(op);
    }
    assert_eq!(medium.open().len(), 1);
    assert!(medium.left(&[Fate::Lost]).is_empty());
    assert_eq!(medium.left(&[Fate::Whole])["a"], [1]);
    for op in [&Op::FolderFlushed, &Op::Removed { name: "a".into() }] {
        medium.take(op);
    }
    // It was taken away, which may not have reached the folder.
    assert_eq!(medium.left(&[Fate::Lost])["a"], [1]);
    assert!(medium.left(&[Fate::Whole]).is_empty());
}

#[test]
fn sqlite_runs_on_it() {
    vfs::register(1).unwrap();
    let mounted = Disk::after(Vec::new(), true).mount();
    let open = || Connection::open(mounted.path()).unwrap();
    for mode in ["DELETE", "WAL"] {
        let (one, other) = (open(), open());
        other.busy_timeout(Duration::ZERO).unwrap();
        one.pragma_update(None, "journal_mode", mode).unwrap();
        one.execute_batch("CREATE TABLE IF NOT EXISTS t (x); BEGIN IMMEDIATE; INSERT INTO t VALUES (1)")
            .unwrap();
        // Nobody else writes meanwhile, nor sees what is not committed.
        let busy = other.execute_batch("BEGIN IMMEDIATE").unwrap_err();
        assert_eq!(busy.sqlite_error_code(), Some(ErrorCode::DatabaseBusy));
        let count =
            |by: &Connection| by.query_row("SELECT count(*) FROM t", (), |row| row.get::<_, i64>(0)).unwrap();
        let before = count(&other);
        one.execute_batch("COMMIT").unwrap();
        assert_eq!(count(&other), before + 1);
        other.execute_batch("INSERT INTO t VALUES (2)").unwrap();
        assert_eq!(count(&one), before + 2);
    }
    // Another process finds it as it was left, and whoever was killed writes no more.
    let (killed, path) = (open(), mounted.path());
    let ops = mounted.disk().killed();
    assert!(killed.execute_batch("INSERT INTO t VALUES (3)").is_err());
    assert!(Connection::open(path).is_err());
    let next = Disk::after(ops, false).mount();
    let next = Connection::open(next.path()).unwrap();
    assert_eq!(next.query_row("SELECT count(*) FROM t", (), |row| row.get::<_, i64>(0)).unwrap(), 4);
}
