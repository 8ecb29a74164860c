//! Every refusal has its reason, also one that a library below has made.

use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use bytes::Bytes;
use http::{HeaderMap, Request, Response};
use http_body::Body;
use pin_project_lite::pin_project;
use tonic::{Code, Status};
use tower::{Layer, Service};

use super::body::{Watch, Watched};
use crate::serve::told::Told;

/// How a call ends that is refused without a word of ours; how it ends for its caller, and the reason that he is
/// told. What a message is too large for is a bound of the server, and no range of a value.
pub(in crate::serve) const REASONS: [(Code, Code, &str); 6] = [
    (Code::OutOfRange, Code::ResourceExhausted, "MESSAGE_TOO_LARGE"),
    (Code::DeadlineExceeded, Code::DeadlineExceeded, "DEADLINE_EXCEEDED"),
    (Code::Unavailable, Code::Unavailable, "CONNECTION_TOO_OLD"),
    (Code::InvalidArgument, Code::InvalidArgument, "INVALID_INPUT"),
    (Code::Internal, Code::Internal, "MALFORMED_MESSAGE"),
    (Code::Unimplemented, Code::Unimplemented, "UNSUPPORTED"),
];

/// Adds the details to a status that has none.
fn explain(headers: &mut HeaderMap) {
    let Some(code) = headers.get(Status::GRPC_STATUS) else { return };
    let code = Code::from_bytes(code.as_bytes());
    let Some((_, code, reason)) = REASONS.iter().find(|(from, ..)| *from == code) else { return };
    if headers.contains_key(Status::GRPC_STATUS_DETAILS) {
        return;
    }
    let Some(status) = Status::from_header_map(headers) else { return };
    let status = Status::from(Told::new(*code, *reason, status.message()));
    // Where the message is none that a header takes, the status stays as it was.
    let mut explained = HeaderMap::new();
    if status.add_header(&mut explained).is_ok() {
        headers.extend(explained);
    }
}

/// Gives every status that was made by a library the reason that stands for it.
#[derive(Debug, Clone, Copy)]
pub struct ReasonsLayer;

impl<S> Layer<S> for ReasonsLayer {
    type Service = ReasonsService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        ReasonsService { inner }
    }
}

/// See [`ReasonsLayer`].
#[derive(Debug, Clone)]
pub struct ReasonsService<S> {
    inner: S,
}

impl<S, R, B> Service<Request<R>> for ReasonsService<S>
where
    S: Service<Request<R>, Response = Response<B>, Error = Infallible>,
    B: Body<Data = Bytes>,
{
    type Response = Response<Watched<B, Unexplained>>;
    type Error = Infallible;
    type Future = Explained<S::Future>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request<R>) -> Self::Future {
        Explained { future: self.inner.call(request) }
    }
}

/// A call whose status is still to come.
#[derive(Debug)]
pub struct Unexplained;

impl Watch for Unexplained {
    fn trailers(&mut self, trailers: &mut HeaderMap) {
        explain(trailers);
    }
}

pin_project! {
    /// The response, its status explained.
    pub struct Explained<F> {
        #[pin]
        future: F,
    }
}

impl<F, B> Future for Explained<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
    B: Body<Data = Bytes>,
{
    type Output = Result<Response<Watched<B, Unexplained>>, Infallible>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let Ok(mut response) = ready!(self.project().future.poll(cx));
        // A response of trailers only has its status in the head.
        explain(response.headers_mut());
        Poll::Ready(Ok(response.map(|body| Watched::new(Some(body), Some(Unexplained)))))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::super::answer::{busy, trailers};
    use super::*;
    use http_body::Frame;
    use http_body_util::{BodyExt, StreamBody};
    use std::time::Duration;
    use tonic_types::StatusExt;
    use tower::{ServiceExt, service_fn};

    /// A status as it comes out: in the head, and after a message.
    async fn both(status: &Status) -> [Status; 2] {
        let at_once = status.clone();
        let head = ReasonsLayer.layer(service_fn(move |_: Request<()>| {
            std::future::ready(Ok(at_once.clone().into_http::<tonic::body::Body>()))
        }));
        let end = trailers(status);
        let tail = ReasonsLayer.layer(service_fn(move |_: Request<()>| {
            let frames = [Frame::data(Bytes::from_static(b"bread")), Frame::trailers(end.clone())];
            let frames = frames.map(Ok::<_, Infallible>);
            std::future::ready(Ok(Response::new(StreamBody::new(tokio_stream::iter(frames)))))
        }));
        let head = head.oneshot(Request::new(())).await.unwrap();
        let tail = tail.oneshot(Request::new(())).await.unwrap();
        assert_eq!(head.headers()["content-type"], "application/grpc");
        assert!(!tail.headers().contains_key("grpc-status"));
        let tail = tail.into_body().collect().await.unwrap();
        [head.headers(), tail.trailers().unwrap()].map(|headers| Status::from_header_map(headers).unwrap())
    }

    #[tokio::test]
    async fn a_status_of_a_library_gets_its_reason() {
        for (from, code, reason) in REASONS {
            for status in both(&Status::new(from, "über 131072 bytes")).await {
                assert_eq!((status.code(), status.message()), (code, "über 131072 bytes"));
                let info = status.get_details_error_info().unwrap();
                assert_eq!((info.reason.as_str(), info.domain.as_str()), (reason, "evenfare"));
                assert!(status.get_details_retry_info().is_none(), "it is of no use to send it again");
            }
        }
    }

    #[tokio::test]
    async fn a_status_that_has_its_details_stays_as_it_is() {
        let own = Told::new(Code::OutOfRange, "TOO_LARGE", "a sum is too large").into();
        for status in [own, busy("all ovens are in use", Duration::from_secs(1)), Status::new(Code::Ok, "")] {
            for passed in both(&status).await {
                assert_eq!(passed.code(), status.code());
                assert_eq!((passed.message(), passed.details()), (status.message(), status.details()));
            }
        }
    }
}
