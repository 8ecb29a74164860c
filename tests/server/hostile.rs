//! Callers who mean harm, or have a defect: whatever they do, memory stays within bounds and the office goes on
//! working meanwhile.

use std::io::Write;
use std::net::TcpStream;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use prost::Message;
use tokio::task::JoinSet;
use tonic::Code;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

use evenfare::wire::pb;

use crate::harness::{
    Office, Peer, Server, World, channel, half, issue, issued, job, office, refusal, whole,
};

/// What a client takes ahead where it says nothing else.
const USUAL: u32 = 65_535;
/// An idle connection takes 24 KiB where the program was built for speed, and up to 41 where it was not.
const OF_A_CONNECTION_KIB: usize = 64;
/// How many calls of one partner are under way at once.
const OF_A_PARTNER: usize = 64;

const PRICE: &str = "/evenfare.v1.PartnerService/PriceOwnJob";
const ISSUE: &str = "/evenfare.v1.OfficeService/IssueQuote";
const REFLECTION: &str = "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo";

/// What a partner asks for.
fn own_job() -> Vec<u8> {
    let job = pb::Job { route: Vec::new(), ..job("01-direct-oven") };
    pb::PriceOwnJobRequest { job: Some(job), ..pb::PriceOwnJobRequest::default() }.encode_to_vec()
}

/// The office issues this many quotes, each of them soon.
async fn goes_on(office: &mut Office, prefix: &str, quotes: usize) {
    for number in 0..quotes {
        let begun = Instant::now();
        let call = office.issue_quote(issue(&format!("{prefix}-{number}"), "01-direct-oven"));
        let answer = tokio::time::timeout(Duration::from_secs(20), call).await;
        let answer = answer.unwrap_or_else(|_| panic!("quote {number} of {prefix} is not answered"));
        answer.unwrap_or_else(|status| {
            panic!("quote {number} of {prefix} after {:?}: {status:?}", begun.elapsed())
        });
    }
}

/// A server with a quote in its store, its office, and the memory that it takes so far.
async fn begun(world: &World) -> (Server, Office, usize) {
    let server = Server::start(&world.database, &[]);
    let mut office = office(world, &server).await;
    issued(&mut office, "R-0", "02-two-partners").await;
    let before = server.resident_mib();
    (server, office, before)
}

fn has_grown_little(server: &Server, before: usize, most: usize, what: &str) {
    let now = server.resident_mib();
    eprintln!("{what}: {before} MiB before, {now} MiB after");
    assert!(now.saturating_sub(before) <= most, "{what}: {before} MiB have become {now} MiB");
}

/// Begins this many calls at once; how many were refused for want of room, the others being held as they are.
async fn begin(
    server: &Server,
    connections: usize,
    calls: usize,
    window: u32,
    call: impl Fn() -> Call,
) -> Begun {
    let mut begun = JoinSet::new();
    for _ in 0..connections {
        let peer = Peer::connect(&server.url, window).await;
        for _ in 0..calls {
            let (peer, Call { path, token, said }) = (peer.clone(), call());
            begun.spawn(async move { peer.call(path, token.as_deref(), said).await.unwrap() });
        }
    }
    let (mut answered, mut refused) = (Vec::new(), 0);
    // Those that wait say nothing; whoever is refused is told at once.
    while let Ok(Some(answer)) = tokio::time::timeout(Duration::from_secs(2), begun.join_next()).await {
        let answer = answer.unwrap();
        match refusal(&answer) {
            Some(code) => {
                assert_eq!(code, Code::ResourceExhausted);
                refused += 1;
            }
            None => answered.push(answer),
        }
    }
    Begun { refused, held: answered.len() + begun.len(), _answered: answered, _waiting: begun }
}

struct Call {
    path: &'static str,
    token: Option<String>,
    said: crate::harness::Said,
}

struct Begun {
    refused: usize,
    held: usize,
    _answered: Vec<hyper::Response<hyper::body::Incoming>>,
    _waiting: JoinSet<hyper::Response<hyper::body::Incoming>>,
}

/// Once they have let go, as many calls of the partner are let in as before.
async fn room_is_given_back(server: &Server, token: &str) {
    let begun_at = Instant::now();
    loop {
        let call = || Call { path: PRICE, token: Some(token.to_owned()), said: half(&own_job()) };
        let begun = begin(server, 1, OF_A_PARTNER, USUAL, call).await;
        if begun.refused == 0 {
            return;
        }
        assert!(begun_at.elapsed() < Duration::from_secs(30), "{} places are not given back", begun.refused);
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn messages_that_never_end_hold_nobody_up() {
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    let message = own_job();
    for _ in 0..4 {
        let peer = Peer::connect(&server.url, USUAL).await;
        for _ in 0..100 {
            let answer = peer.call(ISSUE, None, half(&message)).await.unwrap();
            assert_eq!(refusal(&answer), Some(Code::Unauthenticated), "before the message is there");
        }
    }
    let call = || Call { path: PRICE, token: Some(world.olom.clone()), said: half(&message) };
    let begun = begin(&server, 8, 100, USUAL, call).await;
    assert_eq!((begun.held, begun.refused), (OF_A_PARTNER, 800 - OF_A_PARTNER));
    goes_on(&mut office, "H", 10).await;
    drop(begun);
    room_is_given_back(&server, &world.olom).await;
    has_grown_little(&server, before, 48, "half-sent messages");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn answers_that_are_not_read_hold_nobody_up() {
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    // Not a byte of an answer may be sent: more of them wait than there are places for all callers.
    let call = || Call { path: PRICE, token: Some(world.olom.clone()), said: whole(&own_job()) };
    let begun = begin(&server, 8, 100, 0, call).await;
    assert_eq!((begun.held, begun.refused), (OF_A_PARTNER, 800 - OF_A_PARTNER));
    goes_on(&mut office, "S", 10).await;
    drop(begun);
    room_is_given_back(&server, &world.olom).await;
    has_grown_little(&server, before, 48, "answers that are not read");
}

/// What the server understands, anybody may ask, for as long as he likes.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_anybody_may_call_takes_no_places_of_others() {
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    let call = || Call { path: REFLECTION, token: None, said: half(b"who are you") };
    let begun = begin(&server, 8, 100, USUAL, call).await;
    assert_eq!((begun.held, begun.refused), (128, 800 - 128));
    goes_on(&mut office, "A", 10).await;
    let mut health = HealthClient::new(channel(&server.url).await);
    health.check(HealthCheckRequest::default()).await.unwrap();
    drop(begun);
    has_grown_little(&server, before, 48, "reflection without end");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn calls_that_are_reset_at_once_cost_little() {
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    let until = Instant::now() + Duration::from_secs(3);
    let (resets, closed) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
    let mut peers = JoinSet::new();
    for _ in 0..4 {
        let (url, token, message) = (server.url.clone(), world.olom.clone(), own_job());
        let (resets, closed) = (Arc::clone(&resets), Arc::clone(&closed));
        peers.spawn(async move {
            while Instant::now() < until {
                let peer = Peer::connect(&url, USUAL).await;
                while Instant::now() < until && !peer.is_closed() {
                    let reset =
                        peer.call_and_reset(PRICE, &token, whole(&message), Duration::from_micros(200));
                    if reset.await.is_err() {
                        break;
                    }
                    resets.fetch_add(1, Ordering::Relaxed);
                }
                closed.fetch_add(1, Ordering::Relaxed);
            }
        });
    }
    goes_on(&mut office, "X", 10).await;
    while peers.join_next().await.is_some() {}
    let resets = resets.load(Ordering::Relaxed);
    eprintln!("{resets} calls were reset on {} connections", closed.load(Ordering::Relaxed));
    assert!(resets > 100, "{resets} resets");
    room_is_given_back(&server, &world.olom).await;
    has_grown_little(&server, before, 48, "calls reset at once");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn tokens_that_are_guessed_are_refused_at_any_speed() {
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    let until = Instant::now() + Duration::from_secs(3);
    let guesses = Arc::new(AtomicUsize::new(0));
    let mut peers = JoinSet::new();
    for seed in 0..64_usize {
        let (url, guesses) = (server.url.clone(), Arc::clone(&guesses));
        peers.spawn(async move {
            let peer = Peer::connect(&url, USUAL).await;
            for guess in (seed..).step_by(64) {
                if Instant::now() > until {
                    break;
                }
                let token = format!("evenfare_{guess:064x}");
                let answer = peer.call(ISSUE, Some(&token), whole(&[])).await.unwrap();
                assert_eq!(refusal(&answer), Some(Code::Unauthenticated));
                guesses.fetch_add(1, Ordering::Relaxed);
            }
        });
    }
    goes_on(&mut office, "T", 10).await;
    while let Some(ended) = peers.join_next().await {
        ended.unwrap();
    }
    let guesses = guesses.load(Ordering::Relaxed);
    eprintln!("{guesses} tokens were guessed in 3 s");
    assert!(guesses > 100, "{guesses} guesses");
    has_grown_little(&server, before, 48, "guessed tokens");
}

/// Has this process, and the servers that it starts, have this many files open. Where the system allows fewer, it says
/// so, and fails where `CI` is set.
fn may_open(files: usize) -> bool {
    let limits = std::fs::read_to_string("/proc/self/limits").unwrap();
    let line = limits.lines().find(|line| line.starts_with("Max open files")).unwrap();
    let mut limits = line.split_whitespace().skip(3).map(|limit| limit.parse().unwrap_or(usize::MAX));
    let (soft, hard) = (limits.next().unwrap(), limits.next().unwrap());
    if soft >= files {
        return true;
    }
    // Only whoever runs as root may have more than the hard limit.
    let limit = format!("--nofile={files}{}", if hard >= files { ":" } else { "" });
    let pid = std::process::id().to_string();
    let raised = Command::new("prlimit").args(["--pid", &pid, &limit]).output();
    let why = match raised {
        Ok(output) if output.status.success() => return true,
        Ok(output) => String::from_utf8_lossy(&output.stderr).into_owned(),
        Err(error) => error.to_string(),
    };
    eprintln!("NOT TESTED: {files} open files, the limits being {soft} and {hard}: {why}");
    assert!(std::env::var_os("CI").is_none(), "under CI everything is tested: {files} open files");
    false
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn ten_thousand_connections_may_be_idle() {
    const CONNECTIONS: usize = 10_000;
    // Some files are open for other things.
    if !may_open(CONNECTIONS + 512) {
        return;
    }
    let world = World::new();
    let (server, mut office, before) = begun(&world).await;
    let address = server.url.strip_prefix("http://").unwrap().to_owned();
    let open = tokio::task::spawn_blocking(move || {
        // What an HTTP/2 client says first: the preface, and settings that set nothing.
        let first = [&b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"[..], &[0, 0, 0, 4, 0, 0, 0, 0, 0]].concat();
        let connect = |_| {
            let mut stream = TcpStream::connect(&address).unwrap();
            stream.write_all(&first).unwrap();
            stream
        };
        (0..CONNECTIONS).map(connect).collect::<Vec<_>>()
    });
    let open = open.await.unwrap();
    goes_on(&mut office, "I", 10).await;
    // A connection takes its buffers, and what HTTP/2 counts on both sides.
    let most = 16 + CONNECTIONS * OF_A_CONNECTION_KIB / 1_024;
    has_grown_little(&server, before, most, &format!("{} idle connections", open.len()));
    drop(open);
    goes_on(&mut office, "J", 10).await;
}
