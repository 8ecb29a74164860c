//! Jobs that ask for much: refused before anything is kept, or kept and answered for ever; and no portal that asks
//! again and again keeps the office waiting.

use std::time::{Duration, Instant};

use evenfare::wire::pb;
use evenfare::wire::pb::partner_service_client::PartnerServiceClient;
use tonic::{Code, Request, Status};
use tonic_types::StatusExt;

use crate::harness::{Server, World, audit, connect, issue, job, office, opened, reason};

/// Clients take four megabytes unless they say otherwise.
const ANSWER: usize = 16 << 20;

/// How many units with this many findings each, and this many alternatives.
fn broad(units: usize, findings: usize, alternatives: usize) -> pb::Job {
    let mut job = job("02-two-partners");
    let first = job.units[0].clone();
    let unit = |index: usize| pb::Unit {
        id: String::new(),
        serial: String::new(),
        cycles: None,
        parcels: if index == 0 { first.parcels.clone() } else { Vec::new() },
        findings: (0..findings)
            .map(|place| pb::Finding {
                position: Some(place.to_string()),
                ..first.findings[place % first.findings.len()].clone()
            })
            .collect(),
        ..first.clone()
    };
    job.units = (0..units).map(unit).collect();
    let more = |index: usize| {
        let finding = pb::Finding { position: Some(format!("Z{index}")), ..first.findings[0].clone() };
        pb::Alternative {
            id: format!("A{index}"),
            text: String::new(),
            changes: vec![pb::Change { unit: "U1".into(), findings: vec![finding], ..pb::Change::default() }],
        }
    };
    job.alternatives = (0..alternatives).map(more).collect();
    job
}

/// The one mistake of a job as a whole.
fn against_the_job(status: &Status) -> String {
    let told = reason(status);
    assert_eq!((told.code, told.reason.as_str()), (Code::InvalidArgument, "INVALID_INPUT"), "{status:?}");
    assert!(status.message().starts_with("job: "), "{status:?}");
    status.message().to_owned()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn who_asks_for_too_much_is_refused_and_nothing_is_kept() {
    let (world, server, mut office) = opened().await;
    // A message of a few kilobytes that would be an answer of twenty megabytes.
    let job = broad(25, 5, 20);
    let request = pb::PriceJobRequest { job: Some(job.clone()), ..pb::PriceJobRequest::default() };
    let told = against_the_job(&office.price_job(request).await.unwrap_err());
    assert!(told.contains("3190, in 21 offer(s)") && told.contains("at most 1000"), "{told}");
    let request = pb::IssueQuoteRequest { job: Some(job.clone()), ..issue("R-1", "01-direct-oven") };
    against_the_job(&office.issue_quote(request).await.unwrap_err());
    let mut partner = PartnerServiceClient::new(connect(&server.url, &world.olom).await);
    let own = pb::Job { route: Vec::new(), ..job };
    let request = pb::PriceOwnJobRequest { job: Some(own), ..pb::PriceOwnJobRequest::default() };
    against_the_job(&partner.price_own_job(request).await.unwrap_err());

    // Within that bound a quote may still be longer than is ever answered.
    let request = pb::IssueQuoteRequest { job: Some(broad(40, 0, 20)), ..issue("R-1", "01-direct-oven") };
    let told = against_the_job(&office.issue_quote(request).await.unwrap_err());
    assert!(told.contains("bytes, with its working") && told.contains("at most 15728640 bytes"), "{told}");

    // Neither has taken a number or the id of its request.
    let quote = office.issue_quote(issue("R-1", "01-direct-oven")).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(quote.number, "Q-2026-00001");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_kept_is_answered_and_so_is_its_opposite() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut office = office(&world, &server).await.max_decoding_message_size(ANSWER);
    // As broad as a job may be whose quote is not too long.
    let request = pb::IssueQuoteRequest { job: Some(broad(60, 4, 1)), ..issue("R-1", "01-direct-oven") };
    let issued = office.issue_quote(request.clone()).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(office.issue_quote(request).await.unwrap().into_inner().quote.unwrap(), issued);
    let get = |reversal: bool| pb::GetQuoteRequest {
        number: issued.number.clone(),
        revision: reversal.then_some(1),
        reversal,
    };
    let read = office.get_quote(get(false)).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(read.quote, issued.quote);
    let reverse = pb::ReverseQuoteRequest {
        request_id: "R-2".into(),
        number: issued.number.clone(),
        etag: issued.etag.clone(),
        reason: "asked for twice".into(),
    };
    let opposite = office.reverse_quote(reverse).await.unwrap().into_inner().quote.unwrap();
    let read = office.get_quote(get(true)).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(read.quote, opposite.quote);
    assert!(audit(&world.database).0);
}

#[cfg(target_os = "linux")]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn prices_that_nobody_waits_for_take_up_no_more_than_one_place() {
    let world = World::new();
    let server = Server::start(&world.database, &["--drain", "1"]);
    let partner = PartnerServiceClient::new(connect(&server.url, &world.olom).await);
    let mut partner = partner.max_decoding_message_size(ANSWER);
    let job = pb::Job { route: Vec::new(), ..broad(60, 3, 3) };
    let asked =
        || pb::PriceOwnJobRequest { job: Some(job.clone()), with_working: true, ..Default::default() };
    let at_first = server.threads();
    let mut over = 0;
    for _ in 0..40 {
        let mut request = Request::new(asked());
        request.set_timeout(Duration::from_millis(20));
        over += usize::from(partner.price_own_job(request).await.is_err());
    }
    assert!(over > 30, "{over} were given up");
    // One computes, and some wait on the disk.
    let now = server.threads();
    assert!(now <= at_first + 8, "{now} threads, {at_first} at first");
    // A call that waits is answered as soon as the one before it has ended.
    partner.price_own_job(asked()).await.unwrap();

    // One that nobody waits for does not keep the server from ending.
    let mut request = Request::new(asked());
    request.set_timeout(Duration::from_millis(20));
    assert!(partner.price_own_job(request).await.is_err());
    server.terminate();
    drop(partner);
    assert!(server.wait().success());
}

/// Large jobs of all partners are priced one after the other; he who sends many has a quarter of the places.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_partner_leaves_places_for_the_large_jobs_of_others() {
    const OWN: usize = 8;
    let world = World::new();
    // Whatever token he has: his jobs count together.
    let second = world.token("portal-olom-2", "partner:P-OLOM");
    let server = Server::start(&world.database, &[]);
    let own = async |token: &str| {
        let partner = PartnerServiceClient::new(connect(&server.url, token).await);
        partner.max_decoding_message_size(ANSWER)
    };
    let asked = |job: pb::Job| pb::PriceOwnJobRequest { job: Some(job), ..Default::default() };
    let large = pb::Job { route: Vec::new(), ..broad(60, 3, 3) };
    let (one, two, mut other) = (own(&world.olom).await, own(&second).await, own(&world.brzeg).await);
    let sent: Vec<_> = (0..5 * OWN)
        .map(|index| {
            let (mut partner, request) =
                (if index % 2 == 0 { one.clone() } else { two.clone() }, asked(large.clone()));
            tokio::spawn(async move { partner.price_own_job(request).await })
        })
        .collect();
    // As many as he has places for wait or are priced, and he is told at once of the others.
    let begin = Instant::now();
    while sent.iter().filter(|call| call.is_finished()).count() < 3 * OWN {
        assert!(begin.elapsed() < Duration::from_secs(30), "nobody is refused");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    other.price_own_job(asked(large)).await.unwrap();
    let small = pb::Job { route: Vec::new(), ..job("02-two-partners") };
    one.clone().price_own_job(asked(small)).await.unwrap();
    let mut refused = 0;
    for call in sent {
        let Err(status) = call.await.unwrap() else { continue };
        refused += 1;
        let told = reason(&status);
        assert_eq!((told.code, told.reason.as_str()), (Code::ResourceExhausted, "TOO_MANY"), "{status:?}");
        assert!(status.message().contains("large jobs of this partner"), "{status:?}");
        assert!(status.get_details_retry_info().is_some(), "{status:?}");
    }
    assert!((1..=4 * OWN).contains(&refused), "{refused} were refused");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_slip_of_the_pen_takes_no_number_for_ever() {
    let (_world, _server, mut office) = opened().await;
    let refused = |status: Status, field: &str, words: &str| {
        let told = reason(&status);
        assert_eq!((told.code, told.fields), (Code::InvalidArgument, vec![field.to_owned()]), "{status:?}");
        assert!(status.message().contains(words), "{status:?}");
    };
    let mut job = job("01-direct-oven");
    job.quoted = Some(pb::Date { year: 2099, month: 1, day: 1 });
    job.dispatch = None;
    let request = pb::IssueQuoteRequest { job: Some(job), ..issue("R-1", "01-direct-oven") };
    refused(office.issue_quote(request).await.unwrap_err(), "job.quoted", "a day not after today");
}
