//! A response body that something is tied to until it ends.

use std::pin::Pin;
use std::task::{Context, Poll, ready};

use bytes::Bytes;
use http::HeaderMap;
use http_body::{Body, Frame};
use pin_project_lite::pin_project;

/// What stays with a body. It is dropped when the body ends, or with it.
pub(super) trait Watch {
    /// The trailers, which end the body.
    fn trailers(&mut self, _trailers: &mut HeaderMap) {}

    /// The body ended without trailers.
    fn ended(&mut self) {}
}

pin_project! {
    /// A body, or none where a layer answered by itself, and what stays with it.
    ///
    /// It tells no size ahead: gRPC-Web adds trailers to the bytes, and a deadline takes some away.
    pub struct Watched<B, W> {
        #[pin]
        inner: Option<B>,
        watch: Option<W>,
    }
}

impl<B, W> Watched<B, W> {
    pub(super) fn new(inner: Option<B>, watch: Option<W>) -> Self {
        Self { inner, watch }
    }
}

/// Dropped when the body ends, or with it.
struct Kept<T> {
    _kept: T,
}

impl<T> Watch for Kept<T> {}

/// The body of an answer that keeps something until it ends, such as room: one that is not read takes as much as one
/// that is not answered.
pub fn keeping(body: tonic::body::Body, kept: impl Send + 'static) -> tonic::body::Body {
    tonic::body::Body::new(Watched::new(Some(body), Some(Kept { _kept: kept })))
}

impl<B: Body<Data = Bytes>, W: Watch> Body for Watched<B, W> {
    type Data = Bytes;
    type Error = B::Error;

    fn poll_frame(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        let mut this = self.project();
        let Some(inner) = this.inner.as_mut().as_pin_mut() else { return Poll::Ready(None) };
        let mut frame = ready!(inner.poll_frame(cx));
        let goes_on = matches!(&frame, Some(Ok(frame)) if frame.is_data());
        if !goes_on && let Some(mut watch) = this.watch.take() {
            match &mut frame {
                Some(Ok(frame)) => frame.trailers_mut().into_iter().for_each(|all| watch.trailers(all)),
                Some(Err(_)) | None => watch.ended(),
            }
        }
        Poll::Ready(frame)
    }

    fn is_end_stream(&self) -> bool {
        self.inner.as_ref().is_none_or(Body::is_end_stream)
    }
}
