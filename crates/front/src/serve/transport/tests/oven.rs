//! A service of a few methods, each of which does one thing to a connection.

use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;

use bytes::Bytes;
use http::{HeaderMap, Request, Response};
use http_body::Frame;
use http_body_util::{BodyExt, Full, StreamBody};
use tokio::sync::Semaphore;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::BoxFuture;
use tonic::server::NamedService;
use tower::Service;

use super::super::{Methods, Peer};

/// `Echo` says what it was told, `Wait` does when it is let go, `Hang` never does, `Drip` goes on for ever, and
/// `Peer` says who calls.
#[derive(Clone, Default)]
pub(super) struct Oven(pub(super) Arc<State>);

pub(super) struct State {
    /// Calls of `Wait` that may go.
    pub(super) go: Semaphore,
    /// Calls that a handler is in.
    pub(super) inside: AtomicUsize,
}

impl Default for State {
    fn default() -> Self {
        Self { go: Semaphore::new(0), inside: AtomicUsize::new(0) }
    }
}

struct Inside(Arc<State>);

impl Inside {
    fn new(state: &Arc<State>) -> Self {
        state.inside.fetch_add(1, Ordering::SeqCst);
        Self(Arc::clone(state))
    }
}

impl Drop for Inside {
    fn drop(&mut self) {
        self.0.inside.fetch_sub(1, Ordering::SeqCst);
    }
}

impl State {
    /// Waits until this many calls are inside.
    pub(super) async fn holds(&self, calls: usize) {
        let there = async {
            while self.inside.load(Ordering::SeqCst) != calls {
                tokio::time::sleep(Duration::from_millis(2)).await;
            }
        };
        tokio::time::timeout(Duration::from_secs(5), there).await.unwrap();
    }
}

pub(super) fn methods() -> Methods {
    Methods::from_iter([
        ("/test.Oven/Echo", false),
        ("/test.Oven/Wait", false),
        ("/test.Oven/Hang", false),
        ("/test.Oven/Drip", true),
        ("/test.Oven/Peer", false),
    ])
}

/// A message as it stands in a body.
pub(super) fn framed(message: &[u8]) -> Bytes {
    let length = u32::try_from(message.len()).unwrap().to_be_bytes();
    [&[0][..], &length, message].concat().into()
}

fn ok() -> HeaderMap {
    HeaderMap::from_iter([(Status::GRPC_STATUS, 0.into())])
}

fn message(message: &[u8]) -> Body {
    Body::new(Full::new(framed(message)).with_trailers(async { Some(Ok(ok())) }))
}

impl NamedService for Oven {
    const NAME: &'static str = "test.Oven";
}

impl Service<Request<Body>> for Oven {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = BoxFuture<Response<Body>, Infallible>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        let state = Arc::clone(&self.0);
        Box::pin(async move {
            let inside = Inside::new(&state);
            let peer = request.extensions().get::<Peer>().copied();
            let path = request.uri().path().to_owned();
            let Ok(told) = request.into_body().collect().await else {
                return Ok(Status::cancelled("the message broke off").into_http());
            };
            let told = told.to_bytes();
            let body = match path.as_str() {
                "/test.Oven/Echo" => message(told.get(5..).unwrap_or_default()),
                "/test.Oven/Wait" => {
                    state.go.acquire().await.unwrap().forget();
                    message(b"done")
                }
                "/test.Oven/Hang" => std::future::pending().await,
                "/test.Oven/Peer" => message(format!("{:?}", peer.unwrap()).as_bytes()),
                "/test.Oven/Drip" => Body::new(StreamBody::new(async_stream::stream! {
                    let _inside = inside;
                    loop {
                        yield Ok::<_, Status>(Frame::data(framed(b"drop")));
                        tokio::time::sleep(Duration::from_millis(5)).await;
                    }
                })),
                _ => return Ok(Status::unimplemented("no such method").into_http()),
            };
            let mut response = Response::new(body);
            response.headers_mut().insert("content-type", "application/grpc".parse().unwrap());
            Ok(response)
        })
    }
}
