//! Durable issuing by 32 callers at once, beside bare `rusqlite` that inserts the same documents into one
//! table: first the store runs, then its twin in the very transactions that the store has had.
//!
//! `cargo bench -p evenfare-store --bench durable`; the folder is that of `TMPDIR`, its disk is what is
//! measured. With `--test` it only shows that it runs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::float_arithmetic)]

use std::collections::VecDeque;
use std::path::Path;
use std::sync::{Arc, Mutex, mpsc};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use evenfare_store::Store as _;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Content, Offered};
use evenfare_store::number::Series;
use evenfare_store::sqlite::Sqlite;
use rusqlite::Connection;
use tokio::sync::watch;

const CALLERS: usize = 32;
const DOCUMENT: usize = 12 * 1024;
/// Pairs of runs; the median is shown.
const ROUNDS: usize = 7;

/// What one run came to.
struct Run {
    per_second: f64,
    /// How many went into each transaction.
    batches: Vec<usize>,
    /// What a quote has had the system write, log and file together.
    bytes: f64,
    median: Duration,
    p99: Duration,
}

/// What this process has had the system write so far; nothing where the system does not say.
fn written() -> u64 {
    let io = std::fs::read_to_string("/proc/self/io").unwrap_or_default();
    let line = io.lines().find_map(|line| line.strip_prefix("wchar: "));
    line.and_then(|bytes| bytes.parse().ok()).unwrap_or(0)
}

fn run_of(begun: (Instant, u64), batches: Vec<usize>, mut latencies: Vec<Duration>) -> Run {
    let taken = begun.0.elapsed();
    latencies.sort();
    let count = latencies.len();
    Run {
        bytes: (written() - begun.1) as f64 / count as f64,
        per_second: count as f64 / taken.as_secs_f64(),
        batches,
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
            offers: vec![Offered { id: "main".parse().unwrap(), net_minor: Some(123_456) }],
            partners: vec!["NORD".parse().unwrap()],
            document: document(seed).into(),
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

/// The sizes of transactions, as news come in: once for each. Of two that are close the first may be missed, and
/// is then a part of the second.
fn seen(mut news: watch::Receiver<u64>, count: u64) -> JoinHandle<Vec<usize>> {
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    std::thread::spawn(move || {
        let (mut batches, mut before) = (Vec::new(), 0);
        while before < count {
            let last = *runtime.block_on(news.wait_for(|last| *last > before)).unwrap();
            batches.push(usize::try_from(last - before).unwrap());
            before = last;
        }
        batches
    })
}

/// As many as there were, and none with more than there are callers: what was taken for one transaction was
/// two, and is the largest.
fn apart(mut batches: Vec<usize>, transactions: usize) -> Vec<usize> {
    loop {
        let largest = (0..batches.len()).max_by_key(|at| batches[*at]).unwrap();
        if batches.len() >= transactions && batches[largest] <= CALLERS {
            return batches;
        }
        let half = batches[largest] / 2;
        batches[largest] -= half;
        batches.insert(largest, half);
    }
}

fn store(folder: &Path, count: usize) -> Run {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let store = Arc::new(Sqlite::open(folder.join("store.db")).unwrap());
        let waiting = Arc::new(Mutex::new(requests(count)));
        let seen = seen(store.news(), count as u64);
        let begun = (Instant::now(), written());
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
        let mut run = run_of(begun, Vec::new(), latencies);
        assert_eq!(store.last().await.unwrap(), count as u64);
        run.batches = apart(seen.join().unwrap(), usize::try_from(store.transactions()).unwrap());
        store.close().await;
        run
    })
}

/// A document, and where to say that it is on disk.
type Handed = (Vec<u8>, mpsc::Sender<()>);

/// One thread that inserts what the callers hand in, in transactions of these sizes.
fn bare(folder: &Path, batches: &[usize]) -> Run {
    let mut connection = Connection::open(folder.join("bare.db")).unwrap();
    connection.pragma_update(None, "journal_mode", "WAL").unwrap();
    connection.pragma_update(None, "synchronous", "FULL").unwrap();
    connection
        .execute_batch("CREATE TABLE documents (id INTEGER PRIMARY KEY, document BLOB NOT NULL)")
        .unwrap();
    let documents: VecDeque<Vec<u8>> = (0..batches.iter().sum()).map(document).collect();
    let waiting = Mutex::new(documents);
    let (hand_in, handed_in) = mpsc::channel::<Handed>();
    let begun = (Instant::now(), written());
    let latencies = std::thread::scope(|scope| {
        scope.spawn(move || {
            for size in batches {
                // All callers come back: sooner or later there are as many as the store has had.
                let batch: Vec<Handed> = handed_in.iter().take(*size).collect();
                let transaction = connection.transaction().unwrap();
                for (document, _) in &batch {
                    let insert = "INSERT INTO documents (document) VALUES (?1)";
                    transaction.prepare_cached(insert).unwrap().execute((document,)).unwrap();
                }
                transaction.commit().unwrap();
                batch.into_iter().for_each(|(_, answer)| answer.send(()).unwrap());
            }
        });
        let callers: Vec<_> = (0..CALLERS)
            .map(|_| {
                let (hand_in, waiting) = (hand_in.clone(), &waiting);
                scope.spawn(move || {
                    let mut latencies = Vec::new();
                    loop {
                        let Some(document) = waiting.lock().unwrap().pop_front() else { return latencies };
                        let asked = Instant::now();
                        let (answer, answered) = mpsc::channel();
                        hand_in.send((document, answer)).unwrap();
                        answered.recv().unwrap();
                        latencies.push(asked.elapsed());
                    }
                })
            })
            .collect();
        callers.into_iter().flat_map(|caller| caller.join().unwrap()).collect()
    });
    run_of(begun, batches.to_vec(), latencies)
}

fn median(mut figures: Vec<f64>) -> f64 {
    figures.sort_by(f64::total_cmp);
    figures[figures.len() / 2]
}

fn of(runs: &[Run], figure: fn(&Run) -> f64) -> f64 {
    median(runs.iter().map(figure).collect())
}

fn show(name: &str, runs: &[Run]) {
    let of = |figure: fn(&Run) -> f64| of(runs, figure);
    println!(
        "{name:<6} {:>8.0} a second, {:>5.1} a transaction, {:>6.0} bytes a quote, median {:>6.2} ms, p99 {:>6.2} ms",
        of(|run| run.per_second),
        of(|run| run.batches.iter().sum::<usize>() as f64 / run.batches.len() as f64),
        of(|run| run.bytes),
        of(|run| run.median.as_secs_f64() * 1e3),
        of(|run| run.p99.as_secs_f64() * 1e3),
    );
}

fn main() {
    let only_shown = std::env::args().any(|argument| argument == "--test");
    let (rounds, count) = if only_shown { (1, 64) } else { (ROUNDS, 6_000) };
    let (mut bares, mut stores, mut shares) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..rounds {
        let folder = tempfile::tempdir().unwrap();
        let store = store(folder.path(), count);
        let bare = bare(folder.path(), &store.batches);
        shares.push(store.per_second / bare.per_second * 100.0);
        stores.push(store);
        bares.push(bare);
    }
    println!("{count} quotes of {DOCUMENT} bytes by {CALLERS} callers, medians of {rounds} rounds");
    show("bare", &bares);
    show("store", &stores);
    let pairs: Vec<String> = shares.iter().map(|share| format!("{share:.0}")).collect();
    println!(
        "the store has {:.0} % of the throughput of the bare inserts (pair by pair: {})",
        median(shares.clone()),
        pairs.join(", ")
    );
    let a_second = |runs: &[Run]| of(runs, |run| run.per_second);
    println!(
        "row|durable|{:.0}/s|{:.0}/s|{:.2}",
        a_second(&stores),
        a_second(&bares),
        median(shares) / 100.0
    );
}
