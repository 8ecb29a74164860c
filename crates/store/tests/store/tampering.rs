//! Whoever writes past the store is found: any column, any row, of any table.

use std::sync::Arc;

use evenfare_store::Store;
use evenfare_store::audit::{Anchor, AuditError, Broken, Link, audit};
use evenfare_store::digest::Digest;
use evenfare_store::entry::Content;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use rusqlite::Connection;

use crate::postgres::Cluster;
use crate::world::{content, day, fill, issue, run, schema, text};

const TABLES: [&str; 6] = ["events", "entries", "entry_partners", "invoices", "editions", "callers"];

/// As somebody who owns the file: no triggers, no foreign keys, no indexes in the way.
pub fn unlocked(path: &std::path::Path) -> Connection {
    let connection = Connection::open(path).unwrap();
    connection.pragma_update(None, "foreign_keys", false).unwrap();
    connection.pragma_update(None, "ignore_check_constraints", true).unwrap();
    let names: Vec<String> = {
        let mut triggers =
            connection.prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        triggers.query_map((), |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    assert_eq!(names.len(), 3 * TABLES.len(), "every table refuses to change, to remove and to replace");
    for name in names {
        connection.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    connection
}

struct Copies {
    folder: tempfile::TempDir,
    made: std::cell::Cell<u32>,
}

impl Copies {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Sqlite::open(folder.path().join("whole.db")).unwrap();
        fill(&store).await;
        store.close().await;
        Self { folder, made: std::cell::Cell::new(0) }
    }

    /// What an audit finds after those statements.
    async fn after(&self, sql: &str, anchor: Option<Anchor>) -> Result<(), Broken> {
        self.made.set(self.made.get() + 1);
        let path = self.folder.path().join(format!("{}.db", self.made.get()));
        std::fs::copy(self.folder.path().join("whole.db"), &path).unwrap();
        let connection = unlocked(&path);
        connection.execute_batch(sql).unwrap_or_else(|error| panic!("{sql}: {error}"));
        assert!(sql.is_empty() || connection.total_changes() > 0, "{sql} changed nothing");
        drop(connection);
        let store = Sqlite::open(&path).unwrap();
        let found = audit(&store, anchor, |_| Ok(())).await;
        store.close().await;
        match found {
            Ok(_) => Ok(()),
            Err(AuditError::Broken(broken)) => Err(broken),
            Err(AuditError::Store(error)) => panic!("{sql}: {error}"),
        }
    }

    /// Every column that is stored, and the keys of every row.
    fn cells(&self) -> Vec<(&'static str, String, i64)> {
        let connection = Connection::open(self.folder.path().join("whole.db")).unwrap();
        let mut cells = Vec::new();
        for table in TABLES {
            let mut columns = connection.prepare(&format!("PRAGMA table_info({table})")).unwrap();
            let columns: Vec<String> =
                columns.query_map((), |row| row.get(1)).unwrap().map(Result::unwrap).collect();
            let count: i64 =
                connection.query_row(&format!("SELECT count(*) FROM {table}"), (), |row| row.get(0)).unwrap();
            assert!(count > 1, "{table}");
            for column in columns {
                cells.extend((0..count).map(|row| (table, column.clone(), row)));
            }
        }
        cells
    }
}

/// The columns of every key of a table: its own, and those that are unique beside it.
fn keys(connection: &Connection, table: &str) -> Vec<Vec<String>> {
    let names = |sql: &str| -> Vec<String> {
        let mut names = connection.prepare(sql).unwrap();
        names.query_map((), |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    let own = names(&format!("SELECT name FROM pragma_table_info('{table}') WHERE pk > 0 ORDER BY pk"));
    let others =
        names(&format!("SELECT name FROM pragma_index_list('{table}') WHERE origin = 'u' AND \"unique\""));
    let columns = |index: String| names(&format!("SELECT name FROM pragma_index_info('{index}')"));
    std::iter::once(own).chain(others.into_iter().map(columns)).collect()
}

/// `REPLACE` removes rows without asking the triggers that refuse to remove.
#[test]
fn a_row_that_has_a_key_of_another_is_refused_in_every_form() {
    run(async {
        let copies = Copies::new().await;
        let connection = Connection::open(copies.folder.path().join("whole.db")).unwrap();
        connection.pragma_update(None, "foreign_keys", false).unwrap();
        let mut refused = 0;
        for table in TABLES {
            let mut columns = connection.prepare(&format!("PRAGMA table_info({table})")).unwrap();
            let columns: Vec<String> =
                columns.query_map((), |row| row.get(1)).unwrap().map(Result::unwrap).collect();
            let keys = keys(&connection, table);
            let rows = |sql: &str| -> i64 { connection.query_row(sql, (), |row| row.get(0)).unwrap() };
            let count = || rows(&format!("SELECT count(*) FROM {table}"));
            // The row that has all its keys set, as another one with that key, or with none of its keys.
            let row = |kept: &[String]| {
                let moved: Vec<&String> = keys
                    .iter()
                    .filter(|key| key.as_slice() != kept)
                    .filter_map(|key| key.iter().find(|column| !kept.contains(*column)))
                    .collect();
                let value = |column: &String| match moved.contains(&column) {
                    false => column.clone(),
                    true => format!(
                        "CASE typeof({column}) WHEN 'integer' THEN {column} + 1000 \
                         WHEN 'blob' THEN CAST({column} || x'00' AS BLOB) ELSE {column} || 'x' END"
                    ),
                };
                let values: Vec<String> = columns.iter().map(value).collect();
                let set: Vec<String> =
                    keys.iter().flatten().map(|column| format!("{column} IS NOT NULL")).collect();
                let (values, set) = (values.join(", "), set.join(" AND "));
                let key = key(table);
                format!("SELECT {values} FROM {table} WHERE {set} ORDER BY {key} DESC LIMIT 1")
            };
            let into = format!("INTO {table} ({})", columns.join(", "));
            let before = count();
            for key in &keys {
                let row = row(key);
                let update = format!("{0} = excluded.{0}", columns[columns.len() - 1]);
                for statement in [
                    format!("REPLACE {into} {row}"),
                    format!("INSERT OR IGNORE {into} {row}"),
                    format!(
                        "INSERT {into} SELECT * FROM ({row}) WHERE TRUE ON CONFLICT DO UPDATE SET {update}"
                    ),
                ] {
                    let error = connection.execute(&statement, ()).expect_err(&statement).to_string();
                    assert!(error.ends_with("are never replaced"), "{statement}: {error}");
                    assert_eq!(count(), before, "{statement}");
                    refused += 1;
                }
            }
            connection.execute(&format!("REPLACE {into} {}", row(&[])), ()).unwrap();
            assert_eq!(count(), before + 1, "{table}: with keys of its own it is one more");
        }
        // Events and entries have two keys, partners of an entry one, the others three.
        assert_eq!(refused, 3 * 14);
    });
}

fn key(table: &str) -> &'static str {
    match table {
        "events" => "sequence",
        "entry_partners" => "event * 100 + position",
        _ => "event",
    }
}

#[test]
fn any_change_of_any_column_is_found() {
    run(async {
        let copies = Copies::new().await;
        copies.after("", None).await.unwrap();
        let cells = copies.cells();
        assert!(cells.len() > 250, "{}", cells.len());
        for (table, column, row) in cells {
            let key = key(table);
            // Another value of the same type, and one that could stand there too where that is possible.
            let change = format!(
                "UPDATE {table} SET {column} = CASE typeof({column}) WHEN 'integer' THEN {column} + 1000 \
                 WHEN 'blob' THEN CAST({column} || x'00' AS BLOB) WHEN 'text' THEN {column} || 'x' \
                 ELSE (CASE '{column}' WHEN 'revision' THEN 1 WHEN 'preceding' THEN 1 WHEN 'content' THEN zeroblob(32) \
                 ELSE '2026-07-02' END) END \
                 WHERE {key} = (SELECT {key} FROM {table} ORDER BY {key} LIMIT 1 OFFSET {row})"
            );
            let event = if table == "events" { "sequence" } else { "event" };
            let connection = Connection::open(copies.folder.path().join("whole.db")).unwrap();
            let place = format!("SELECT {event} FROM {table} ORDER BY {key} LIMIT 1 OFFSET {row}");
            let sequence: i64 = connection.query_row(&place, (), |row| row.get(0)).unwrap();
            let sequence = u64::try_from(sequence).unwrap();
            let broken = copies.after(&change, None).await.expect_err(&change);
            // Keys that lead somewhere else are found where they lead, the others at their event.
            let leads = ["event", "first", "sequence"].contains(&column.as_str());
            assert!(leads || broken.sequence == sequence, "{change}: {broken}");
        }
    });
}

async fn check(copies: &Copies, sql: &str, sequence: u64, link: Link) {
    let broken = copies.after(sql, None).await.expect_err(sql);
    assert_eq!((broken.sequence, broken.link), (sequence, link), "{sql}: {broken}");
    assert!(broken.to_string().starts_with(&format!("event {sequence}: ")));
}

#[test]
fn rows_that_were_removed_added_or_moved_are_named() {
    run(async {
        let copies = Copies::new().await;
        let copy_of_5 = "INSERT INTO events SELECT 15, kind, recorded, caller, 'again', fingerprint, subject, \
             revision, offer, settled, reason, content, previous, hash FROM events WHERE sequence = 5";
        let swap = "UPDATE events SET sequence = 100 WHERE sequence = 4; UPDATE events SET sequence = 4 \
             WHERE sequence = 5; UPDATE events SET sequence = 5 WHERE sequence = 100";
        for (sql, sequence, link) in [
            ("DELETE FROM events WHERE sequence = 4", 4, Link::Sequence),
            ("DELETE FROM events WHERE sequence = 1", 1, Link::Sequence),
            ("DELETE FROM entries WHERE event = 2", 2, Link::Readable),
            ("DELETE FROM entry_partners WHERE event = 3", 3, Link::Content),
            ("UPDATE entries SET reversal = 2 WHERE event = 6", 6, Link::Readable),
            ("DELETE FROM editions WHERE event = 8", 8, Link::Readable),
            ("DELETE FROM callers WHERE event = 13", 13, Link::Readable),
            (copy_of_5, 15, Link::Previous),
            (swap, 4, Link::Previous),
            (
                "INSERT INTO events SELECT 0, kind, recorded, caller, 'zero', fingerprint, subject, revision, \
                 offer, settled, reason, content, previous, hash FROM events WHERE sequence = 1",
                0,
                Link::Stray,
            ),
            (
                "INSERT INTO entries SELECT 4, first, series, year, 9, revision, reversal, reference, customer, \
                 edition, currency, quoted, valid_until, end_net_minor, offers, document FROM entries WHERE event = 1",
                4,
                Link::Stray,
            ),
            ("INSERT INTO entry_partners VALUES (1, 2, 'OST', 1)", 1, Link::Content),
            ("INSERT INTO entry_partners VALUES (4, 0, 'OST', 1)", 4, Link::Stray),
            // The first of them is named, whatever tables they stand in.
            (
                "INSERT INTO entry_partners VALUES (4, 0, 'OST', 1); INSERT INTO callers VALUES (3, 'mallory', 'office', \
                 'token', x'00')",
                3,
                Link::Stray,
            ),
            ("UPDATE entry_partners SET first = 2 WHERE event = 3", 3, Link::Stray),
            ("DELETE FROM invoices WHERE event = 11", 11, Link::Readable),
            (
                "INSERT INTO invoices SELECT 4, series, year, 9, NULL, entry, offer, partner, issued, due, currency, \
                 net_minor, gross_minor FROM invoices WHERE event = 11",
                4,
                Link::Stray,
            ),
            ("INSERT INTO editions VALUES (3, 'E0', '2020-01-01', NULL, 'EUR', x'00')", 3, Link::Stray),
            ("INSERT INTO callers VALUES (3, 'mallory', 'office', 'token', x'00')", 3, Link::Stray),
        ] {
            check(&copies, sql, sequence, link).await;
        }
    });
}

#[test]
fn a_chain_that_was_cut_or_written_anew_misses_its_anchor() {
    run(async {
        let copies = Copies::new().await;
        let store = Sqlite::open(copies.folder.path().join("whole.db")).unwrap();
        let audited = audit(&store, None, |_| Ok(())).await.unwrap();
        store.close().await;
        assert_eq!((audited.events, audited.entries, audited.editions, audited.callers), (14, 4, 2, 2));
        assert_eq!(audited.invoices, 3);
        assert_eq!(
            audited.numbers.iter().map(ToString::to_string).collect::<Vec<_>>(),
            ["Q-2026-00002", "R-2026-00003"]
        );
        let head = audited.head.unwrap();
        assert_eq!(copies.after("", Some(head)).await, Ok(()));
        let cut = "DELETE FROM events WHERE sequence = 14";
        assert_eq!(copies.after(cut, None).await, Ok(()), "the rest of the chain is a chain");
        let broken = copies.after(cut, Some(head)).await.unwrap_err();
        assert_eq!((broken.sequence, broken.link), (14, Link::Anchor));
        let another = Anchor { hash: Digest::of(b"another chain"), ..head };
        let broken = copies.after("", Some(another)).await.unwrap_err();
        assert_eq!((broken.sequence, broken.link), (14, Link::Anchor));
    });
}

/// A name came with a replacement character already, as garbage does; bytes that are no text would read as the same.
#[test]
fn bytes_that_are_no_text_are_not_taken_for_the_text_that_was_written() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        let store = Sqlite::open(&path).unwrap();
        let quote = Content { customer: text("B\u{fffd}ckerei"), ..content(day(2026, 7, 1), 50) };
        store.write(issue("i-1", "Q", quote)).await.unwrap();
        audit(&store, None, |_| Ok(())).await.unwrap();
        store.close().await;
        let damage = "UPDATE entries SET customer = CAST(x'42ff636b65726569' AS TEXT)";
        unlocked(&path).execute_batch(damage).unwrap();
        let store = Sqlite::open(&path).unwrap();
        let Err(AuditError::Broken(broken)) = audit(&store, None, |_| Ok(())).await else { panic!() };
        assert_eq!((broken.sequence, broken.link), (1, Link::Readable), "{broken}");
        store.close().await;

        // Nor is a text for the bytes, where whoever has the file lets one stand there.
        let path = folder.path().join("other.db");
        let store = Sqlite::open(&path).unwrap();
        fill(&store).await;
        store.close().await;
        let damage = "PRAGMA writable_schema = ON; \
             UPDATE sqlite_schema SET sql = replace(sql, 'STRICT', '') WHERE name = 'callers'; \
             PRAGMA writable_schema = RESET; UPDATE callers SET credential = CAST(credential AS TEXT)";
        unlocked(&path).execute_batch(damage).unwrap();
        let store = Sqlite::open(&path).unwrap();
        let Err(AuditError::Broken(broken)) = audit(&store, None, |_| Ok(())).await else { panic!() };
        assert_eq!((broken.sequence, broken.link), (12, Link::Readable), "{broken}");
        store.close().await;
    });
}

#[test]
fn what_the_visitor_finds_is_named_too() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let store = Sqlite::open(folder.path().join("store.db")).unwrap();
        fill(&store).await;
        let refuse_third = |record: &evenfare_store::event::Record| match record.event.sequence {
            3 => Err("no quote".to_owned()),
            _ => Ok(()),
        };
        let Err(AuditError::Broken(broken)) = audit(&store, None, refuse_third).await else { panic!() };
        assert_eq!((broken.sequence, broken.link, broken.found.as_str()), (3, Link::Document, "no quote"));
    });
}

#[test]
fn postgresql_refuses_changes_and_its_audit_finds_them() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = schema(&cluster);
    let at = url.rsplit("%3D").next().unwrap().to_owned();
    run(async {
        let store: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        fill(store.as_ref()).await;
        audit(store.as_ref(), None, |_| Ok(())).await.unwrap();
        let (client, connection) = tokio_postgres::connect(&url, tokio_postgres::NoTls).await.unwrap();
        tokio::spawn(connection);
        let merges = client.query_one("SELECT current_setting('server_version_num')::int >= 150000", &[]);
        let merges: bool = merges.await.unwrap().get(0);
        for table in TABLES {
            let own = match table {
                "events" => "sequence",
                "entry_partners" => "event, position",
                _ => "event",
            };
            let column = own.split(',').next().unwrap();
            let update = format!("UPDATE SET {column} = 1");
            let mut all = vec![
                format!("DELETE FROM {table}"),
                format!("TRUNCATE {table} CASCADE"),
                // The keys are asked about after the triggers of the whole statement.
                format!("INSERT INTO {table} ({column}) VALUES (1) ON CONFLICT ({own}) DO {update}"),
            ];
            if merges {
                all.push(format!(
                    "MERGE INTO {table} USING (SELECT 1) one ON TRUE WHEN MATCHED THEN {update}"
                ));
            }
            for refused in all {
                let error = client.batch_execute(&refused).await.unwrap_err();
                assert!(
                    error.as_db_error().unwrap().message().contains("never changed"),
                    "{refused}: {error}"
                );
            }
            client.batch_execute(&format!("ALTER TABLE {table} DISABLE TRIGGER ALL")).await.unwrap();
        }
        // Whoever owns the tables can take this away as well.
        let unique = "ALTER TABLE entries DROP CONSTRAINT entries_series_year_sequence_revision_reversal_key";
        client.batch_execute(unique).await.unwrap();
        let columns = client
            .query(
                "SELECT table_name::text, column_name::text, data_type::text FROM information_schema.columns \
                 WHERE table_schema = $1 AND is_generated = 'NEVER' AND table_name <> 'evenfare_versions'",
                &[&at],
            )
            .await
            .unwrap();
        assert!(columns.len() > 40, "{}", columns.len());
        for column in columns {
            let (table, column, kind): (String, String, String) =
                (column.get(0), column.get(1), column.get(2));
            let other = match kind.as_str() {
                "bigint" => format!("coalesce({column}, 0) + 1000"),
                "text" => format!("coalesce({column}, '') || 'x'"),
                "bytea" => format!("coalesce({column}, '') || '\\x00'::bytea"),
                "date" => format!("coalesce({column}, '2026-01-01'::date) + 1"),
                _ => format!("NOT {column}"),
            };
            let key = if table == "events" { "sequence" } else { "event" };
            let row = format!("{key} = (SELECT max({key}) FROM {table})");
            let changed = format!("CREATE TABLE kept AS SELECT * FROM {table} WHERE {row}");
            client.batch_execute(&changed).await.unwrap();
            client
                .batch_execute(&format!("UPDATE {table} SET {column} = {other} WHERE {row}"))
                .await
                .unwrap();
            let found = audit(store.as_ref(), None, |_| Ok(())).await;
            assert!(matches!(found, Err(AuditError::Broken(_))), "{table}.{column}: {found:?}");
            let back = format!(
                "UPDATE {table} SET {column} = (SELECT {column} FROM kept LIMIT 1) WHERE {row}; DROP TABLE kept"
            );
            client.batch_execute(&back).await.unwrap();
            let sound: Result<_, AuditError> = audit(store.as_ref(), None, |_| Ok(())).await;
            assert!(sound.is_ok(), "{table}.{column} put back: {sound:?}");
        }
        store.close().await;
        assert_eq!(store.last().await, Err(StoreError::Closed));
    });
}
