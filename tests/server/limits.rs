//! Bounds, and what anybody may ask: too large, too late, too many; health, reflection, metrics.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use tonic::{Code, Request};
use tonic_health::pb::health_client::HealthClient;
use tonic_health::pb::{HealthCheckRequest, health_check_response::ServingStatus};
use tonic_types::StatusExt;

use crate::harness::{Server, World, channel, command, connect, job};

#[tokio::test]
async fn a_message_that_is_too_large_is_refused() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut wire = job("01-direct-oven");
    // Half a megabyte of empty units would be fifty megabytes once it is read.
    wire.units = vec![pb::Unit::default(); 250_000];
    let request = pb::PriceJobRequest { job: Some(wire), ..pb::PriceJobRequest::default() };
    let status = office.price_job(request).await.unwrap_err();
    assert!(matches!(status.code(), Code::OutOfRange | Code::ResourceExhausted), "{status:?}");
    // And so many as are read are told apart from a job.
    let mut wire = job("01-direct-oven");
    wire.units = vec![pb::Unit::default(); 10_000];
    let request = pb::PriceJobRequest { job: Some(wire), ..pb::PriceJobRequest::default() };
    assert_eq!(office.price_job(request).await.unwrap_err().code(), Code::InvalidArgument);
    let request = pb::PriceJobRequest { job: Some(job("01-direct-oven")), ..pb::PriceJobRequest::default() };
    assert!(office.price_job(request).await.is_ok());
}

#[tokio::test]
async fn a_deadline_that_is_over_is_answered_so() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut request = Request::new(pb::WatchQuotesRequest { after_sequence: 0, from_now: true });
    request.set_timeout(Duration::from_millis(300));
    let status = match office.watch_quotes(request).await {
        Ok(answer) => answer.into_inner().message().await.unwrap_err(),
        Err(status) => status,
    };
    assert_eq!(status.code(), Code::DeadlineExceeded);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn more_calls_than_are_taken_on_are_refused_at_once() {
    let world = World::new();
    let server = Server::start(&world.database, &["--calls", "4"]);
    let office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    // Calls that last.
    let mut lasting = Vec::new();
    for _ in 0..4 {
        let request = pb::WatchQuotesRequest { after_sequence: 0, from_now: true };
        lasting.push(office.clone().watch_quotes(request).await.unwrap());
    }
    let status = office.clone().list_quotes(pb::ListQuotesRequest::default()).await.unwrap_err();
    assert_eq!(status.code(), Code::ResourceExhausted);
    assert!(status.get_details_retry_info().is_some());
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
    let server = Server::start(&world.database, &[]);
    let mut health = HealthClient::new(channel(&server.url).await);
    let mut news = health.watch(HealthCheckRequest::default()).await.unwrap().into_inner();
    assert_eq!(news.message().await.unwrap().unwrap().status(), ServingStatus::Serving);
    let office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let issuing: Vec<_> = (0..20)
        .map(|index| {
            let mut office = office.clone();
            let request = pb::IssueQuoteRequest {
                request_id: format!("R-{index}"),
                job: Some(job("02-two-partners")),
                series: String::new(),
            };
            tokio::spawn(async move { office.issue_quote(request).await })
        })
        .collect();
    tokio::time::sleep(Duration::from_millis(5)).await;
    server.terminate();
    assert_eq!(news.message().await.unwrap().unwrap().status(), ServingStatus::NotServing);
    for call in issuing {
        // Taken on before it stopped: answered. Not taken on: refused as a whole, and said so.
        if let Err(status) = call.await.unwrap() {
            assert_eq!(status.code(), Code::Unavailable, "{status:?}");
        }
    }
    drop((news, health, office));
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

#[tokio::test]
async fn metrics_count_calls_and_name_nobody() {
    let world = World::new();
    let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let server = Server::start(&world.database, &["--metrics", &port.to_string()]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let request = pb::IssueQuoteRequest {
        request_id: "R-1".into(),
        job: Some(job("02-two-partners")),
        series: String::new(),
    };
    office.issue_quote(request).await.unwrap();
    office
        .get_quote(pb::GetQuoteRequest { number: "Q-2026-00009".into(), ..pb::GetQuoteRequest::default() })
        .await
        .unwrap_err();
    let mut page = TcpStream::connect(port).unwrap();
    page.write_all(b"GET /metrics HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\n\r\n").unwrap();
    let mut text = String::new();
    page.read_to_string(&mut text).unwrap();
    let count = |method: &str, code: &str| {
        let line = text.lines().find(|line| {
            line.starts_with("evenfare_calls_total{") && line.contains(method) && line.contains(code)
        });
        line.unwrap_or_else(|| panic!("{method} {code} in {text}")).rsplit_once(' ').unwrap().1.to_owned()
    };
    assert_eq!(count("IssueQuote", "\"OK\""), "1");
    assert_eq!(count("GetQuote", "\"NOT_FOUND\""), "1");
    assert!(!text.contains(&world.office) && !text.contains("Q-2026"));
}

#[tokio::test]
async fn the_log_names_callers_and_no_secrets() {
    let world = World::new();
    let server = Server::start(&world.database, &["--log", "json"]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut request = Request::new(pb::IssueQuoteRequest {
        request_id: "R-SECRET".into(),
        job: Some(job("02-two-partners")),
        series: String::new(),
    });
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
