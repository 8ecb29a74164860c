//! What the log and the metrics say of calls that end one way or another.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::io;
use std::sync::{Arc, Mutex};

use bytes::Bytes;
use http::{Request, Response};
use http_body::Frame;
use http_body_util::{BodyExt, StreamBody};
use metrics::{
    Counter, CounterFn, Gauge, GaugeFn, Histogram, HistogramFn, Key, KeyName, Metadata, Recorder,
    SharedString, Unit,
};
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service, ServiceExt, service_fn};

use super::super::super::methods::Methods;
use super::super::answer::trailers;
use super::super::call::Call;
use super::ObserveLayer;

/// All that was recorded, by metric and labels.
#[derive(Clone, Default)]
struct Board(Arc<Mutex<BTreeMap<String, f64>>>);

/// One metric of it.
struct Cell(Board, String);

impl Cell {
    fn add(&self, value: f64) {
        *self.0.0.lock().unwrap().entry(self.1.clone()).or_default() += value;
    }
}

impl CounterFn for Cell {
    fn increment(&self, value: u64) {
        self.add(value as f64);
    }
    fn absolute(&self, _: u64) {
        unreachable!("counts only go up");
    }
}

impl GaugeFn for Cell {
    fn increment(&self, value: f64) {
        self.add(value);
    }
    fn decrement(&self, value: f64) {
        self.add(-value);
    }
    fn set(&self, _: f64) {
        unreachable!("calls come and go one by one");
    }
}

impl HistogramFn for Cell {
    fn record(&self, value: f64) {
        assert!((0.0..5.0).contains(&value), "{value} is in seconds");
        self.add(1.0);
    }
}

impl Board {
    fn cell(&self, key: &Key) -> Arc<Cell> {
        let labels: Vec<String> =
            key.labels().map(|label| format!("{}={}", label.key(), label.value())).collect();
        Arc::new(Cell(self.clone(), format!("{} {}", key.name(), labels.join(" ")).trim().to_owned()))
    }
}

impl Recorder for Board {
    fn describe_counter(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
    fn describe_gauge(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
    fn describe_histogram(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
    fn register_counter(&self, key: &Key, _: &Metadata<'_>) -> Counter {
        Counter::from_arc(self.cell(key))
    }
    fn register_gauge(&self, key: &Key, _: &Metadata<'_>) -> Gauge {
        Gauge::from_arc(self.cell(key))
    }
    fn register_histogram(&self, key: &Key, _: &Metadata<'_>) -> Histogram {
        Histogram::from_arc(self.cell(key))
    }
}

#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl io::Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A response that ends as the request's body says.
async fn oven(request: Request<&'static str>) -> Result<Response<Body>, Infallible> {
    request.extensions().get::<Call>().unwrap().name_caller("portal of the north");
    let message = Ok::<_, Status>(Frame::data(Bytes::from_static(b"secret loaf")));
    let mut frames = vec![message];
    match *request.body() {
        "refuse" => return Ok(Status::not_found("no such loaf").into_http()),
        "hang" => std::future::pending().await,
        "fail late" => frames.push(Ok(Frame::trailers(trailers(&Status::internal("burnt"))))),
        "say nothing" => {}
        _ => frames.push(Ok(Frame::trailers(trailers(&Status::new(Code::Ok, ""))))),
    }
    Ok(Response::new(Body::new(StreamBody::new(tokio_stream::iter(frames)))))
}

#[test]
fn each_call_is_one_line_and_one_count() {
    let (board, log) = (Board::default(), Log::default());
    let lines = log.clone();
    let subscriber =
        tracing_subscriber::fmt().with_ansi(false).without_time().with_writer(move || lines.clone()).finish();
    // Time stands still, however long the machine takes.
    let runtime =
        tokio::runtime::Builder::new_current_thread().enable_time().start_paused(true).build().unwrap();
    let _log = tracing::subscriber::set_default(subscriber);
    metrics::with_local_recorder(&board, || runtime.block_on(calls(&board)));

    let log = String::from_utf8(log.0.lock().unwrap().clone()).unwrap();
    let ends: Vec<&str> = log.lines().collect();
    assert_eq!(ends.len(), 7, "{log}");
    for (line, expect) in ends.iter().zip([
        "INFO \"OK\"",
        "INFO \"NOT_FOUND\"",
        "WARN \"INTERNAL\"",
        "WARN \"UNKNOWN\"",
        "INFO \"CANCELLED\"",
        "INFO \"CANCELLED\"",
        "INFO \"OK\"",
    ]) {
        let (level, code) = expect.split_once(' ').unwrap();
        assert!(line.trim_start().starts_with(level), "{line}");
        assert!(line.contains(&format!("code={code}")), "{line}");
        assert!(line.contains("caller=\"portal of the north\"") && line.contains("milliseconds=0"), "{line}");
        assert!(line.contains("id-17"), "{line}");
    }
    assert!(ends[0].contains("Oven/Bake") && ends[6].contains("unknown"), "{log}");
    for secret in
        ["token-of-256-bits", "secret loaf", "Oven/Guessed", "grpc-message", "burnt", "no such loaf"]
    {
        assert!(!log.contains(secret), "{secret} in {log}");
    }

    let counted: Vec<(String, f64)> = board.0.lock().unwrap().clone().into_iter().collect();
    let expect = [
        ("evenfare_call_seconds method=Oven/Bake", 6.0),
        ("evenfare_call_seconds method=unknown", 1.0),
        ("evenfare_calls_in_flight", 0.0),
        ("evenfare_calls_total method=Oven/Bake code=CANCELLED", 2.0),
        ("evenfare_calls_total method=Oven/Bake code=INTERNAL", 1.0),
        ("evenfare_calls_total method=Oven/Bake code=NOT_FOUND", 1.0),
        ("evenfare_calls_total method=Oven/Bake code=OK", 1.0),
        ("evenfare_calls_total method=Oven/Bake code=UNKNOWN", 1.0),
        ("evenfare_calls_total method=unknown code=OK", 1.0),
    ];
    assert_eq!(counted, expect.map(|(name, value)| (name.to_owned(), value)));
}

async fn calls(board: &Board) {
    let mut service = ObserveLayer::new(&Methods::from_iter([("/Oven/Bake", false)])).layer(service_fn(oven));
    let request = |path: &str, ending: &'static str| {
        Request::builder()
            .uri(path)
            .header("x-request-id", "id-17")
            .header("authorization", "Bearer token-of-256-bits")
            .body(ending)
            .unwrap()
    };
    for ending in ["well", "refuse", "fail late", "say nothing"] {
        let response = service.clone().oneshot(request("/Oven/Bake", ending)).await.unwrap();
        assert_eq!(response.headers()["x-request-id"], "id-17");
        response.into_body().collect().await.unwrap();
    }
    let hanging = service.call(request("/Oven/Bake", "hang"));
    assert!(asked_once(hanging).await.is_none());
    let mut body = service.clone().oneshot(request("/Oven/Bake", "well")).await.unwrap().into_body();
    body.frame().await.unwrap().unwrap();
    assert_eq!(board.0.lock().unwrap()["evenfare_calls_in_flight"], 1.0);
    drop(body);
    let guessed = service.oneshot(request("/Oven/Guessed", "well")).await.unwrap();
    guessed.into_body().collect().await.unwrap();
}

/// What a future gives when it is asked once.
async fn asked_once<F: Future>(future: F) -> Option<F::Output> {
    tokio::select! {
        biased;
        output = future => Some(output),
        () = std::future::ready(()) => None,
    }
}
