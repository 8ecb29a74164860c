//! Streams that last: jobs one after the other, and what happens as it happens.

use std::time::Duration;

use evenfare::wire::pb;
use evenfare::wire::pb::QuoteEventKind as Kind;
use tokio_stream::StreamExt;
use tonic::{Code, Request};
use tonic_reflection::pb::v1::ServerReflectionRequest;
use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;

use crate::harness::{accept, channel, evenfare, issued, job, opened, reason};

#[tokio::test]
async fn many_jobs_are_priced_in_their_order() {
    let (_world, _server, mut office) = opened().await;
    let names = ["01-direct-oven", "09-floor-refuses", "02-two-partners", "05-yen"];
    let request =
        |name: &&str| pb::PriceJobsRequest { job: Some(job(name)), ..pb::PriceJobsRequest::default() };
    let requests: Vec<_> = names.iter().map(request).chain([pb::PriceJobsRequest::default()]).collect();
    let mut answers = office.price_jobs(tokio_stream::iter(requests)).await.unwrap().into_inner();
    let mut outcomes = Vec::new();
    while let Some(answer) = answers.message().await.unwrap() {
        assert_eq!(answer.index as usize, outcomes.len());
        outcomes.push(match answer.outcome.unwrap() {
            pb::price_jobs_response::Outcome::Quote(quote) => quote.reference,
            pb::price_jobs_response::Outcome::Refusal(refusal) => refusal.reason,
        });
    }
    let reference = |name: &str| job(name).reference;
    let expected = [
        reference("01-direct-oven"),
        "UNDER_THE_FLOOR".into(),
        reference("02-two-partners"),
        reference("05-yen"),
        "INVALID_INPUT".into(),
    ];
    assert_eq!(outcomes, expected);
}

// Two threads: waiting for the server's end must not keep its connections from being answered.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_happens_is_watched() {
    let (_world, server, mut office) = opened().await;
    let first = issued(&mut office, "R-1", "01-direct-oven").await;
    let mut from_now = office.clone();
    let request = pb::WatchQuotesRequest { after_sequence: 0, from_now: true };
    let mut news = from_now.watch_quotes(request).await.unwrap().into_inner();
    office.accept_quote(accept("A-1", &first, "main")).await.unwrap();
    let event = news.message().await.unwrap().unwrap().event.unwrap();
    assert_eq!(
        (event.kind(), event.number.as_str(), event.caller.as_str()),
        (Kind::Accepted, "Q-2026-00001", "front-desk")
    );

    // From the beginning, and from where somebody left off.
    let mut all = Request::new(pb::WatchQuotesRequest::default());
    all.set_timeout(Duration::from_millis(800));
    let mut all = office.watch_quotes(all).await.unwrap().into_inner();
    let issued_event = all.message().await.unwrap().unwrap().event.unwrap();
    assert_eq!((issued_event.kind(), &issued_event.etag), (Kind::Issued, &first.etag));
    let accepted = all.message().await.unwrap().unwrap().event.unwrap();
    assert_eq!(accepted, event);
    // The stream ends with its deadline, and says so.
    assert_eq!(all.message().await.unwrap_err().code(), Code::DeadlineExceeded);
    let request = pb::WatchQuotesRequest { after_sequence: issued_event.sequence, from_now: false };
    let mut rest = office.watch_quotes(request).await.unwrap().into_inner();
    assert_eq!(rest.message().await.unwrap().unwrap().event.unwrap(), event);
    // What there was before a backup was put back is not waited for in silence.
    let beyond = pb::WatchQuotesRequest { after_sequence: event.sequence + 1, from_now: false };
    assert_eq!(reason(&office.watch_quotes(beyond).await.unwrap_err()).fields, ["after_sequence"]);

    // A server that is about to stop ends it, and is gone soon.
    server.terminate();
    let begin = std::time::Instant::now();
    while let Ok(Some(_)) = rest.message().await {}
    assert!(server.wait().success());
    assert!(begin.elapsed() < Duration::from_secs(15), "{:?}", begin.elapsed());
}

/// A stream that is open does not outlive its caller, nor the server's wish to stop.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pricing_one_after_the_other_ends_with_its_caller() {
    let (world, _server, mut office) = opened().await;
    let (jobs, asked) = tokio::sync::mpsc::channel(1);
    let request =
        || pb::PriceJobsRequest { job: Some(job("01-direct-oven")), ..pb::PriceJobsRequest::default() };
    jobs.send(request()).await.unwrap();
    let asked = tokio_stream::wrappers::ReceiverStream::new(asked);
    let mut answers = office.price_jobs(asked).await.unwrap().into_inner();
    assert!(answers.message().await.unwrap().is_some());
    evenfare(&["caller", "withdraw", "front-desk", "--database", &world.database]);
    let begin = std::time::Instant::now();
    let ended = loop {
        assert!(begin.elapsed() < Duration::from_secs(10), "still priced");
        tokio::time::sleep(Duration::from_millis(50)).await;
        jobs.send(request()).await.unwrap();
        match answers.message().await {
            Ok(_) => {}
            Err(status) => break status,
        }
    };
    assert_eq!(ended.code(), Code::Unauthenticated);
}

/// Who has a stream open and says nothing is told when the server is about to stop, and does not keep it from ending.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn who_has_no_more_jobs_for_now_keeps_no_server_from_ending() {
    let (_world, server, mut office) = opened().await;
    let (jobs, asked) = tokio::sync::mpsc::channel(1);
    let request =
        pb::PriceJobsRequest { job: Some(job("01-direct-oven")), ..pb::PriceJobsRequest::default() };
    jobs.send(request).await.unwrap();
    let asked = tokio_stream::wrappers::ReceiverStream::new(asked);
    let mut answers = office.price_jobs(asked).await.unwrap().into_inner();
    assert!(answers.message().await.unwrap().is_some());
    server.terminate();
    let begin = std::time::Instant::now();
    let told = tokio::time::timeout(Duration::from_secs(10), answers.message()).await;
    let told = reason(&told.expect("it is not told").unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::Unavailable, "STOPPING"));
    drop((jobs, answers, office));
    assert!(server.wait().success());
    assert!(begin.elapsed() < Duration::from_secs(15), "{:?}", begin.elapsed());
}

/// Anybody may ask what there is, and anybody may keep his question open.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn who_goes_on_asking_what_there_is_keeps_no_server_from_ending() {
    let (_world, server, _office) = opened().await;
    let mut client = ServerReflectionClient::new(channel(&server.url).await);
    let question = MessageRequest::ListServices(String::new());
    let first = ServerReflectionRequest { host: String::new(), message_request: Some(question) };
    let asked = tokio_stream::once(first).chain(tokio_stream::pending());
    let mut answers = client.server_reflection_info(asked).await.unwrap().into_inner();
    assert!(answers.message().await.unwrap().is_some());
    server.terminate();
    let begin = std::time::Instant::now();
    let told = tokio::time::timeout(Duration::from_secs(10), answers.message()).await;
    assert!(told.expect("it is not told").unwrap().is_none());
    assert!(server.wait().success());
    assert!(begin.elapsed() < Duration::from_secs(15), "{:?}", begin.elapsed());
}
