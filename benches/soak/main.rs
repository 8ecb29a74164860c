//! A server under mixed load for a stated time: does its memory stay flat, and its slowest answers?
//!
//! `cargo bench --bench soak -- MINUTES`. First 32 clients ask as fast as they are answered, for two minutes, and the
//! second says what the server can do: in the first its log has hardly been taken over yet. Then they ask at 70 % of
//! that, each call at its own moment, whether the last one was answered early or late. A call's time counts from its
//! moment on, so that a server which stands still is not asked less. Each minute is told, and all are judged at the end:
//! memory by the first, the 99th percentile by the minute in the middle.
//!
//! Others may use the same disk and processors, or their host may slow them down. So somebody else flushes one block to
//! the disk ten times a second, and what the slowest took is not the server's fault. Of so few the 99th percentile does not
//! see what stops one call in a hundred: a second of a minute is ten flushes, five thousand calls. And somebody else prices
//! a job and goes through memory, ten times a second. Where that takes a fifth longer than while the most was measured,
//! 70 % of it have become 84 and more: slowest answers of such a minute are told and not judged, and there may be few.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_arithmetic
)]

mod beside;
#[path = "../loopback/load.rs"]
#[allow(dead_code, reason = "it has turns as well")]
mod load;
mod mix;
#[path = "../../tests/server/harness/process.rs"]
#[allow(dead_code, reason = "the tests of the server need more of it")]
mod process;
#[path = "../loopback/office.rs"]
#[allow(dead_code, reason = "the twins need more of it")]
mod office;
mod seen;

use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use beside::Beside;
use load::Side;
use mix::Mix;
use office::Office;
use seen::Seen;

/// The clients have the server's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const CLIENTS: usize = 32;
/// Of what it can do.
const SHARE: f64 = 0.7;
/// Memory at the end of a minute: at most a quarter more than after the first, and this.
const MORE_MIB: usize = 64;
/// The 99th percentile of a minute: at most twice that of the minute in the middle, this, and the flushes below.
const MORE_MS: f64 = 20.0;
/// What an issue may have to wait for: the flush under way, its own, and that of a checkpoint.
const FLUSHES: f64 = 3.0;
/// How much longer than at first a price takes where the processors are no longer those that the rate was measured on.
const SLOWER: f64 = 1.2;
/// One minute in this many may be such a one.
const ONE_IN: usize = 4;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let measured = args.iter().any(|arg| arg == "--bench");
    // `cargo test --benches` runs benchmarks as tests: there it is enough that all of it works, however long it takes.
    let (window, at_first) = match measured {
        true => (Duration::from_secs(60), Duration::from_secs(60)),
        false => (Duration::from_millis(500), Duration::from_millis(300)),
    };
    let minutes = args.iter().find_map(|arg| arg.parse().ok()).unwrap_or(2);

    let dir = tempfile::tempdir().unwrap();
    let Office { server, side, tariff, job, .. } = Office::open(dir.path());
    let mix = Mix::new(&job, &tariff);

    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let (disk, processor) = (Beside::disk(dir.path()), Beside::processor(&job, &tariff));
        let capacity = Arc::new(Soak::new(&side, &mix, None));
        capacity.ask(at_first).await;
        processor.seen();
        let calls = capacity.ask(at_first).await as f64 / at_first.as_secs_f64();
        // Most tries are not interrupted.
        let pace = || processor.seen().ms(25);
        let at_most = pace();
        disk.seen();
        let asked = calls * SHARE;
        println!("{calls:.0} calls a second at the most; asked {asked:.0} a second for {minutes} minutes");
        println!(
            "minute      calls   memory, MiB   median, ms   p99, ms   slowest, ms   slowest flush, ms   beside it"
        );
        let soak = Arc::new(Soak::new(&side, &mix, Some(asked)));
        let asking = tokio::spawn({
            let soak = Arc::clone(&soak);
            async move { soak.ask(window * minutes).await }
        });
        let mut minutes_seen = Vec::new();
        for minute in 1..=minutes {
            tokio::time::sleep(window).await;
            let (seen, flushes) = (Seen::of(&soak.took), disk.seen());
            let (calls, memory, flush) = (seen.len(), server.resident_mib(), flushes.ms(100));
            let [median, p99, slowest] = [50, 99, 100].map(|part| seen.ms(part));
            let slower = pace() / at_most;
            println!(
                "{minute:>6} {calls:>10} {memory:>13} {median:>12.2} {p99:>9.2} {slowest:>13.2} {flush:>20.2} {slower:>13.2}x"
            );
            assert!(calls > 0, "no call was answered in minute {minute}");
            minutes_seen.push(Minute { memory, p99, flush, is_slow: slower > SLOWER });
        }
        asking.await.unwrap();
        let beyond = beyond(&minutes_seen, measured);
        assert!(beyond.is_empty(), "{}", beyond.join("\n"));
    });
    if measured {
        println!("memory and slowest answers stayed within their bounds");
    }
}

/// What a minute came to.
struct Minute {
    memory: usize,
    p99: f64,
    /// The slowest of the flushes beside the server.
    flush: f64,
    /// Were the processors slow by themselves?
    is_slow: bool,
}

/// What was more than was to be expected, if anything.
fn beyond(minutes: &[Minute], measured: bool) -> Vec<String> {
    let mut beyond = Vec::new();
    let slow = minutes.iter().filter(|minute| minute.is_slow).count();
    if measured && slow * ONE_IN > minutes.len() {
        beyond.push(format!("{slow} minutes had slow processors: on this machine nothing is shown"));
    }
    let mut p99: Vec<f64> = minutes.iter().map(|minute| minute.p99).collect();
    p99.sort_by(f64::total_cmp);
    let usual = p99[p99.len() / 2];
    for (at, minute) in (1..).zip(minutes) {
        let most = minutes[0].memory + minutes[0].memory / 4 + MORE_MIB;
        if minute.memory > most {
            beyond.push(format!("minute {at}: {} MiB, at most {most} were to be expected", minute.memory));
        }
        let most = usual * 2.0 + MORE_MS + minute.flush * FLUSHES;
        if measured && !minute.is_slow && minute.p99 > most {
            beyond.push(format!(
                "minute {at}: p99 {:.2} ms, at most {most:.2} were to be expected",
                minute.p99
            ));
        }
    }
    beyond
}

/// Clients at work.
struct Soak {
    side: Side,
    mix: Mix,
    /// Calls a second; as many as are answered where there is none.
    rate: Option<f64>,
    took: Mutex<Vec<Duration>>,
}

impl Soak {
    fn new(side: &Side, mix: &Mix, rate: Option<f64>) -> Self {
        Self { side: side.clone(), mix: mix.clone(), rate, took: Mutex::default() }
    }

    /// Has all clients ask for so long; how many calls were answered.
    async fn ask(self: &Arc<Self>, time: Duration) -> usize {
        let begin = Instant::now() + Duration::from_millis(100);
        let mut clients = Vec::new();
        for number in 0..CLIENTS {
            clients.push(tokio::spawn(Arc::clone(self).client(number, begin, time)));
        }
        let mut calls = 0;
        for client in clients {
            calls += client.await.unwrap();
        }
        calls
    }

    async fn client(self: Arc<Self>, number: usize, begin: Instant, time: Duration) -> usize {
        let mut grpc = self.side.connect().await;
        let mut calls = 0;
        tokio::time::sleep_until(begin.into()).await;
        loop {
            let moment = match self.rate {
                Some(rate) => begin + Duration::from_secs_f64((number + calls * CLIENTS) as f64 / rate),
                None => Instant::now(),
            };
            if moment.duration_since(begin) >= time {
                return calls;
            }
            tokio::time::sleep_until(moment.into()).await;
            self.mix.call(&self.side, &mut grpc, number + calls).await;
            self.took.lock().unwrap().push(moment.elapsed());
            calls += 1;
        }
    }
}
