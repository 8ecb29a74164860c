//! What is long: read in parts that fit into memory.

use evenfare_store::Store;
use evenfare_store::audit::audit;
use evenfare_store::postgres::Postgres;
use evenfare_store::sqlite::Sqlite;

use crate::postgres::Cluster;
use crate::world::{content, day, issue, run, schema};

const QUOTES: u64 = 12;
const LONG: usize = 3 << 20;

/// Twelve quotes of three megabytes are not read at once by who asks for a hundred records; and he is given all of them
/// who asks again.
async fn check(store: &dyn Store) {
    for place in 0..QUOTES {
        let quote = content(day(2026, 7, 1), LONG);
        store.write(issue(&format!("r-{place}"), "Q", quote)).await.unwrap();
    }
    let (mut after, mut parts) = (0, Vec::new());
    loop {
        let records = store.records(after, 100).await.unwrap();
        let Some(last) = records.last() else { break };
        let sequences: Vec<u64> = records.iter().map(|record| record.event.sequence).collect();
        assert!(sequences.iter().copied().eq(after + 1..=last.event.sequence), "{sequences:?}");
        after = last.event.sequence;
        parts.push(records.len());
    }
    assert_eq!(after, QUOTES);
    // The sixth passes 16 MiB.
    assert!(parts.iter().all(|part| *part <= 6), "{parts:?}");
    assert_eq!(audit(store, None, |_| Ok(())).await.unwrap().events, QUOTES);
    store.close().await;
}

#[test]
fn long_documents_are_read_in_parts() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        check(&Sqlite::open(folder.path().join("store.db")).unwrap()).await;
        if let Some(cluster) = Cluster::shared() {
            check(&Postgres::connect(&schema(&cluster)).await.unwrap()).await;
        }
    });
}
