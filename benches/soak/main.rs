//! A server under mixed load for a stated time: does its memory stay flat, and its slowest answers?
//!
//! `cargo bench --bench soak -- MINUTES`. Twice a minute 32 clients ask for five seconds as fast as they are answered: that
//! is what the server can do. Then they ask at 70 % of it, each call at its own moment, whether the last one was answered
//! early or late. A call's time counts from its moment on, so that a server which stands still is not asked less. Each half
//! of a minute is told, and all are judged at the end: memory by the first of them, the 99th percentile by the one in the
//! middle, and by quarters of the whole what the server can do and its slowest answers, which may not get worse while it
//! keeps more and more.
//!
//! Others may use the same disk and processors, or their host may slow them down. So somebody else flushes one block to
//! the disk ten times a second, and what the slowest took is not the server's fault. Of so few the 99th percentile does not
//! see what stops one call in a hundred: half a second is five flushes, two thousand calls. And where the server can do a
//! sixth less afterwards, 70 % of what it could have become 84 and more: slowest answers of such a half are told and not
//! judged, and there may be few. What others take of the processors for a moment is not measured: one half in forty may
//! have slower answers, and is told.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_arithmetic
)]

mod disk;
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

use disk::Disk;
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
/// Memory at the end of half a minute: at most a quarter more than after the first, and this.
const MORE_MIB: usize = 64;
/// The 99th percentile of half a minute: at most twice that of the half in the middle, this, and the flushes below.
const MORE_MS: f64 = 20.0;
/// What an issue may have to wait for: the flush under way, its own, and that of a checkpoint.
const FLUSHES: f64 = 3.0;
/// So many times what it can do afterwards was asked a share of, where the processors became slower meanwhile.
const SLOWER: f64 = 1.2;
/// One half of a minute in so many may be such a one.
const ONE_IN: usize = 4;
/// One half of a minute in so many may have slower answers than that: nobody else's use of the processors is measured.
const LATE_ONE_IN: usize = 40;
/// What it can do in the last quarter of the time: at least so much of what it could in the first.
const WANED: f64 = 0.5;
/// And the 99th percentile in the middle of that quarter: at most so many times that of the first.
const GREW: f64 = 2.0;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let measured = args.iter().any(|arg| arg == "--bench");
    // `cargo test --benches` runs benchmarks as tests: there it is enough that all of it works, however long it takes.
    let (at_most, at_a_share) = match measured {
        true => (Duration::from_secs(5), Duration::from_secs(25)),
        false => (Duration::from_millis(300), Duration::from_millis(500)),
    };
    let minutes: usize = args.iter().find_map(|arg| arg.parse().ok()).unwrap_or(2);

    let dir = tempfile::tempdir().unwrap();
    let Office { server, side, tariff, job, .. } = Office::open(dir.path());
    let soak = Arc::new(Soak { side, mix: Mix::new(&job, &tariff), took: Mutex::default() });

    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let disk = Disk::of(dir.path());
        println!(
            "minute   calls/s at most     asked   memory, MiB   median, ms   p99, ms   slowest, ms   slowest flush, ms"
        );
        let mut halves: Vec<Half> = Vec::new();
        for half in 1..=minutes * 2 {
            let most = soak.most(at_most).await;
            disk.seen();
            let asked = soak.ask(at_a_share, Some(most * SHARE)).await;
            assert!(asked > 0, "no call was answered in half minute {half}");
            let (seen, flush, memory) = (Seen::of(&soak.took), disk.seen().ms(100), server.resident_mib());
            let [median, p99, slowest] = [50, 99, 100].map(|part| seen.ms(part));
            let minute = half as f64 / 2.0;
            println!(
                "{minute:>6.1} {most:>17.0} {asked:>9} {memory:>13} {median:>12.2} {p99:>9.2} {slowest:>13.2} {flush:>19.2}"
            );
            halves.push(Half { minute, most, memory, p99, flush });
        }
        let afterwards = soak.most(at_most).await;
        let beyond = beyond(&halves, afterwards, measured);
        assert!(beyond.is_empty(), "{}", beyond.join("\n"));
    });
    if measured {
        println!("memory, slowest answers and what it can do stayed within their bounds");
    }
}

/// What half a minute came to.
struct Half {
    minute: f64,
    /// Calls a second, as fast as they were answered.
    most: f64,
    memory: usize,
    p99: f64,
    /// The slowest of the flushes beside the server.
    flush: f64,
}

/// What was more than was to be expected, if anything; of what takes time only where it was measured.
fn beyond(halves: &[Half], afterwards: f64, measured: bool) -> Vec<String> {
    let mut beyond = Vec::new();
    for Half { minute, memory, .. } in halves {
        let most = halves[0].memory + halves[0].memory / 4 + MORE_MIB;
        if *memory > most {
            beyond.push(format!("minute {minute}: {memory} MiB, at most {most} were to be expected"));
        }
    }
    if !measured {
        return beyond;
    }
    let usual = middle(halves.iter().map(|half| half.p99));
    let next = halves.iter().skip(1).map(|half| half.most).chain([afterwards]);
    let (mut slow, mut late) = (0, Vec::new());
    for (Half { minute, most, p99, flush, .. }, next) in halves.iter().zip(next) {
        let bound = usual * 2.0 + MORE_MS + flush * FLUSHES;
        if *most > next * SLOWER {
            slow += 1;
        } else if *p99 > bound {
            late.push(format!("minute {minute}: p99 {p99:.2} ms, at most {bound:.2} were to be expected"));
        }
    }
    if late.len() * LATE_ONE_IN > halves.len() {
        beyond.append(&mut late);
    }
    late.iter().for_each(|half| println!("{half}"));
    if slow * ONE_IN > halves.len() {
        beyond.push(format!("processors became slower {slow} times: on this machine nothing is shown"));
    }
    let quarters = |of: fn(&Half) -> f64| {
        let quarter = halves.len().div_ceil(4);
        (middle(halves.iter().take(quarter).map(of)), middle(halves.iter().rev().take(quarter).map(of)))
    };
    let (first, last) = quarters(|half| half.most);
    if last < first * WANED {
        beyond.push(format!("{last:.0} calls a second in the last quarter, {first:.0} in the first"));
    }
    let (first, last) = quarters(|half| half.p99);
    if last > first * GREW {
        beyond.push(format!("p99 {last:.2} ms in the last quarter, {first:.2} in the first"));
    }
    beyond
}

/// The one in the middle.
fn middle(of: impl Iterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = of.collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// Clients at work.
struct Soak {
    side: Side,
    mix: Mix,
    took: Mutex<Vec<Duration>>,
}

impl Soak {
    /// Calls a second, as fast as they are answered.
    async fn most(self: &Arc<Self>, time: Duration) -> f64 {
        let calls = self.ask(time, None).await;
        Seen::of(&self.took);
        calls as f64 / time.as_secs_f64()
    }

    /// Has all clients ask for so long, so many calls a second or as many as are answered; how many were answered.
    async fn ask(self: &Arc<Self>, time: Duration, rate: Option<f64>) -> usize {
        let begin = Instant::now() + Duration::from_millis(100);
        let mut clients = Vec::new();
        for number in 0..CLIENTS {
            clients.push(tokio::spawn(Arc::clone(self).client(number, (begin, time), rate)));
        }
        let mut calls = 0;
        for client in clients {
            calls += client.await.unwrap();
        }
        calls
    }

    async fn client(
        self: Arc<Self>,
        number: usize,
        (begin, time): (Instant, Duration),
        rate: Option<f64>,
    ) -> usize {
        let mut grpc = self.side.connect().await;
        let mut calls = 0;
        tokio::time::sleep_until(begin.into()).await;
        loop {
            let moment = match rate {
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
