//! Connections that come, stay silent, grow old and go.

use std::convert::Infallible;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use http::{Request, Response};
use hyper::body::Incoming;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::mpsc::unbounded_channel;
use tokio::time::{sleep, timeout};
use tonic::Code;
use tonic::body::Body;
use tonic_types::StatusExt;
use tower::{Service, service_fn};

use super::super::{Bounds, Config, Drained, Listener, Peer, Security, StartError};
use super::client::{Answer, Client};
use super::server::{PLAIN, Server};

const SOON: Duration = Duration::from_secs(3);

/// Says the bytes and then nothing, until the other side closes; tells how long that took.
pub(super) async fn closed_after(address: SocketAddr, said: &[u8]) -> Duration {
    let began = Instant::now();
    let mut stream = TcpStream::connect(address).await.unwrap();
    stream.write_all(said).await.unwrap();
    let mut rest = Vec::new();
    // Whether it ends or is reset is all the same.
    let _ = timeout(SOON, stream.read_to_end(&mut rest)).await.expect("the server closes it");
    began.elapsed()
}

#[tokio::test]
async fn whoever_says_nothing_is_closed_and_holds_nobody_up() {
    let limit = Duration::from_millis(600);
    let bounds = Bounds { opening: limit, head_read: limit, ..Bounds::default() };
    let server = Server::plain(bounds).await;
    let silent = ["", "PRI * HT", "POST /test.Oven/Echo HTTP/1.1\r\nhost: "]
        .map(|said| tokio::spawn(closed_after(server.address, said.as_bytes())));
    let began = Instant::now();
    assert_eq!(
        Client::plain(server.address).await.call("Echo", &[], b"rye").await.unwrap().message(),
        b"rye"
    );
    assert!(began.elapsed() < limit, "it did not wait for the others");
    for one in silent {
        let took = one.await.unwrap();
        assert!((limit..SOON).contains(&took), "{took:?}");
    }
}

#[tokio::test]
async fn an_open_connection_may_be_idle() {
    let limit = Duration::from_millis(250);
    let server = Server::plain(Bounds { opening: limit, head_read: limit, ..Bounds::default() }).await;
    let client = Client::plain(server.address).await;
    sleep(2 * limit).await;
    assert_eq!(client.call("Echo", &[], b"rye").await.unwrap().message(), b"rye");
}

#[tokio::test]
async fn a_peer_that_answers_no_ping_is_closed() {
    let limit = Duration::from_millis(60);
    let server = Server::plain(Bounds { ping_every: limit, ping_answer: limit, ..Bounds::default() }).await;
    let settings = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0";
    let took = closed_after(server.address, settings).await;
    assert!((limit..SOON).contains(&took), "{took:?}");
}

#[tokio::test]
async fn one_connection_too_many_is_closed_at_once() {
    let server = Server::plain(Bounds { connections: 2, ..Bounds::default() }).await;
    let (one, other) = (Client::plain(server.address).await, Client::plain(server.address).await);
    one.ask("Echo").await.unwrap();
    other.ask("Echo").await.unwrap();
    assert!(closed_after(server.address, b"").await < SOON);
    drop(one);
    let began = Instant::now();
    loop {
        let again = Client::over(TcpStream::connect(server.address).await.unwrap()).await;
        if let Ok(client) = again
            && client.ask("Echo").await.is_ok()
        {
            break;
        }
        assert!(began.elapsed() < SOON, "there is room again");
    }
    other.ask("Echo").await.unwrap();
}

#[tokio::test]
async fn an_old_connection_is_asked_to_go_and_its_calls_end() {
    let bounds = Bounds { age: Duration::from_millis(400), ..Bounds::default() };
    let server = Server::plain(bounds).await;
    let client = Client::plain(server.address).await;
    let waiting = tokio::spawn({
        let client = client.clone();
        async move { client.ask("Wait").await }
    });
    server.oven.holds(1).await;
    sleep(2 * bounds.age).await;
    assert!(client.ask("Echo").await.is_err(), "it takes no new calls");
    server.oven.go.add_permits(1);
    assert_eq!(waiting.await.unwrap().unwrap().message(), b"done");
    let began = Instant::now();
    while !client.is_closed() && began.elapsed() < SOON {
        sleep(Duration::from_millis(2)).await;
    }
    assert!(client.is_closed());
}

/// A service that counts the copies made of it.
struct Copied(Arc<AtomicUsize>);

impl Clone for Copied {
    fn clone(&self) -> Self {
        self.0.fetch_add(1, Ordering::SeqCst);
        Self(Arc::clone(&self.0))
    }
}

impl Service<Request<Incoming>> for Copied {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = std::future::Ready<Result<Response<Body>, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, _: Request<Incoming>) -> Self::Future {
        std::future::ready(Ok(Response::new(Body::empty())))
    }
}

#[tokio::test]
async fn all_calls_of_a_connection_have_one_service() {
    let config = Config { address: ([127, 0, 0, 1], 0).into(), security: PLAIN, bounds: Bounds::default() };
    let listener = Listener::bind(config).await.unwrap();
    let address = listener.address();
    let copies = Arc::<AtomicUsize>::default();
    let _serving = tokio::spawn(listener.serve(Copied(Arc::clone(&copies)), std::future::pending()));
    for connections in 1..=3 {
        let client = Client::plain(address).await;
        for _ in 0..5 {
            client.begin("Echo", &[], b"").await.unwrap();
        }
        assert_eq!(copies.load(Ordering::SeqCst), connections);
    }
}

/// Those who came together would all come back at the same time, too.
#[tokio::test]
async fn connections_that_began_together_do_not_end_together() {
    let bounds = Bounds { age: Duration::from_secs(60 * 60), ..Bounds::default() };
    let config = Config { address: ([127, 0, 0, 1], 0).into(), security: PLAIN, bounds };
    let listener = Listener::bind(config).await.unwrap();
    let address = listener.address();
    let (tells, mut told) = unbounded_channel();
    let service = service_fn(move |request: Request<Incoming>| {
        tells.send(request.extensions().get::<Peer>().unwrap().ends).unwrap();
        std::future::ready(Ok::<_, Infallible>(Response::new(Body::empty())))
    });
    let _serving = tokio::spawn(listener.serve(service, std::future::pending()));
    let mut ends = Vec::new();
    for _ in 0..20 {
        let began = tokio::time::Instant::now();
        let mut stream = TcpStream::connect(address).await.unwrap();
        stream.write_all(b"POST / HTTP/1.1\r\nhost: test\r\n\r\n").await.unwrap();
        let end = timeout(SOON, told.recv()).await.unwrap().unwrap();
        let longest = bounds.age + bounds.age_grace;
        let latest = tokio::time::Instant::now() + longest;
        assert!((began + longest - bounds.age / 10..=latest).contains(&end), "{end:?}");
        ends.push(end);
    }
    assert!(!ends.is_sorted(), "each ends as long after the one before as it began after it: {ends:?}");
}

#[tokio::test]
async fn calls_that_outlast_their_connection_are_told() {
    let short = Duration::from_millis(200);
    let server = Server::plain(Bounds { age: short, age_grace: short, ..Bounds::default() }).await;
    let client = Client::plain(server.address).await;
    let stream = client.begin("Drip", &[], b"").await.unwrap();
    let (waits, streams) = tokio::join!(client.ask("Hang"), Answer::read(stream));
    let (waits, streams) = (waits.unwrap(), streams.unwrap());
    for answer in [&waits, &streams] {
        assert_eq!(answer.code(), Code::Unavailable);
        assert_eq!(answer.status().get_details_error_info().unwrap().reason, "CONNECTION_TOO_OLD");
    }
    assert!(waits.body.is_empty() && !streams.body.is_empty(), "{waits:?} {streams:?}");
    server.oven.holds(0).await;
}

#[tokio::test]
async fn who_does_not_read_is_cut_off_with_his_connection() {
    let (age, age_grace) = (Duration::from_secs(1), Duration::from_millis(50));
    let server = Server::plain(Bounds { age, age_grace, ..Bounds::default() }).await;
    let client = Client::plain(server.address).await;
    // More than a client takes ahead.
    let unread = client.begin("Echo", &[], &vec![7; 5 << 20]).await.unwrap();
    assert!(!unread.headers().contains_key("grpc-status"), "{unread:?}");
    let began = Instant::now();
    while !client.is_closed() {
        assert!(began.elapsed() < 3 * SOON, "it is not cut off");
        sleep(Duration::from_millis(2)).await;
    }
    assert!(Answer::read(unread).await.is_err());
    server.oven.holds(0).await;
}

#[tokio::test]
async fn a_server_that_stops_ends_its_calls() {
    let server = Server::plain(Bounds::default()).await;
    let (address, oven) = (server.address, server.oven.clone());
    let client = Client::plain(address).await;
    let idle = TcpStream::connect(address).await.unwrap();
    let waiting = tokio::spawn(async move { client.ask("Wait").await });
    oven.holds(1).await;
    let stopping = tokio::spawn(server.stop());
    let began = Instant::now();
    while TcpStream::connect(address).await.is_ok() {
        assert!(began.elapsed() < SOON, "it accepts no more");
    }
    assert!(!stopping.is_finished(), "it waits for the call");
    oven.go.add_permits(1);
    assert_eq!(waiting.await.unwrap().unwrap().message(), b"done");
    assert_eq!(timeout(SOON, stopping).await.unwrap().unwrap(), Drained { cut_off: 0 });
    drop(idle);
}

#[tokio::test]
async fn a_server_that_stops_waits_only_so_long() {
    let drain = Duration::from_millis(100);
    let server = Server::plain(Bounds { drain, ..Bounds::default() }).await;
    let (client, oven) = (Client::plain(server.address).await, server.oven.clone());
    let hanging = tokio::spawn(async move { client.ask("Hang").await });
    oven.holds(1).await;
    let began = Instant::now();
    assert_eq!(server.stop().await, Drained { cut_off: 1 });
    assert!((drain..SOON).contains(&began.elapsed()), "{:?}", began.elapsed());
    let answer: hyper::Result<Answer> = hanging.await.unwrap();
    assert!(answer.is_err(), "{answer:?}");
    oven.holds(0).await;
}

#[tokio::test]
async fn plain_text_off_loopback_has_to_be_asked_for() {
    let bind = |address: &str, security: Security| {
        let address: SocketAddr = address.parse().unwrap();
        Listener::bind(Config { address, security, bounds: Bounds::default() })
    };
    for address in ["0.0.0.0:0", "192.0.2.1:0", "[::]:0"] {
        let error = bind(address, PLAIN).await.unwrap_err();
        assert!(matches!(error, StartError::PlainText { .. }), "{address}: {error}");
        assert!(error.to_string().contains(address) && error.to_string().contains("--plain-text"), "{error}");
    }
    bind("127.0.0.1:0", PLAIN).await.unwrap();
    bind("0.0.0.0:0", Security::PlainText { off_loopback: true }).await.unwrap();
    // An address that is nobody's here gets through to the socket, and fails there.
    let error = bind("192.0.2.1:0", Security::PlainText { off_loopback: true }).await.unwrap_err();
    assert!(matches!(error, StartError::Address { .. }), "{error}");
}
