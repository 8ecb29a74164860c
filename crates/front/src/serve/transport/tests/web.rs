//! gRPC-Web from a browser, over HTTP/1.

use std::net::SocketAddr;

use bytes::Bytes;
use http::{Method, Request, Response, StatusCode};
use http_body_util::Full;
use hyper::body::Incoming;
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;
use tonic::{Code, Status};

use super::super::Bounds;
use super::client::{Answer, Client};
use super::oven::framed;
use super::server::{PLAIN, Server};

const PORTAL: &str = "https://portal.example";

async fn send(
    address: SocketAddr,
    method: Method,
    to: &str,
    headers: &[(&str, &str)],
    body: Bytes,
) -> Response<Incoming> {
    let stream = TokioIo::new(TcpStream::connect(address).await.unwrap());
    let (mut client, connection) = hyper::client::conn::http1::handshake(stream).await.unwrap();
    tokio::spawn(connection);
    let mut request =
        Request::builder().method(method).uri(format!("/test.Oven/{to}")).header("host", "test");
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    client.send_request(request.body(Full::new(body)).unwrap()).await.unwrap()
}

async fn preflight(address: SocketAddr, origin: &str) -> Response<Incoming> {
    let headers = [
        ("origin", origin),
        ("access-control-request-method", "POST"),
        ("access-control-request-headers", "authorization,x-grpc-web"),
    ];
    send(address, Method::OPTIONS, "Echo", &headers, Bytes::new()).await
}

async fn call(address: SocketAddr, to: &str, more: &[(&str, &str)], message: &[u8]) -> Answer {
    let headers =
        [&[("origin", PORTAL), ("content-type", "application/grpc-web+proto"), ("x-grpc-web", "1")], more];
    let response = send(address, Method::POST, to, &headers.concat(), framed(message)).await;
    assert_eq!(response.status(), StatusCode::OK);
    Answer::read(response).await.unwrap()
}

/// The trailers at the end of a body, behind the messages.
fn trailers(body: &[u8]) -> (&[u8], &str) {
    let at = body.windows(1).position(|byte| byte[0] == 0x80).expect("a frame of trailers");
    let (messages, last) = body.split_at(at);
    let length = u32::from_be_bytes(last[1..5].try_into().unwrap()) as usize;
    assert_eq!(last.len(), 5 + length, "they are the last");
    (messages, std::str::from_utf8(&last[5..]).unwrap())
}

#[tokio::test]
async fn a_browser_calls_and_reads_the_status() {
    let server = Server::start(PLAIN, Bounds::default(), &[PORTAL]).await;
    let answer = call(server.address, "Echo", &[], b"rye").await;
    let (messages, trailers) = trailers(&answer.body);
    assert_eq!(messages, framed(b"rye"));
    assert!(trailers.contains("grpc-status:0"), "{trailers}");
    assert_eq!(answer.headers["content-type"], "application/grpc-web+proto");
    assert_eq!(answer.headers["access-control-allow-origin"], PORTAL);
    let shown = answer.headers["access-control-expose-headers"].to_str().unwrap();
    for header in ["grpc-status", "grpc-message", "grpc-status-details-bin", "x-request-id"] {
        assert!(shown.split(',').any(|one| one == header), "{header} in {shown}");
    }
}

#[tokio::test]
async fn a_deadline_within_a_stream_reaches_the_browser() {
    let server = Server::start(PLAIN, Bounds::default(), &[PORTAL]).await;
    let answer = call(server.address, "Drip", &[("grpc-timeout", "300m")], b"").await;
    let (messages, trailers) = trailers(&answer.body);
    assert!(messages.starts_with(&framed(b"drop")));
    assert!(trailers.contains("grpc-status:4"), "{trailers}");
}

#[tokio::test]
async fn a_refusal_reaches_the_browser_and_a_preflight_is_no_call() {
    let server = Server::start(PLAIN, Bounds { calls: 0, ..Bounds::default() }, &[PORTAL]).await;
    let refused = call(server.address, "Echo", &[], b"").await;
    assert_eq!(Status::from_header_map(&refused.headers).unwrap().code(), Code::ResourceExhausted);
    assert_eq!(refused.headers["content-type"], "application/grpc-web+proto");
    assert_eq!(refused.headers["access-control-allow-origin"], PORTAL);
    assert!(refused.headers.contains_key("grpc-status-details-bin"));
    assert!(refused.headers.contains_key("x-request-id"));
    let late = call(server.address, "Echo", &[("grpc-timeout", "soon")], b"").await;
    assert_eq!(Status::from_header_map(&late.headers).unwrap().code(), Code::InvalidArgument);

    let allowed = preflight(server.address, PORTAL).await;
    assert_eq!(allowed.status(), StatusCode::OK);
    assert_eq!(allowed.headers()["access-control-allow-origin"], PORTAL);
    assert_eq!(allowed.headers()["access-control-allow-methods"], "POST");
    let headers = allowed.headers()["access-control-allow-headers"].to_str().unwrap().to_owned();
    for header in
        ["authorization", "content-type", "grpc-timeout", "x-grpc-web", "x-user-agent", "x-request-id"]
    {
        assert!(headers.split(',').any(|one| one == header), "{header} in {headers}");
    }
    assert!(!allowed.headers().contains_key("x-request-id"), "it got no further than this");
}

#[tokio::test]
async fn other_origins_are_not_let_in() {
    let server = Server::start(PLAIN, Bounds::default(), &[PORTAL]).await;
    let other = preflight(server.address, "https://elsewhere.example").await;
    assert!(!other.headers().contains_key("access-control-allow-origin"), "{other:?}");

    let closed = Server::start(PLAIN, Bounds::default(), &[]).await;
    let answer = call(closed.address, "Echo", &[], b"rye").await;
    let cors = |name: &http::HeaderName| name.as_str().starts_with("access-control") || name == "vary";
    assert!(!answer.headers.keys().any(cors), "{answer:?}");
    assert_eq!(preflight(closed.address, PORTAL).await.status(), StatusCode::BAD_REQUEST);
}

/// A page of another site sends plain text without a preflight, and a browser shows its reader's certificate: such a
/// request is no call, over whatever HTTP.
#[tokio::test]
async fn what_does_not_say_that_it_is_grpc_is_no_call() {
    let server = Server::start(PLAIN, Bounds::default(), &[PORTAL]).await;
    let client = Client::plain(server.address).await;
    for headers in [&[][..], &[("content-type", "text/plain")], &[("content-type", "multipart/form-data")]] {
        let answer = client.post("Echo", headers, b"rye").await.unwrap();
        assert_eq!(answer.status(), StatusCode::UNSUPPORTED_MEDIA_TYPE, "{headers:?}");
        assert!(answer.headers().get("grpc-status").is_none(), "{answer:?}");
        let over_http1 = send(server.address, Method::POST, "Echo", headers, framed(b"rye")).await;
        assert_eq!(over_http1.status(), StatusCode::BAD_REQUEST, "{headers:?}");
    }
    let said = [("content-type", "application/grpc+proto"), ("te", "trailers")];
    let answer = Answer::read(client.post("Echo", &said, b"rye").await.unwrap()).await.unwrap();
    assert_eq!(answer.message(), b"rye");
}
