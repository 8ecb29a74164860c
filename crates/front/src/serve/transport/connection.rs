//! One connection, from its first byte to its last.

use std::convert::Infallible;
use std::future::poll_fn;
use std::net::SocketAddr;
use std::pin::{Pin, pin};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll, Waker};
use std::time::Duration;

use http::{Request, Response};
use hyper::body::Incoming;
use hyper_util::rt::{TokioExecutor, TokioIo, TokioTimer};
use hyper_util::server::conn::auto::Builder;
use pin_project_lite::pin_project;
use sha2::{Digest, Sha256};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::sync::watch;
use tokio::time::{Instant, sleep_until, timeout_at};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;
use tonic::body::Body;
use tonic::codegen::StdError;
use tower::Service;
use tracing::debug;

use super::bounds::Bounds;
use super::gathering::Gathering;
use super::opening::Opening;
use super::peer::Peer;

/// So long the last words of a connection have to leave.
const LAST_WORDS: Duration = Duration::from_secs(1);

/// What all connections of a listener have in common.
pub(super) struct Terms {
    http: Builder<TokioExecutor>,
    opening: Duration,
    age_grace: Duration,
}

impl Terms {
    pub(super) fn new(bounds: &Bounds) -> Self {
        let mut http = Builder::new(TokioExecutor::new());
        http.http1().timer(TokioTimer::new()).header_read_timeout(bounds.head_read);
        if let Ok(bytes) = usize::try_from(bounds.head_bytes) {
            // Less than this, hyper takes for a mistake.
            http.http1().max_buf_size(bytes.max(8 * 1024));
        }
        http.http2()
            .timer(TokioTimer::new())
            .keep_alive_interval(bounds.ping_every)
            .keep_alive_timeout(bounds.ping_answer)
            .max_concurrent_streams(bounds.streams_per_connection)
            .max_header_list_size(bounds.head_bytes)
            .max_pending_accept_reset_streams(bounds.resets_pending)
            .max_local_error_reset_streams(bounds.resets_caused)
            .initial_stream_window_size(bounds.stream_window_bytes)
            .initial_connection_window_size(bounds.connection_window_bytes)
            .max_send_buf_size(bounds.send_buffer_bytes);
        Self { http, opening: bounds.opening, age_grace: bounds.age_grace }
    }
}

/// One accepted connection.
pub(super) struct Connection<S> {
    pub(super) stream: TcpStream,
    pub(super) from: SocketAddr,
    pub(super) tls: Option<TlsAcceptor>,
    pub(super) service: S,
    /// How old it may become.
    pub(super) age: Duration,
    /// True when the server stops.
    pub(super) stopping: watch::Receiver<bool>,
}

impl<S> Connection<S>
where
    S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
        + Clone
        + Send
        + 'static,
{
    /// Serves it to its end.
    pub(super) async fn attend(mut self, terms: Arc<Terms>) {
        let until = Instant::now() + terms.opening;
        let goes = Instant::now() + self.age;
        let ends = goes + terms.age_grace;
        let mut peer = Peer { ends, address: self.from, certificate: None, encrypted: self.tls.is_some() };
        let Some(acceptor) = self.tls.take() else {
            return serve(self.stream, peer, self.service, goes, self.stopping, until, &terms).await;
        };
        let handshake = tokio::select! {
            shaken = timeout_at(until, acceptor.accept(self.stream)) => shaken,
            () = stopped(&mut self.stopping) => return,
        };
        match handshake {
            Ok(Ok(stream)) => {
                peer.certificate = certificate(&stream);
                serve(stream, peer, self.service, goes, self.stopping, until, &terms).await;
            }
            Ok(Err(error)) => debug!(peer = %peer.address, %error, "no TLS handshake"),
            Err(_) => debug!(peer = %peer.address, "no TLS handshake in time"),
        }
    }
}

/// Waits until the server stops. Where nobody can say so any more, it has.
async fn stopped(stopping: &mut watch::Receiver<bool>) {
    let _ = stopping.wait_for(|stops| *stops).await;
}

/// The digest of the client's certificate.
fn certificate(stream: &TlsStream<TcpStream>) -> Option<[u8; 32]> {
    let (_, session) = stream.get_ref();
    session.peer_certificates()?.first().map(|own| Sha256::digest(own).into())
}

async fn serve<S>(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    peer: Peer,
    service: S,
    goes: Instant,
    mut stopping: watch::Receiver<bool>,
    until: Instant,
    terms: &Terms,
) where
    S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
        + Clone
        + Send
        + 'static,
{
    let stream = Gathering::new(Opening::new(stream, until));
    let underway = Underway::default();
    let service = WithPeer { service: Mutex::new(service), peer, underway: underway.clone() };
    let mut connection = pin!(terms.http.serve_connection(TokioIo::new(stream.clone()), service));
    let turns = Turns { stream, underway };
    let ended = tokio::select! {
        ended = turns.drive(connection.as_mut()) => ended,
        () = sleep_until(goes) => {
            connection.as_mut().graceful_shutdown();
            // Whoever reads is told that his calls end.
            let Ok(ended) = timeout_at(peer.ends + LAST_WORDS, turns.drive(connection)).await else {
                debug!(peer = %peer.address, "cut off at its age");
                return;
            };
            ended
        }
        // Whoever stops the server waits for this, as long as it likes.
        () = stopped(&mut stopping) => {
            connection.as_mut().graceful_shutdown();
            turns.drive(connection).await
        }
    };
    if let Err(error) = ended {
        debug!(peer = %peer.address, error, "connection failed");
    }
}

/// The turns of a connection.
struct Turns<T> {
    stream: Gathering<T>,
    underway: Underway,
}

impl<T: AsyncWrite + Unpin> Turns<T> {
    /// Drives a connection to its end, or until its peer cannot be written to. What is written in one turn is sent
    /// at its end; and while calls are under way, whatever else is ready to run has its turn first, for their
    /// answers may be among it.
    async fn drive<C>(&self, mut connection: Pin<&mut C>) -> C::Output
    where
        C: Future<Output = Result<(), StdError>>,
    {
        let mut gave_way = false;
        poll_fn(|cx| {
            gave_way = !gave_way && self.underway.any();
            if gave_way {
                cx.waker().wake_by_ref();
                return Poll::Pending;
            }
            let ended = connection.as_mut().poll(cx);
            match self.stream.send(cx) {
                Poll::Ready(Err(error)) if ended.is_pending() => Poll::Ready(Err(error.into())),
                _ => ended,
            }
        })
        .await
    }
}

/// Calls of a connection without a response: each holds one of these, and so do the connection and its service.
#[derive(Clone, Default)]
struct Underway(Arc<()>);

impl Underway {
    fn any(&self) -> bool {
        Arc::strong_count(&self.0) > 2
    }
}

/// Tells each request where it comes from.
///
/// A connection has one service for all its calls. Copies are counted at each of the dozen things that they share, which
/// all processors would have to write to for each call, twice.
struct WithPeer<S> {
    service: Mutex<S>,
    peer: Peer,
    underway: Underway,
}

impl<S> hyper::service::Service<Request<Incoming>> for WithPeer<S>
where
    S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible>,
{
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Counted<S::Future>;

    fn call(&self, mut request: Request<Incoming>) -> Self::Future {
        request.extensions_mut().insert(self.peer);
        let mut service = self.service.lock().unwrap_or_else(PoisonError::into_inner);
        let ready = service.poll_ready(&mut Context::from_waker(Waker::noop()));
        debug_assert!(ready.is_ready(), "who has no room for a call refuses it, and keeps none waiting");
        Counted { call: service.call(request), _one: self.underway.clone() }
    }
}

pin_project! {
    /// A call that is under way until its response is there, and this is dropped.
    struct Counted<F> {
        #[pin]
        call: F,
        _one: Underway,
    }
}

impl<F: Future> Future for Counted<F> {
    type Output = F::Output;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<F::Output> {
        self.project().call.poll(cx)
    }
}
