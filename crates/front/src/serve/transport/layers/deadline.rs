//! No call outlives what its caller waits for, nor its connection.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use bytes::Bytes;
use http::{HeaderMap, Request, Response};
use http_body::{Body, Frame};
use pin_project_lite::pin_project;
use tokio::time::{Instant, Sleep, sleep_until};
use tonic::Status;
use tower::{Layer, Service};

use super::super::methods::Methods;
use super::super::peer::Peer;
use super::answer::{Attempt, trailers};
use super::timeout;

/// Ends each call at its deadline with DEADLINE_EXCEEDED, be it before the response or within its stream; and with
/// UNAVAILABLE where its connection ends before.
///
/// It counts from when the request's headers are there; whatever can be slow belongs inside of it.
#[derive(Debug, Clone)]
pub struct DeadlineLayer {
    methods: Arc<Methods>,
    longest_unary: Option<Duration>,
}

impl DeadlineLayer {
    /// Deadlines as callers ask for them; `longest_unary` at the most for a method without streams.
    pub fn new(methods: Arc<Methods>, longest_unary: Option<Duration>) -> Self {
        Self { methods, longest_unary }
    }

    fn allowed(&self, path: &str, headers: &HeaderMap) -> Result<Option<Duration>, Status> {
        let asked = timeout::asked(headers)?;
        let longest = self.longest_unary.filter(|_| !self.methods.streams(path));
        Ok(match (asked, longest) {
            (Some(asked), Some(longest)) => Some(asked.min(longest)),
            (asked, longest) => asked.or(longest),
        })
    }
}

impl<S> Layer<S> for DeadlineLayer {
    type Service = DeadlineService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        DeadlineService { inner, layer: self.clone() }
    }
}

/// See [`DeadlineLayer`].
#[derive(Debug, Clone)]
pub struct DeadlineService<S> {
    inner: S,
    layer: DeadlineLayer,
}

impl<S, R, B> Service<Request<R>> for DeadlineService<S>
where
    S: Service<Request<R>, Response = Response<B>, Error = Infallible>,
{
    type Response = Response<TimedBody<B>>;
    type Error = Infallible;
    type Future = Timed<S::Future>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, request: Request<R>) -> Self::Future {
        let allowed = match self.layer.allowed(request.uri().path(), request.headers()) {
            Ok(allowed) => allowed,
            Err(status) => return Timed { attempt: Attempt::refused(status), timer: None },
        };
        // What no clock can reach is no deadline.
        let deadline = allowed.and_then(|allowed| Instant::now().checked_add(allowed));
        let deadline = deadline.map(|at| Timer::new(at, exceeded));
        let connection = request.extensions().get::<Peer>().map(|peer| Timer::new(peer.ends, too_old));
        let timer = [deadline, connection].into_iter().flatten().min_by_key(|timer| timer.at);
        Timed { attempt: Attempt::Running { future: self.inner.call(request) }, timer }
    }
}

/// Wakes its task at a time. A call that never waits does not pay for it.
struct Timer {
    at: Instant,
    /// How a call ends that is not over by then.
    status: fn() -> Status,
    sleep: Option<Pin<Box<Sleep>>>,
}

impl Timer {
    fn new(at: Instant, status: fn() -> Status) -> Self {
        Self { at, status, sleep: None }
    }

    fn passed(&self) -> bool {
        Instant::now() >= self.at
    }

    fn poll(&mut self, cx: &mut Context<'_>) -> Poll<()> {
        let at = self.at;
        self.sleep.get_or_insert_with(|| Box::pin(sleep_until(at))).as_mut().poll(cx)
    }
}

fn exceeded() -> Status {
    Status::deadline_exceeded("the call took longer than its caller or the server allows")
}

fn too_old() -> Status {
    Status::unavailable("the connection has become too old; call again, over another one")
}

pin_project! {
    /// The response, or how it ends without one.
    pub struct Timed<F> {
        #[pin]
        attempt: Attempt<F>,
        timer: Option<Timer>,
    }
}

impl<F, B> Future for Timed<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
{
    type Output = Result<Response<TimedBody<B>>, Infallible>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let this = self.project();
        if let Poll::Ready(response) = this.attempt.poll(cx) {
            let timer = this.timer.take();
            return Poll::Ready(Ok(response.map(|inner| TimedBody { inner, timer })));
        }
        let Some(timer) = this.timer else { return Poll::Pending };
        ready!(timer.poll(cx));
        let response: Response<Option<B>> = (timer.status)().into_http();
        Poll::Ready(Ok(response.map(|inner| TimedBody { inner, timer: None })))
    }
}

pin_project! {
    /// A body that ends at its time, at the latest.
    ///
    /// HTTP/2 asks it for more only while the peer reads; one that does not is ended by its connection's age.
    pub struct TimedBody<B> {
        #[pin]
        inner: Option<B>,
        timer: Option<Timer>,
    }
}

impl<B: Body<Data = Bytes>> Body for TimedBody<B> {
    type Data = Bytes;
    type Error = B::Error;

    fn poll_frame(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        let mut this = self.project();
        let Some(inner) = this.inner.as_mut().as_pin_mut() else { return Poll::Ready(None) };
        // A stream that always has more would never wait for the timer.
        if !this.timer.as_ref().is_some_and(Timer::passed) {
            if let Poll::Ready(frame) = inner.poll_frame(cx) {
                if !matches!(&frame, Some(Ok(frame)) if frame.is_data()) {
                    *this.timer = None;
                }
                return Poll::Ready(frame);
            }
            let Some(timer) = this.timer else { return Poll::Pending };
            ready!(timer.poll(cx));
        }
        this.inner.set(None);
        let status = this.timer.take().map_or_else(exceeded, |timer| (timer.status)());
        Poll::Ready(Some(Ok(Frame::trailers(trailers(&status)))))
    }

    fn is_end_stream(&self) -> bool {
        self.inner.as_ref().is_none_or(Body::is_end_stream)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use http_body_util::{BodyExt, StreamBody};
    use std::time::Duration;
    use tonic::Code;
    use tonic::body::Body;
    use tower::{ServiceExt, service_fn};

    const MINUTE: Duration = Duration::from_secs(60);

    fn layer(longest_unary: Option<Duration>) -> DeadlineLayer {
        let methods = Methods::from_iter([("/Oven/Watch", true)]);
        DeadlineLayer::new(Arc::new(methods), longest_unary)
    }

    fn check(path: &str, asked: Option<&str>, longest: Option<Duration>, expect: Option<Duration>) {
        let headers =
            asked.map(|asked| (timeout::GRPC_TIMEOUT, asked.parse().unwrap())).into_iter().collect();
        assert_eq!(layer(longest).allowed(path, &headers).unwrap(), expect, "{path} {asked:?} {longest:?}");
    }

    #[test]
    fn the_shorter_time_counts_and_streams_have_no_longest() {
        let second = Duration::from_secs(1);
        check("/Oven/Bake", None, None, None);
        check("/Oven/Bake", Some("1S"), None, Some(second));
        check("/Oven/Bake", Some("1S"), Some(MINUTE), Some(second));
        check("/Oven/Bake", Some("1H"), Some(MINUTE), Some(MINUTE));
        check("/Oven/Bake", None, Some(MINUTE), Some(MINUTE));
        check("/Oven/Watch", None, Some(second), None);
        check("/Oven/Watch", Some("1M"), Some(second), Some(MINUTE));
    }

    /// A response whose body has a byte every second and trailers after `bytes` of them.
    async fn ticking(asked: &str, bytes: usize) -> (Vec<u8>, Code) {
        let service = layer(None).layer(service_fn(move |_: Request<()>| {
            let body = StreamBody::new(async_stream::stream! {
                for _ in 0..bytes {
                    tokio::time::sleep(Duration::from_secs(1)).await;
                    yield Ok::<_, Status>(Frame::data(Bytes::from_static(b".")));
                }
                yield Ok(Frame::trailers(trailers(&Status::new(Code::Ok, ""))));
            });
            std::future::ready(Ok(Response::new(Body::new(body))))
        }));
        let request = Request::builder().header("grpc-timeout", asked).body(()).unwrap();
        let body = service.oneshot(request).await.unwrap().into_body().collect().await.unwrap();
        let code = Status::from_header_map(body.trailers().unwrap()).unwrap().code();
        (body.to_bytes().into(), code)
    }

    #[tokio::test(start_paused = true)]
    async fn a_body_ends_at_the_deadline_or_before_it() {
        assert_eq!(ticking("3500m", 9).await, (b"...".to_vec(), Code::DeadlineExceeded));
        assert_eq!(ticking("3500m", 3).await, (b"...".to_vec(), Code::Ok));
        assert_eq!(ticking("10H", 100).await.1, Code::Ok);
    }

    #[tokio::test(start_paused = true)]
    async fn a_stream_that_never_waits_ends_too() {
        let service = layer(None).layer(service_fn(|_: Request<()>| {
            let body = StreamBody::new(async_stream::stream! {
                for _ in 0..1000 {
                    // The clock goes on, the stream does not wait.
                    tokio::time::advance(Duration::from_millis(1)).await;
                    yield Ok::<_, Status>(Frame::data(Bytes::from_static(b".")));
                }
            });
            std::future::ready(Ok(Response::new(Body::new(body))))
        }));
        let request = Request::builder().header("grpc-timeout", "50m").body(()).unwrap();
        let body = service.oneshot(request).await.unwrap().into_body().collect().await.unwrap();
        assert_eq!(body.trailers().unwrap()["grpc-status"], "4");
        assert!((1..=50).contains(&body.to_bytes().len()));
    }

    #[tokio::test(start_paused = true)]
    async fn a_handler_that_is_late_is_not_waited_for() {
        let service = layer(Some(MINUTE)).layer(service_fn(|_: Request<()>| async {
            tokio::time::sleep(2 * MINUTE).await;
            Ok(Response::new(Body::empty()))
        }));
        let began = Instant::now();
        let response = service.oneshot(Request::new(())).await.unwrap();
        assert_eq!(began.elapsed().as_secs(), 60);
        assert_eq!(response.headers()["grpc-status"], "4");
        assert_eq!(response.headers()["content-type"], "application/grpc");
        assert!(http_body::Body::is_end_stream(response.body()));
    }
}
