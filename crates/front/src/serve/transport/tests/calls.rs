//! Deadlines, admission and request ids, as a client sees them.

use std::time::{Duration, Instant};

use http_body_util::BodyExt;
use tonic::Code;
use tonic_types::StatusExt;

use super::super::Bounds;
use super::client::Client;
use super::server::Server;

const SOON: Duration = Duration::from_secs(2);

#[tokio::test]
async fn a_call_is_answered() {
    let server = Server::plain(Bounds::default()).await;
    let answer = Client::plain(server.address).await.call("Echo", &[], b"rye").await.unwrap();
    assert_eq!(answer.message(), b"rye");
    let long = vec![7; 300_000];
    let answer = Client::plain(server.address).await.call("Echo", &[], &long).await.unwrap();
    assert_eq!(answer.message(), long);
    assert_eq!(server.stop().await.cut_off, 0);
}

#[tokio::test]
async fn a_call_ends_at_its_deadline() {
    let server = Server::plain(Bounds::default()).await;
    let client = Client::plain(server.address).await;
    let began = Instant::now();
    let answer = client.call("Hang", &[("grpc-timeout", "60m")], b"").await.unwrap();
    assert_eq!(answer.code(), Code::DeadlineExceeded);
    assert_eq!(answer.headers["content-type"], "application/grpc");
    assert!(answer.body.is_empty());
    assert!((Duration::from_millis(60)..SOON).contains(&began.elapsed()), "{:?}", began.elapsed());
    server.oven.holds(0).await;
}

#[tokio::test]
async fn a_stream_ends_at_its_deadline() {
    let server = Server::plain(Bounds::default()).await;
    let client = Client::plain(server.address).await;
    let answer = client.call("Drip", &[("grpc-timeout", "400m")], b"").await.unwrap();
    assert!(answer.body.len() > 9, "several messages came before: {answer:?}");
    assert!(answer.trailers.is_some(), "{answer:?}");
    assert_eq!(answer.code(), Code::DeadlineExceeded);
    server.oven.holds(0).await;
}

#[tokio::test]
async fn the_server_bounds_what_does_not_stream() {
    let bounds = Bounds { longest_unary: Some(Duration::from_millis(40)), ..Bounds::default() };
    let server = Server::plain(bounds).await;
    let client = Client::plain(server.address).await;
    for timeout in [&[][..], &[("grpc-timeout", "1H")]] {
        let answer = client.call("Hang", timeout, b"").await.unwrap();
        assert_eq!(answer.code(), Code::DeadlineExceeded);
    }
    let mut stream = client.begin("Drip", &[], b"").await.unwrap().into_body();
    let began = Instant::now();
    while began.elapsed() < Duration::from_millis(120) {
        assert!(stream.frame().await.unwrap().unwrap().is_data());
    }
}

#[tokio::test]
async fn a_malformed_timeout_is_refused() {
    let server = Server::plain(Bounds::default()).await;
    let client = Client::plain(server.address).await;
    let answer = client.call("Echo", &[("grpc-timeout", "soon")], b"").await.unwrap();
    assert_eq!(answer.code(), Code::InvalidArgument);
}

#[tokio::test]
async fn one_call_too_many_is_told_when_to_come_back() {
    let retry_after = Duration::from_millis(250);
    let server = Server::plain(Bounds { calls: 2, retry_after, ..Bounds::default() }).await;
    let client = Client::plain(server.address).await;
    let waiting = tokio::spawn({
        let client = client.clone();
        async move { client.ask("Wait").await.unwrap() }
    });
    let stream = client.begin("Drip", &[], b"").await.unwrap();
    server.oven.holds(2).await;

    let refused = client.ask("Echo").await.unwrap();
    assert_eq!(refused.code(), Code::ResourceExhausted);
    let retry = refused.status().get_details_retry_info().unwrap();
    assert_eq!(retry.retry_delay, Some(retry_after));
    assert!(refused.headers.contains_key("x-request-id"), "{refused:?}");
    // No health service is here; the point is that the question got through to where it would be.
    let health = client.ask("/grpc.health.v1.Health/Check").await.unwrap();
    assert_eq!(health.code(), Code::Unimplemented);

    // A stream that its client gives up makes room, and so does a call that is answered.
    drop(stream);
    server.oven.holds(1).await;
    let mut code = client.ask("Echo").await.unwrap().code();
    let began = Instant::now();
    while code == Code::ResourceExhausted && began.elapsed() < SOON {
        code = client.ask("Echo").await.unwrap().code();
    }
    assert_eq!(code, Code::Ok);
    server.oven.go.add_permits(1);
    assert_eq!(waiting.await.unwrap().message(), b"done");
}

#[tokio::test]
async fn a_request_id_comes_back() {
    let server = Server::plain(Bounds::default()).await;
    let client = Client::plain(server.address).await;
    let given = client.call("Echo", &[("x-request-id", "portal-17")], b"").await.unwrap();
    assert_eq!(given.headers["x-request-id"], "portal-17");
    let (one, other) = (client.ask("Echo").await.unwrap(), client.ask("Nothing").await.unwrap());
    assert_eq!(other.code(), Code::Unimplemented);
    assert_eq!(one.headers["x-request-id"].len(), 16);
    assert_ne!(one.headers["x-request-id"], other.headers["x-request-id"]);
}
