//! Bounds, and what anybody may ask: too large, too late, too many; health, reflection, metrics.

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use evenfare::serve::access::{Kind, METHODS};
use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use tonic::{Code, Request, Status};
use tonic_health::pb::health_client::HealthClient;
use tonic_health::pb::{HealthCheckRequest, health_check_response::ServingStatus};
use tonic_types::StatusExt;

use crate::harness::{
    Peer, Server, World, announced, channel, command, connect, end, issue, issued, job, office, opened,
    reason, whole,
};

fn is_too_large(status: &Status) {
    let told = reason(status);
    assert_eq!((told.code, told.reason.as_str()), (Code::ResourceExhausted, "MESSAGE_TOO_LARGE"));
    assert!(status.message().contains("131072 bytes"), "{status:?}");
    assert!(status.get_details_retry_info().is_none(), "it is too large tomorrow as well");
}

#[tokio::test]
async fn a_message_that_is_too_large_is_refused() {
    let (_world, _server, mut office) = opened().await;
    let mut wire = job("01-direct-oven");
    // Half a megabyte of empty units would be fifty megabytes once it is read.
    wire.units = vec![pb::Unit::default(); 250_000];
    let request = pb::PriceJobRequest { job: Some(wire.clone()), ..pb::PriceJobRequest::default() };
    is_too_large(&office.price_job(request).await.unwrap_err());
    // In a stream it ends the stream; what came before it was answered.
    let jobs = [job("01-direct-oven"), wire];
    let jobs = jobs.map(|job| pb::PriceJobsRequest { job: Some(job), ..pb::PriceJobsRequest::default() });
    let mut answers = office.price_jobs(tokio_stream::iter(jobs)).await.unwrap().into_inner();
    assert!(answers.message().await.unwrap().is_some());
    is_too_large(&answers.message().await.unwrap_err());
    // And as many as are read are told apart from a job.
    let mut wire = job("01-direct-oven");
    wire.units = vec![pb::Unit::default(); 10_000];
    let request = pb::PriceJobRequest { job: Some(wire), ..pb::PriceJobRequest::default() };
    assert_eq!(office.price_job(request).await.unwrap_err().code(), Code::InvalidArgument);
    let request = pb::PriceJobRequest { job: Some(job("01-direct-oven")), ..pb::PriceJobRequest::default() };
    assert!(office.price_job(request).await.is_ok());
}

#[tokio::test]
async fn a_deadline_that_is_over_is_answered_so() {
    let (_world, _server, mut office) = opened().await;
    let mut request = Request::new(pb::WatchQuotesRequest { after_sequence: 0, from_now: true });
    request.set_timeout(Duration::from_millis(300));
    let status = match office.watch_quotes(request).await {
        Ok(answer) => answer.into_inner().message().await.unwrap_err(),
        Err(status) => status,
    };
    let told = reason(&status);
    assert_eq!((told.code, told.reason.as_str()), (Code::DeadlineExceeded, "DEADLINE_EXCEEDED"));
}

/// Whatever is called: a message that is announced as too large is not waited for, and bytes that are none are told.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_method_refuses_what_is_no_message_of_its_own() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let peer = Peer::connect(&server.url, 65_535).await;
    for (method, kinds) in METHODS {
        let token = match kinds[0] {
            Kind::Office => &world.office,
            Kind::Accountant => &world.accountant,
            Kind::Partner => &world.olom,
        };
        let largest = if method.contains("TariffService") { 4 << 20 } else { 128 << 10 };
        for (said, code, why) in [
            (announced(largest + 1), Code::ResourceExhausted, "MESSAGE_TOO_LARGE"),
            (whole(&[0xFF; 40]), Code::Internal, "MALFORMED_MESSAGE"),
        ] {
            let call = async { end(peer.call(method, Some(token), said).await.unwrap()).await };
            let ended = tokio::time::timeout(Duration::from_secs(20), call).await;
            let told = reason(&ended.unwrap_or_else(|_| panic!("{method} waits: {why}")));
            assert_eq!((told.code, told.reason.as_str()), (code, why), "{method}");
        }
    }
}

/// Nobody has to be known for these, so that none may ask for much room.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_anybody_may_ask_is_short() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let peer = Peer::connect(&server.url, 65_535).await;
    for (method, code) in [
        ("/grpc.health.v1.Health/Check", Code::ResourceExhausted),
        ("/grpc.health.v1.Health/Watch", Code::ResourceExhausted),
        // The service says nothing of what it cannot read, and waits for no more.
        ("/grpc.reflection.v1.ServerReflection/ServerReflectionInfo", Code::Ok),
        ("/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo", Code::Ok),
    ] {
        let call = async { end(peer.call(method, None, announced((4 << 10) + 1)).await.unwrap()).await };
        let ended = tokio::time::timeout(Duration::from_secs(20), call).await;
        assert_eq!(ended.unwrap_or_else(|_| panic!("{method} waits")).code(), code, "{method}");
    }
}

/// A message that is compressed, a timeout that is none: no service has seen them.
#[tokio::test]
async fn what_no_service_has_seen_is_refused_with_a_reason() {
    let (_world, _server, mut office) = opened().await;
    for (key, value, code, why) in [
        ("grpc-encoding", "gzip", Code::Unimplemented, "UNSUPPORTED"),
        ("grpc-timeout", "soon", Code::InvalidArgument, "INVALID_INPUT"),
    ] {
        let mut request = Request::new(pb::ListQuotesRequest::default());
        request.metadata_mut().insert(key, value.parse().unwrap());
        let told = reason(&office.list_quotes(request).await.unwrap_err());
        assert_eq!((told.code, told.reason.as_str()), (code, why));
    }
}

fn is_one_too_many(status: &Status) {
    let told = reason(status);
    assert_eq!((told.code, told.reason.as_str()), (Code::ResourceExhausted, "TOO_MANY"));
    assert!(status.get_details_retry_info().is_some(), "{status:?}");
}

/// As many streams that last as the README says; short calls have places besides.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn more_streams_than_may_last_are_refused_at_once() {
    const STREAMS: usize = 128;
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let watch = || pb::WatchQuotesRequest { after_sequence: 0, from_now: true };
    let mut lasting = Vec::new();
    // One connection has room for this many streams of all kinds.
    for _ in 0..2 {
        let office = office(&world, &server).await;
        for _ in 0..STREAMS / 2 {
            lasting.push(office.clone().watch_quotes(watch()).await.unwrap());
        }
    }
    let mut office = office(&world, &server).await;
    is_one_too_many(&office.watch_quotes(watch()).await.unwrap_err());
    // A stream of another kind is one of them; what does not last is let in.
    let jobs = tokio_stream::once(pb::PriceJobsRequest {
        job: Some(job("01-direct-oven")),
        ..pb::PriceJobsRequest::default()
    });
    is_one_too_many(&office.price_jobs(jobs).await.unwrap_err());
    office.list_quotes(pb::ListQuotesRequest::default()).await.unwrap();
    lasting.pop();
    let begin = std::time::Instant::now();
    while let Err(status) = office.watch_quotes(watch()).await {
        is_one_too_many(&status);
        assert!(begin.elapsed() < Duration::from_secs(10), "the room is not given back");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn more_calls_than_are_taken_on_are_refused_at_once() {
    let world = World::new();
    let server = Server::start(&world.database, &["--calls", "4"]);
    let office = office(&world, &server).await;
    // Calls that last.
    let mut lasting = Vec::new();
    for _ in 0..4 {
        let request = pb::WatchQuotesRequest { after_sequence: 0, from_now: true };
        lasting.push(office.clone().watch_quotes(request).await.unwrap());
    }
    let status = office.clone().list_quotes(pb::ListQuotesRequest::default()).await.unwrap_err();
    is_one_too_many(&status);
    // Whether it is up, it still says.
    let mut health = HealthClient::new(channel(&server.url).await);
    let answer = health.check(HealthCheckRequest::default()).await.unwrap().into_inner();
    assert_eq!(answer.status(), ServingStatus::Serving);
    drop(lasting);
    let begin = std::time::Instant::now();
    while office.clone().list_quotes(pb::ListQuotesRequest::default()).await.is_err() {
        assert!(begin.elapsed() < Duration::from_secs(10), "the room is not given back");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_says_that_it_is_about_to_stop_and_finishes_its_calls() {
    let world = World::new();
    // Whoever kept it from ending would do so for longer than is waited here.
    let server = Server::start(&world.database, &["--drain", "3600"]);
    let mut health = HealthClient::new(channel(&server.url).await);
    let mut news = health.watch(HealthCheckRequest::default()).await.unwrap().into_inner();
    assert_eq!(news.message().await.unwrap().unwrap().status(), ServingStatus::Serving);
    let office = office(&world, &server).await;
    let issuing: Vec<_> = (0..20)
        .map(|index| {
            let mut office = office.clone();
            let request = issue(&format!("R-{index}"), "02-two-partners");
            tokio::spawn(async move { office.issue_quote(request).await })
        })
        .collect();
    tokio::time::sleep(Duration::from_millis(5)).await;
    server.terminate();
    assert_eq!(news.message().await.unwrap().unwrap().status(), ServingStatus::NotServing);
    let last = tokio::time::timeout(Duration::from_secs(20), news.message()).await;
    assert!(last.expect("the stream goes on").unwrap().is_none(), "it is the last that is said");
    for call in issuing {
        // Taken on before it stopped: answered. Not taken on: refused as a whole, and said so.
        if let Err(status) = call.await.unwrap() {
            assert_eq!(status.code(), Code::Unavailable, "{status:?}");
        }
    }
    assert!(server.wait().success());
}

#[tokio::test]
async fn what_the_server_understands_can_be_asked() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    use tonic_reflection::pb::v1::ServerReflectionRequest;
    use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
    use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;
    use tonic_reflection::pb::v1::server_reflection_response::MessageResponse;
    use tonic_reflection::pb::v1alpha;
    let mut client = ServerReflectionClient::new(channel(&server.url).await);
    let request = ServerReflectionRequest {
        host: String::new(),
        message_request: Some(MessageRequest::ListServices(String::new())),
    };
    let mut answers = client.server_reflection_info(tokio_stream::once(request)).await.unwrap().into_inner();
    let Some(MessageResponse::ListServicesResponse(services)) =
        answers.message().await.unwrap().unwrap().message_response
    else {
        panic!("no list of services");
    };
    let names: Vec<_> = services.service.iter().map(|service| service.name.as_str()).collect();
    for name in ["OfficeService", "PartnerService", "AccountantService", "TariffService"] {
        assert!(names.contains(&format!("evenfare.v1.{name}").as_str()), "{names:?}");
    }
    let mut client =
        v1alpha::server_reflection_client::ServerReflectionClient::new(channel(&server.url).await);
    let request = v1alpha::ServerReflectionRequest {
        host: String::new(),
        message_request: Some(v1alpha::server_reflection_request::MessageRequest::FileContainingSymbol(
            "evenfare.v1.OfficeService".into(),
        )),
    };
    let mut answers = client.server_reflection_info(tokio_stream::once(request)).await.unwrap().into_inner();
    let answer = answers.message().await.unwrap().unwrap().message_response;
    assert!(matches!(
        answer,
        Some(v1alpha::server_reflection_response::MessageResponse::FileDescriptorResponse(_))
    ));
}

/// Asks that without a body; all that is answered.
fn over_http1(address: SocketAddr, asked: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    let head = format!("{asked} HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\n\r\n");
    stream.write_all(head.as_bytes()).unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    text
}

#[tokio::test]
async fn metrics_count_calls_and_name_nobody() {
    let world = World::new();
    let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let server = Server::start(&world.database, &["--metrics", &port.to_string()]);
    let mut office = office(&world, &server).await;
    issued(&mut office, "R-1", "02-two-partners").await;
    office
        .get_quote(pb::GetQuoteRequest { number: "Q-2026-00009".into(), ..pb::GetQuoteRequest::default() })
        .await
        .unwrap_err();
    // What is no gRPC is no call, over whatever HTTP; that somebody sends it shows all the same.
    let issue = "/evenfare.v1.OfficeService/IssueQuote";
    let peer = Peer::connect(&server.url, 65_535).await;
    assert_eq!(
        [peer.send_text(issue).await, peer.send_text("/").await].map(|status| status.as_u16()),
        [415; 2]
    );
    let address = server.url.strip_prefix("http://").unwrap().parse().unwrap();
    assert!(over_http1(address, &format!("POST {issue}")).starts_with("HTTP/1.1 400 "));
    let text = over_http1(port, "GET /metrics");
    let count = |method: &str, code: &str| {
        let line = text.lines().find(|line| {
            line.starts_with("evenfare_calls_total{") && line.contains(method) && line.contains(code)
        });
        line.unwrap_or_else(|| panic!("{method} {code} in {text}")).rsplit_once(' ').unwrap().1.to_owned()
    };
    assert_eq!(count("IssueQuote", "\"OK\""), "1");
    assert_eq!(count("GetQuote", "\"NOT_FOUND\""), "1");
    let names = text.lines().filter_map(|line| line.strip_prefix("# TYPE ")?.split(' ').next());
    let untold: Vec<_> = names.filter(|name| !text.contains(&format!("# HELP {name} "))).collect();
    assert!(untold.is_empty(), "{untold:?} in {text}");
    assert!(text.contains("\nevenfare_no_calls_total{status=\"415\"} 2\n"), "{text}");
    assert!(text.contains("\nevenfare_no_calls_total{status=\"400\"} 1\n"), "{text}");
    assert!(text.contains("\nevenfare_editions_unreadable 0\n"), "{text}");
    assert!(!text.contains(&world.office) && !text.contains("Q-2026"));
}

#[tokio::test]
async fn the_log_names_callers_and_no_secrets() {
    let world = World::new();
    let server = Server::start(&world.database, &["--log", "json"]);
    let mut office = office(&world, &server).await;
    let mut request = Request::new(issue("R-SECRET", "02-two-partners"));
    request.metadata_mut().insert("x-request-id", "portal-7".parse().unwrap());
    let answer = office.issue_quote(request).await.unwrap();
    assert_eq!(answer.metadata().get("x-request-id").unwrap(), "portal-7");
    // A partner who asks for what is not his, and somebody with a token of nobody.
    let mut barred = OfficeServiceClient::new(connect(&server.url, &world.olom).await);
    barred.list_quotes(pb::ListQuotesRequest::default()).await.unwrap_err();
    let guessed = format!("evenfare_{}", "7".repeat(64));
    let mut nobody = OfficeServiceClient::new(connect(&server.url, &guessed).await);
    nobody.list_quotes(pb::ListQuotesRequest::default()).await.unwrap_err();
    let begin = std::time::Instant::now();
    while server.log().matches("call ended").count() < 3 {
        assert!(begin.elapsed() < Duration::from_secs(10), "{}", server.log());
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    let log = server.log();
    let line = |words: &[&str]| log.lines().any(|line| words.iter().all(|word| line.contains(word)));
    assert!(line(&["OfficeService/IssueQuote", "front-desk", "\"OK\"", "portal-7"]), "{log}");
    assert!(line(&["OfficeService/ListQuotes", "portal-olom", "PERMISSION_DENIED"]), "{log}");
    assert!(line(&["OfficeService/ListQuotes", "UNAUTHENTICATED"]), "{log}");
    for secret in
        [&world.office, &world.olom, &guessed, "R-SECRET", &job("02-two-partners").customer.unwrap().name]
    {
        assert!(!log.contains(secret), "{secret} in {log}");
    }
    assert!(log.lines().all(|line| serde_json::from_str::<serde_json::Value>(line).is_ok()), "{log}");
}

#[test]
fn plain_text_is_for_loopback() {
    let world = World::new();
    let serve = |more: &[&str]| {
        command()
            .args(["serve", "--database", &world.database, "--listen", "0.0.0.0:0"])
            .args(more)
            .output()
            .unwrap()
    };
    let output = serve(&[]);
    assert_eq!(output.status.code(), Some(64));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--plain-text"));
    // Asked for by name, it serves.
    drop(Server::start(&world.database, &["--listen", "0.0.0.0:0", "--plain-text"]));
}
