//! The server beside two bare twins, one that carries the same bytes and one that has the same messages, all as
//! processes of their own, asked in turns by the same clients on loopback.
//!
//! `cargo bench --bench loopback`. `EVENFARE_BENCH_SECONDS` is how long each turn lasts.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_arithmetic
)]

#[allow(dead_code, reason = "a soak needs more of it")]
mod load;
mod twin;
#[path = "../../tests/server/harness/process.rs"]
#[allow(dead_code, reason = "the tests of the server need more of it")]
mod process;
mod office;

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use evenfare::wire::pb;
use evenfare_files::{read_job_for, read_tariff};
use prost::Message;

use load::{Load, Side};
use office::Office;

/// The twin and the clients have the server's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// How many turns each side has.
const TURNS: usize = 5;

const PRICE: &str = "/evenfare.v1.OfficeService/PriceJob";
const ISSUE: &str = "/evenfare.v1.OfficeService/IssueQuote";

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args.first().is_some_and(|arg| arg == "twin") {
        return twin::serve(Path::new(&args[1]), args[2] == "messages");
    }
    // `cargo test` runs benchmarks as tests: there it is enough that all of it works.
    let measured = args.iter().any(|arg| arg == "--bench");
    let usual = if measured { "4" } else { "0.2" };
    let seconds = std::env::var("EVENFARE_BENCH_SECONDS").unwrap_or_else(|_| usual.into());
    let turn = Duration::from_secs_f64(seconds.parse().expect("EVENFARE_BENCH_SECONDS is a number"));
    let turns = if measured { TURNS } else { 1 };

    let dir = tempfile::tempdir().unwrap();
    let Office { server, side: ours, database, tariff, job } = Office::open(dir.path());
    let tariffs = read_tariff(&tariff).unwrap();
    let (job, _) = read_job_for(&job, &tariffs).unwrap();
    let job = pb::Job::from(&job);

    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let price =
        pb::PriceJobRequest { job: Some(job.clone()), ..pb::PriceJobRequest::default() }.encode_to_vec();
    let issue = move |id: &str| {
        pb::IssueQuoteRequest { request_id: id.into(), job: Some(job.clone()), series: String::new() }
            .encode_to_vec()
    };
    let (price_answer, issue_answer) = runtime
        .block_on(async { (ours.once(PRICE, price.clone()).await, ours.once(ISSUE, issue("first")).await) });
    // What the server kept of it is what the twin inserts.
    let document = kept(&database);
    let lines =
        pb::PriceJobResponse::decode(&*price_answer).unwrap().quote.unwrap().main.unwrap().end.unwrap().lines;
    println!(
        "a job of {} lines: {} bytes asked, {} answered; issued: {} answered, {} kept",
        lines.len(),
        price.len(),
        price_answer.len(),
        issue_answer.len(),
        document.len()
    );
    std::fs::write(dir.path().join("price"), price_answer).unwrap();
    std::fs::write(dir.path().join("issue"), issue_answer).unwrap();
    std::fs::write(dir.path().join("document"), document).unwrap();
    let ((twin, bytes), (other, messages)) =
        (start_twin(dir.path(), "bytes"), start_twin(dir.path(), "messages"));
    let side = |url| Side { url, token: ours.token.clone() };
    let sides = [("server", ours.clone()), ("bytes", side(bytes)), ("messages", side(messages))];

    println!(
        "a second, the ratio to the server, and the 99th percentile in ms, of the server and both twins:"
    );
    println!(
        "{:<8}{:>8}{:>10}{:>8}{:>10}{:>7}{:>8}{:>10}{:>7}{:>8}",
        "call", "clients", "server", "p99", "bytes", "ratio", "p99", "messages", "ratio", "p99"
    );
    let mut rows = Vec::new();
    for (name, path, clients) in
        [("price", PRICE, 32), ("price", PRICE, 1), ("issue", ISSUE, 32), ("issue", ISSUE, 1)]
    {
        let load = Load { path, clients, turn };
        let mut seen = [const { Vec::new() }; 3];
        for number in 0..turns {
            for ((name, side), seen) in sides.iter().zip(&mut seen) {
                let (price, issue) = (price.clone(), issue.clone());
                let turn = format!("{name}-{clients}-{number}");
                let message = move |index: usize| {
                    if path == PRICE { price.clone() } else { issue(&format!("{turn}-{index}")) }
                };
                seen.push(runtime.block_on(load.run(side, message)));
            }
        }
        let [server, twins @ ..] = seen.map(load::Seen::median);
        print!("{name:<8}{clients:>8}{:>10.0}{:>8.2}", server.calls_a_second, server.p99_ms);
        for (carrying, twin) in ["bytes", "messages"].into_iter().zip(&twins) {
            let figures =
                |seen: &load::Seen| format!("{:.0}/s, p99 {:.1} ms", seen.calls_a_second, seen.p99_ms);
            let ratio = server.calls_a_second / twin.calls_a_second;
            rows.push(format!(
                "row|{name}-{clients}-{carrying}|{}|{}|{ratio:.2}",
                figures(&server),
                figures(twin)
            ));
        }
        for twin in twins {
            let ratio = 100.0 * server.calls_a_second / twin.calls_a_second;
            print!("{:>10.0}{ratio:>6.0}%{:>8.2}", twin.calls_a_second, twin.p99_ms);
        }
        println!();
    }
    rows.iter().for_each(|row| println!("{row}"));
    drop((server, twin, other));
}

/// What the store holds of the first quote.
fn kept(database: &str) -> Vec<u8> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let database: evenfare::serve::database::Database = database.parse().unwrap();
        let store = database.open().await.unwrap();
        let number = "Q-2026-00001".parse().unwrap();
        let entry = store.entry(&number, None, &evenfare_store::Sight::All).await.unwrap().unwrap();
        store.close().await;
        entry.content.document.to_vec()
    })
}

struct Twin(Child);

impl Drop for Twin {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn start_twin(dir: &Path, carrying: &str) -> (Twin, String) {
    use std::io::{BufRead, BufReader};
    let mut child = Command::new(std::env::current_exe().unwrap())
        .arg("twin")
        .arg(dir)
        .arg(carrying)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    (Twin(child), line.trim().to_owned())
}
