//! Durable issuing by 32 callers at once, beside bare `rusqlite` that inserts the same bytes into one table
//! in transactions of the same sizes.
//!
//! `cargo bench -p evenfare-store --bench durable`; the folder is that of `TMPDIR`, its disk is what is
//! measured. With `--test` it only shows that it runs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::float_arithmetic)]

use std::collections::VecDeque;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, mpsc};
use std::time::{Duration, Instant};

use evenfare_store::Store as _;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::Content;
use evenfare_store::number::Series;
use evenfare_store::sqlite::Sqlite;
use rusqlite::Connection;

const CALLERS: usize = 32;
const DOCUMENT: usize = 12 * 1024;
/// Pairs of runs; the median is shown.
const ROUNDS: usize = 7;

/// What one run came to.
struct Run {
    per_second: f64,
    batch: f64,
    median: Duration,
    p99: Duration,
}

fn run_of(taken: Duration, batches: usize, mut latencies: Vec<Duration>) -> Run {
    latencies.sort();
    let count = latencies.len();
    Run {
        per_second: count as f64 / taken.as_secs_f64(),
        batch: count as f64 / batches as f64,
        median: latencies[count / 2],
        p99: latencies[count * 99 / 100],
    }
}

/// Bytes that cannot be packed, other ones for every quote.
fn document(seed: usize) -> Vec<u8> {
    let mut document = Vec::with_capacity(DOCUMENT);
    let mut digest = Digest::of(&seed.to_be_bytes());
    while document.len() < DOCUMENT {
        document.extend_from_slice(digest.as_bytes());
        digest = Digest::of(digest.as_bytes());
    }
    document
}

fn requests(count: usize) -> VecDeque<Request> {
    let quoted = "2026-07-01".parse().unwrap();
    let request = |seed: usize| {
        let content = Content {
            revision: 1,
            reversal: false,
            reference: format!("JOB-{}", seed % 1000).parse().unwrap(),
            customer: "Bakery on the market square".parse().unwrap(),
            edition: "2026-07".parse().unwrap(),
            currency: "EUR".parse().unwrap(),
            quoted,
            valid_until: "2026-07-31".parse().unwrap(),
            end_net_minor: 123_456,
            offers: vec!["main".parse().unwrap()],
            partners: vec!["NORD".parse().unwrap()],
            document: document(seed),
        };
        let fingerprint = Digest::of(&seed.to_be_bytes());
        Request {
            // As random as ids of clients are.
            id: fingerprint.to_string()[..32].parse().unwrap(),
            fingerprint,
            caller: "office".parse().unwrap(),
            command: Command::Issue { series: Series::usual(), content: Box::new(content), editions: 0 },
        }
    };
    (0..count).map(request).collect()
}

fn store(folder: &Path, count: usize) -> Run {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let store = Arc::new(Sqlite::open(folder.join("store.db")).unwrap());
        let waiting = Arc::new(Mutex::new(requests(count)));
        let begun = Instant::now();
        let callers: Vec<_> = (0..CALLERS)
            .map(|_| {
                let (store, waiting) = (Arc::clone(&store), Arc::clone(&waiting));
                tokio::spawn(async move {
                    let mut latencies = Vec::new();
                    loop {
                        let Some(request) = waiting.lock().unwrap().pop_front() else { return latencies };
                        let asked = Instant::now();
                        store.write(request).await.unwrap();
                        latencies.push(asked.elapsed());
                    }
                })
            })
            .collect();
        let mut latencies = Vec::new();
        for caller in callers {
            latencies.extend(caller.await.unwrap());
        }
        let taken = begun.elapsed();
        assert_eq!(store.last().await.unwrap(), count as u64);
        let batches = usize::try_from(store.transactions()).unwrap();
        store.close().await;
        run_of(taken, batches, latencies)
    })
}

/// A document, and where to say that it is on disk.
type Handed = (Vec<u8>, mpsc::Sender<()>);

/// One thread that inserts whatever the callers have handed in, in one transaction.
fn bare(folder: &Path, count: usize) -> Run {
    let mut connection = Connection::open(folder.join("bare.db")).unwrap();
    connection.pragma_update(None, "journal_mode", "WAL").unwrap();
    connection.pragma_update(None, "synchronous", "FULL").unwrap();
    connection
        .execute_batch("CREATE TABLE documents (id INTEGER PRIMARY KEY, document BLOB NOT NULL)")
        .unwrap();
    let documents: VecDeque<Vec<u8>> = (0..count).map(document).collect();
    let waiting = Mutex::new(documents);
    let queue: (Mutex<Vec<Handed>>, Condvar) = Default::default();
    let (batches, left) = (AtomicUsize::new(0), AtomicUsize::new(count));
    let begun = Instant::now();
    let latencies = std::thread::scope(|scope| {
        scope.spawn(|| {
            while left.load(Ordering::Relaxed) > 0 {
                let mut handed = queue.0.lock().unwrap();
                while handed.is_empty() {
                    handed = queue.1.wait(handed).unwrap();
                }
                let batch = std::mem::take(&mut *handed);
                drop(handed);
                let transaction = connection.transaction().unwrap();
                for (document, _) in &batch {
                    let insert = "INSERT INTO documents (document) VALUES (?1)";
                    transaction.prepare_cached(insert).unwrap().execute((document,)).unwrap();
                }
                transaction.commit().unwrap();
                batches.fetch_add(1, Ordering::Relaxed);
                left.fetch_sub(batch.len(), Ordering::Relaxed);
                batch.into_iter().for_each(|(_, answer)| answer.send(()).unwrap());
            }
        });
        let callers: Vec<_> = (0..CALLERS)
            .map(|_| {
                scope.spawn(|| {
                    let mut latencies = Vec::new();
                    loop {
                        let Some(document) = waiting.lock().unwrap().pop_front() else { return latencies };
                        let asked = Instant::now();
                        let (answer, answered) = mpsc::channel();
                        queue.0.lock().unwrap().push((document, answer));
                        queue.1.notify_one();
                        answered.recv().unwrap();
                        latencies.push(asked.elapsed());
                    }
                })
            })
            .collect();
        callers.into_iter().flat_map(|caller| caller.join().unwrap()).collect()
    });
    run_of(begun.elapsed(), batches.load(Ordering::Relaxed), latencies)
}

fn median(mut figures: Vec<f64>) -> f64 {
    figures.sort_by(f64::total_cmp);
    figures[figures.len() / 2]
}

fn show(name: &str, runs: &[Run]) -> f64 {
    let of = |figure: fn(&Run) -> f64| median(runs.iter().map(figure).collect());
    let per_second = of(|run| run.per_second);
    println!(
        "{name:<6} {per_second:>8.0} a second, {:>5.1} a transaction, median {:>6.2} ms, p99 {:>6.2} ms",
        of(|run| run.batch),
        of(|run| run.median.as_secs_f64() * 1e3),
        of(|run| run.p99.as_secs_f64() * 1e3),
    );
    per_second
}

fn main() {
    let only_shown = std::env::args().any(|argument| argument == "--test");
    let (rounds, count) = if only_shown { (1, 64) } else { (ROUNDS, 6_000) };
    let (mut bares, mut stores) = (Vec::new(), Vec::new());
    for _ in 0..rounds {
        let folder = tempfile::tempdir().unwrap();
        bares.push(bare(folder.path(), count));
        stores.push(store(folder.path(), count));
    }
    println!("{count} quotes of {DOCUMENT} bytes by {CALLERS} callers, medians of {rounds} rounds");
    let bare = show("bare", &bares);
    let store = show("store", &stores);
    println!("the store has {:.0} % of the throughput of the bare inserts", store / bare * 100.0);
}
