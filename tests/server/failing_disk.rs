//! A disk that is full, and a disk that cannot be relied on: errors, and nothing answered is lost.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use tempfile::TempDir;
use tonic::Code;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_types::StatusExt;

use crate::harness::{Client, Server, World, audit, channel, command, connect, hold, job, reason, until};

async fn issue(office: &mut OfficeServiceClient<Client>, id: usize) -> Result<String, tonic::Status> {
    let request = pb::IssueQuoteRequest {
        request_id: format!("D-{id}"),
        job: Some(job("02-two-partners")),
        series: String::new(),
    };
    office.issue_quote(request).await.map(|answer| answer.into_inner().quote.unwrap().number)
}

/// A small file system of its own in memory; none where whoever runs this may not mount one.
struct Small(TempDir);

impl Small {
    fn mounted(size: &str) -> Option<Self> {
        let dir = TempDir::new().unwrap();
        let size = format!("size={size}");
        let mount = ["-t", "tmpfs", "-o", &size, "tmpfs", dir.path().to_str().unwrap()];
        let mounted = Command::new("mount").args(mount).output().is_ok_and(|output| output.status.success());
        if mounted {
            return Some(Self(dir));
        }
        missing("mounting a small file system needs root");
        None
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

/// What says that it serves: the server as a whole, each of its services, and writing.
async fn serving(server: &Server) -> [bool; 6] {
    let mut health = HealthClient::new(channel(&server.url).await);
    let mut serving = [false; 6];
    let services = ["Office", "Partner", "Accountant", "Tariff"].map(|of| format!("evenfare.v1.{of}Service"));
    let names = [String::new()].into_iter().chain(services).chain(["writing".to_owned()]);
    for (serves, service) in serving.iter_mut().zip(names) {
        let answer = health.check(HealthCheckRequest { service }).await.unwrap().into_inner();
        *serves = answer.status() == ServingStatus::Serving;
    }
    serving
}

const READS: [bool; 6] = [true, true, true, true, true, false];
const READS_AND_WRITES: [bool; 6] = [true; 6];

/// Says loudly what could not be tried; where everything has to be tried it is a failure.
fn missing(what: &str) {
    eprintln!("NOT TESTED: {what}");
    assert!(std::env::var_os("CI").is_none(), "under CI everything is tested: {what}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_disk_is_an_error_and_loses_nothing() {
    let Some(small) = Small::mounted("6m") else { return };
    let database = small.0.path().join("evenfare.db").to_str().unwrap().to_owned();
    let world = World::on(TempDir::new().unwrap(), database);
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut answers = BTreeMap::new();
    let mut full = None;
    for id in 0..2_000 {
        match issue(&mut office, id).await {
            Ok(number) => answers.insert(format!("D-{id}"), number),
            Err(status) => {
                full = Some((id, status));
                break;
            }
        };
    }
    let (id, status) = full.expect("six megabytes hold no two thousand quotes");
    assert_eq!((status.code(), reason(&status).reason.as_str()), (Code::Unavailable, "STORE_UNAVAILABLE"));
    assert!(status.message().contains("send it again with the same id"), "{status:?}");
    assert!(status.get_details_retry_info().is_some(), "{status:?}");
    assert!(answers.len() > 20, "only {} quotes on six megabytes", answers.len());
    // It still reads, and still says no.
    let list = pb::ListQuotesRequest::default();
    assert_eq!(office.list_quotes(list).await.unwrap().into_inner().quotes.len(), answers.len().min(100));
    // Whoever asks how it fares is told that nothing is written down; all services go on, and price and read.
    until(async || {
        assert!(issue(&mut office, id).await.is_err());
        serving(&server).await == READS
    })
    .await;
    let price = pb::PriceJobRequest { job: Some(job("02-two-partners")), ..pb::PriceJobRequest::default() };
    office.price_job(price).await.unwrap();

    // With room again it goes on, without a restart; the request that was refused is answered now.
    let more = ["-o", "remount,size=64m", small.0.path().to_str().unwrap()];
    assert!(Command::new("mount").args(more).status().unwrap().success());
    let number = issue(&mut office, id).await.unwrap();
    answers.insert(format!("D-{id}"), number);
    until(async || serving(&server).await == READS_AND_WRITES).await;
    let quotes = hold(&world.database, &server.url, &world.office, &answers).await;
    assert_eq!(quotes, answers.len());
    eprintln!("the disk was full after {} quotes; all are there, and it went on", answers.len() - 1);
    drop((office, server));
}

/// `fsync` fails: now and then, at random. Whatever was answered is there after a kill.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_failing_fsync_is_an_error_and_loses_nothing() {
    let fiu = Path::new("/usr/bin/fiu-run");
    if !fiu.exists() {
        return missing("fiu-run (Debian: fiu-utils) makes fsync fail");
    }
    let world = World::new();
    let mut answers = BTreeMap::new();
    let (mut id, mut refused) = (0, 0);
    for round in 0..4 {
        // What it does before it listens may fail as well; then it is started again.
        let server = loop {
            let mut under = Command::new(fiu);
            under.args(["-x", "-c", "enable_random name=posix/io/sync/*,probability=0.2"]);
            under.arg(command().get_program()).env_remove("EVENFARE_DATABASE");
            if let Ok(server) = Server::try_start_by(under, &world.database, &[]) {
                break server;
            }
        };
        let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
        for _ in 0..60 {
            match issue(&mut office, id).await {
                Ok(number) => {
                    answers.insert(format!("D-{id}"), number);
                    id += 1;
                }
                Err(status) => {
                    assert_eq!(status.code(), Code::Unavailable, "{status:?}");
                    refused += 1;
                }
            }
        }
        assert!(!answers.is_empty(), "round {round}");
        server.kill();
    }
    assert!(refused > 0, "no fsync failed");
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    // The last request may have been kept although it was refused: by its id there is one answer.
    let number = issue(&mut office, id).await.unwrap();
    answers.insert(format!("D-{id}"), number);
    let quotes = hold(&world.database, &server.url, &world.office, &answers).await;
    assert_eq!(quotes, answers.len());
    eprintln!("fsync failed {refused} requests; {quotes} quotes, all that were answered");
}

/// No file of that process grows beyond this many bytes, and none is written there.
fn limit_files(server: &Server, bytes: &str) {
    let limit = ["--pid", &server.id().to_string(), &format!("--fsize={bytes}:")].map(str::to_owned);
    assert!(Command::new("prlimit").args(limit).status().unwrap().success());
}

/// Nobody writes anything: it is tried all the same.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_disk_that_cannot_be_written_is_found_before_somebody_needs_it() {
    let world = World::new();
    let mut under = Command::new("sh");
    // Such a write would end the process by a signal, which it is told to ignore.
    under.args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\""]).arg(command().get_program());
    under.env_remove("EVENFARE_DATABASE").env("NO_COLOR", "1");
    let server = Server::start_by(under, &world.database, &[]);
    let before = audit(&world.database);
    assert_eq!(serving(&server).await, READS_AND_WRITES);
    limit_files(&server, "1");
    until(async || serving(&server).await == READS).await;
    until(async || server.log().contains("the store cannot write")).await;
    limit_files(&server, "unlimited");
    until(async || serving(&server).await == READS_AND_WRITES).await;
    until(async || server.log().contains("the store can write again")).await;
    // What was tried has left nothing.
    assert_eq!(audit(&world.database), before);
}
