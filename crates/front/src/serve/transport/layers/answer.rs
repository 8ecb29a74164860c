//! Answers that a layer gives itself.

use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use http::{HeaderMap, Response};
use pin_project_lite::pin_project;
use tonic::{Code, Status};

use crate::serve::told::Told;

/// RESOURCE_EXHAUSTED, with `google.rpc.RetryInfo`: there is no room now, come back after the delay.
pub(super) fn busy(message: &str, retry_after: Duration) -> Status {
    Told { retry: Some(retry_after), ..Told::new(Code::ResourceExhausted, "TOO_MANY", message) }.into()
}

/// The status as the trailers of a response that has begun.
pub(super) fn trailers(status: &Status) -> HeaderMap {
    let mut trailers = HeaderMap::new();
    // It fails where a message has bytes that no header takes; the code alone is an answer then.
    if status.add_header(&mut trailers).is_err() {
        trailers.insert(Status::GRPC_STATUS, (status.code() as i32).into());
    }
    trailers
}

pin_project! {
    /// A call that goes on, or the status that it was refused with, which becomes a response of trailers only.
    #[project = AttemptProjection]
    pub(super) enum Attempt<F> {
        Refused { status: Option<Status> },
        Running { #[pin] future: F },
    }
}

impl<F> Attempt<F> {
    pub(super) fn refused(status: Status) -> Self {
        Self::Refused { status: Some(status) }
    }
}

impl<F, B> Future for Attempt<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
{
    type Output = Response<Option<B>>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        Poll::Ready(match self.project() {
            AttemptProjection::Refused { status } => {
                status.take().unwrap_or_else(|| Status::internal("asked again after the answer")).into_http()
            }
            AttemptProjection::Running { future } => {
                let Ok(response) = ready!(future.poll(cx));
                response.map(Some)
            }
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use tonic_types::StatusExt;

    #[test]
    fn busy_says_when_to_come_back() {
        let status = busy("all ovens are in use", Duration::from_millis(1500));
        assert_eq!(status.code(), Code::ResourceExhausted);
        let retry = status.get_details_retry_info().unwrap();
        assert_eq!(retry.retry_delay, Some(Duration::from_millis(1500)));
    }

    #[test]
    fn a_status_becomes_trailers() {
        let trailers = trailers(&busy("über dem Maß\n", Duration::from_secs(1)));
        assert_eq!(trailers["grpc-status"], "8");
        assert_eq!(trailers["grpc-message"], "%C3%BCber%20dem%20Ma%C3%9F%0A");
        assert!(trailers.contains_key("grpc-status-details-bin"));
    }
}
