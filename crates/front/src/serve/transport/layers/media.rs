//! What does not say that it is gRPC is told so by HTTP.

use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use bytes::Bytes;
use http::header::CONTENT_TYPE;
use http::{Request, Response, StatusCode};
use http_body::Body;
use pin_project_lite::pin_project;
use tower::{Layer, Service};
use tracing::debug;

use super::body::{Watch, Watched};

/// What a request says that it is; `+proto` may follow.
const GRPC: &[u8] = b"application/grpc";

/// Answers 415 (unsupported media type) to whatever else is asked, as the protocol wants it.
///
/// A page of any site may have its reader's browser send plain text without asking the server first (CORS), and the
/// browser shows his client certificate. What says that it is gRPC it has to ask for.
#[derive(Debug, Clone, Copy)]
pub struct MediaLayer;

impl<S> Layer<S> for MediaLayer {
    type Service = MediaService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        MediaService { inner }
    }
}

/// See [`MediaLayer`].
#[derive(Debug, Clone)]
pub struct MediaService<S> {
    inner: S,
}

/// Nothing stays with a body.
#[derive(Debug)]
pub struct Unwatched;

impl Watch for Unwatched {}

impl<S, R, B> Service<Request<R>> for MediaService<S>
where
    S: Service<Request<R>, Response = Response<B>, Error = Infallible>,
    B: Body<Data = Bytes>,
{
    type Response = Response<Watched<B, Unwatched>>;
    type Error = Infallible;
    type Future = Answered<S::Future>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request<R>) -> Self::Future {
        let said = request.headers().get(CONTENT_TYPE);
        if said.is_some_and(|said| said.as_bytes().starts_with(GRPC)) {
            return Answered::Call { future: self.inner.call(request) };
        }
        debug!(content_type = ?said, "no gRPC");
        Answered::Refused
    }
}

pin_project! {
    /// The response of a call, or that it is none.
    #[project = AnsweredProjection]
    pub enum Answered<F> {
        Refused,
        Call { #[pin] future: F },
    }
}

impl<F, B> Future for Answered<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
    B: Body<Data = Bytes>,
{
    type Output = Result<Response<Watched<B, Unwatched>>, Infallible>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        Poll::Ready(Ok(match self.project() {
            AnsweredProjection::Refused => {
                let mut response = Response::new(Watched::new(None, None));
                *response.status_mut() = StatusCode::UNSUPPORTED_MEDIA_TYPE;
                response
            }
            AnsweredProjection::Call { future } => {
                let Ok(response) = ready!(future.poll(cx));
                response.map(|body| Watched::new(Some(body), None))
            }
        }))
    }
}
