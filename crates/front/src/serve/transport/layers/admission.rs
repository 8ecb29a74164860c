//! A bound on the calls at a time: one more is refused at once, and none waits.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll, ready};
use std::time::Duration;

use http::{Request, Response};
use pin_project_lite::pin_project;
use tower::{Layer, Service};

use super::answer::{Attempt, busy};
use super::body::{Watch, Watched};

/// Health checks are let in always: a busy server is a healthy one.
const ALWAYS: &str = "/grpc.health.v1.Health/Check";
/// What anybody may call lasts as long as he likes, so it has places of its own.
const ANYBODY: [&str; 2] = ["/grpc.health.", "/grpc.reflection."];

/// Bounds the calls of the whole server. A call counts until its response has ended.
#[derive(Debug, Clone)]
pub struct AdmissionLayer {
    calls: Places,
    anybody: Places,
    retry_after: Duration,
}

impl AdmissionLayer {
    /// At most this many calls at a time, and this many of those that anybody may make; those refused are told to
    /// come back after the delay.
    pub fn new(calls: usize, anybody: usize, retry_after: Duration) -> Self {
        Self { calls: Places::new(calls), anybody: Places::new(anybody), retry_after }
    }
}

/// Places that are taken and given back.
#[derive(Debug, Clone)]
struct Places {
    taken: Arc<AtomicUsize>,
    most: usize,
}

impl Places {
    fn new(most: usize) -> Self {
        Self { taken: Arc::default(), most }
    }

    fn take(&self) -> Option<Place> {
        let one_more = |taken: usize| taken.checked_add(1).filter(|taken| *taken <= self.most);
        self.taken.fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_more).ok()?;
        Some(Place(Arc::clone(&self.taken)))
    }
}

/// A place taken; free again when it is dropped.
#[derive(Debug)]
pub struct Place(Arc<AtomicUsize>);

impl Drop for Place {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Watch for Place {}

impl<S> Layer<S> for AdmissionLayer {
    type Service = AdmissionService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        AdmissionService { inner, layer: self.clone() }
    }
}

/// See [`AdmissionLayer`].
#[derive(Debug, Clone)]
pub struct AdmissionService<S> {
    inner: S,
    layer: AdmissionLayer,
}

impl<S, R, B> Service<Request<R>> for AdmissionService<S>
where
    S: Service<Request<R>, Response = Response<B>, Error = Infallible>,
{
    type Response = Response<Watched<B, Place>>;
    type Error = Infallible;
    type Future = Admitted<S::Future>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request<R>) -> Self::Future {
        let path = request.uri().path();
        let is_open = ANYBODY.iter().any(|open| path.starts_with(open));
        let places = if is_open { &self.layer.anybody } else { &self.layer.calls };
        let place = if path == ALWAYS {
            None
        } else if let Some(place) = places.take() {
            Some(place)
        } else {
            let status = busy("as many calls are running as the server takes on", self.layer.retry_after);
            return Admitted { attempt: Attempt::refused(status), place: None };
        };
        Admitted { attempt: Attempt::Running { future: self.inner.call(request) }, place }
    }
}

pin_project! {
    /// The response of a call that was let in, or the refusal.
    pub struct Admitted<F> {
        #[pin]
        attempt: Attempt<F>,
        place: Option<Place>,
    }
}

impl<F, B> Future for Admitted<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
{
    type Output = Result<Response<Watched<B, Place>>, Infallible>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let this = self.project();
        let response = ready!(this.attempt.poll(cx));
        let place = this.place.take();
        Poll::Ready(Ok(response.map(|inner| Watched::new(inner, place))))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use bytes::Bytes;
    use http_body_util::{BodyExt, Full};
    use tower::{ServiceExt, service_fn};

    #[tokio::test]
    async fn a_call_counts_until_its_body_ends_or_is_dropped() {
        let layer = AdmissionLayer::new(2, 1, Duration::from_secs(1));
        let taken = Arc::clone(&layer.calls.taken);
        let service = layer.layer(service_fn(|_: Request<()>| async {
            Ok(Response::new(Full::new(Bytes::from_static(b"bread"))))
        }));
        let call = |path: &str| service.clone().oneshot(Request::builder().uri(path).body(()).unwrap());
        let inside = || taken.load(Ordering::Relaxed);

        let (one, other) = (call("/Oven/Bake").await.unwrap(), call("/Oven/Bake").await.unwrap());
        assert_eq!(inside(), 2);
        let refused = call("/Oven/Bake").await.unwrap();
        assert_eq!(refused.headers()["grpc-status"], "8");
        assert!(refused.headers().contains_key("grpc-status-details-bin"));
        assert_eq!(inside(), 2);
        let health = call("/grpc.health.v1.Health/Check").await.unwrap();
        assert!(!health.headers().contains_key("grpc-status"));
        assert_eq!(inside(), 2, "it takes no place");
        let watching = call("/grpc.health.v1.Health/Watch").await.unwrap();
        assert!(!watching.headers().contains_key("grpc-status"), "it has a place of its own");
        let asked = call("/grpc.reflection.v1.ServerReflection/ServerReflectionInfo").await.unwrap();
        assert_eq!(asked.headers()["grpc-status"], "8", "which is taken now");

        let mut body = one.into_body();
        assert_eq!(body.frame().await.unwrap().unwrap().into_data().unwrap(), "bread");
        assert_eq!(inside(), 2);
        assert!(body.frame().await.is_none());
        assert_eq!(inside(), 1, "its body ended");
        drop(other);
        assert_eq!(inside(), 0);
        drop(call("/Oven/Bake"));
        assert_eq!(inside(), 0, "nobody waited for it");
        assert!(!call("/Oven/Bake").await.unwrap().headers().contains_key("grpc-status"));
    }
}
