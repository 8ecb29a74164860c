//! What a client goes on saying ends with his answer.

use std::task::{Context, Poll};

use futures_util::StreamExt;
use http::{Request, Response};
use http_body_util::{BodyStream, StreamBody};
use tokio::sync::{oneshot, watch};
use tonic::body::Body;
use tonic::codegen::BoxFuture;
use tower::{Layer, Service};

use super::body::keeping;

/// For a service that listens in a task of its own, as that of reflection does. What a client says ends as if he had
/// ended it where his answer has, at a deadline say, so that the task goes with the call's place; and where the server is
/// about to stop.
#[derive(Debug, Clone)]
pub struct HeardLayer {
    stopping: watch::Receiver<bool>,
}

impl HeardLayer {
    /// `stopping` turns true when the server is about to stop.
    pub fn new(stopping: watch::Receiver<bool>) -> Self {
        Self { stopping }
    }
}

impl<S> Layer<S> for HeardLayer {
    type Service = Heard<S>;

    fn layer(&self, inner: S) -> Heard<S> {
        Heard { inner, layer: self.clone() }
    }
}

/// See [`HeardLayer`].
#[derive(Debug, Clone)]
pub struct Heard<S> {
    inner: S,
    layer: HeardLayer,
}

impl<S> Service<Request<Body>> for Heard<S>
where
    S: Service<Request<Body>, Response = Response<Body>>,
    S::Future: Send + 'static,
{
    type Response = Response<Body>;
    type Error = S::Error;
    type Future = BoxFuture<Self::Response, S::Error>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        let (answering, answered) = oneshot::channel::<()>();
        let mut stopping = self.layer.stopping.clone();
        let end = async move {
            tokio::select! {
                _ = answered => {}
                () = async { drop(stopping.wait_for(|stops| *stops).await) } => {}
            }
        };
        let until_then = |body: Body| Body::new(StreamBody::new(BodyStream::new(body).take_until(end)));
        let call = self.inner.call(request.map(until_then));
        Box::pin(async move { Ok(call.await?.map(|body| keeping(body, answering))) })
    }
}
