//! One id, one line in the log, and one count for each call, whatever becomes of it.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};

use bytes::Bytes;
use http::{HeaderMap, Request, Response};
use http_body::Body;
use pin_project_lite::pin_project;
use tokio::time::Instant;
use tonic::{Code, Status};
use tower::{Layer, Service};
use tracing::{Span, info, info_span, warn};

use super::super::chance::Chance;
use super::super::methods::Methods;
use super::body::{Watch, Watched};
use super::call::{Call, REQUEST_ID};
use super::meters::{Meter, Meters, name_of};

/// Gives each call its id and its span, and tells the log and the metrics how it ended.
///
/// Neither ever sees metadata, tokens or messages.
#[derive(Debug, Clone)]
pub struct ObserveLayer(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    meters: Meters,
    chance: Chance,
}

impl ObserveLayer {
    /// Labels are the methods that are known here.
    pub fn new(methods: &Methods) -> Self {
        Self(Arc::new(Shared { meters: Meters::new(methods), chance: Chance::default() }))
    }
}

impl<S> Layer<S> for ObserveLayer {
    type Service = ObserveService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        ObserveService { inner, shared: Arc::clone(&self.0) }
    }
}

/// See [`ObserveLayer`].
#[derive(Debug, Clone)]
pub struct ObserveService<S> {
    inner: S,
    shared: Arc<Shared>,
}

impl<S, R, B> Service<Request<R>> for ObserveService<S>
where
    S: Service<Request<R>, Response = Response<B>, Error = Infallible>,
    B: Body<Data = Bytes>,
{
    type Response = Response<Watched<B, Record>>;
    type Error = Infallible;
    type Future = Observed<S::Future>;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(cx)
    }

    fn call(&mut self, mut request: Request<R>) -> Self::Future {
        let call = Call::new(request.headers(), &self.shared.chance);
        let meter = Arc::clone(self.shared.meters.of(request.uri().path()));
        request.extensions_mut().insert(call.clone());
        let record = Record::begin(call, meter);
        let future = record.span.in_scope(|| self.inner.call(request));
        Observed { future, record: Some(record) }
    }
}

/// A call until it ends. Dropped before an outcome is known, its caller went away.
#[derive(Debug)]
pub struct Record {
    call: Call,
    meter: Arc<Meter>,
    span: Span,
    began: Instant,
    code: Option<Code>,
}

impl Record {
    fn begin(call: Call, meter: Arc<Meter>) -> Self {
        meter.began();
        let span = info_span!("call", id = call.id());
        Self { call, meter, span, began: Instant::now(), code: None }
    }

    fn note(&mut self, headers: &HeaderMap) {
        if let Some(status) = headers.get(Status::GRPC_STATUS) {
            self.code = Some(Code::from_bytes(status.as_bytes()));
        }
    }
}

impl Watch for Record {
    fn trailers(&mut self, trailers: &mut HeaderMap) {
        self.note(trailers);
        self.ended();
    }

    /// A response that says no code has none that anyone knows.
    fn ended(&mut self) {
        self.code.get_or_insert(Code::Unknown);
    }
}

impl Drop for Record {
    fn drop(&mut self) {
        let code = self.code.unwrap_or(Code::Cancelled);
        let took = self.began.elapsed();
        self.meter.ended(code, took);
        let (method, caller, code_name) = (self.meter.method(), self.call.caller(), name_of(code));
        let milliseconds = u64::try_from(took.as_millis()).unwrap_or(u64::MAX);
        let _entered = self.span.enter();
        // What should not happen is to be seen among what does.
        match code {
            Code::Unknown | Code::Internal | Code::DataLoss => {
                warn!(method, caller, code = code_name, milliseconds, "call failed");
            }
            _ => info!(method, caller, code = code_name, milliseconds, "call ended"),
        }
    }
}

pin_project! {
    /// The response, with its request id.
    pub struct Observed<F> {
        #[pin]
        future: F,
        record: Option<Record>,
    }
}

impl<F, B> Future for Observed<F>
where
    F: Future<Output = Result<Response<B>, Infallible>>,
    B: Body<Data = Bytes>,
{
    type Output = Result<Response<Watched<B, Record>>, Infallible>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let this = self.project();
        let _entered = this.record.as_ref().map(|record| record.span.enter());
        let Ok(mut response) = ready!(this.future.poll(cx));
        drop(_entered);
        let mut record = this.record.take();
        if let Some(record) = &mut record {
            response.headers_mut().insert(REQUEST_ID, record.call.header());
            record.note(response.headers());
            if response.body().is_end_stream() {
                record.ended();
            }
        }
        Poll::Ready(Ok(response.map(|body| Watched::new(Some(body), record))))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::float_arithmetic)]
mod tests;
