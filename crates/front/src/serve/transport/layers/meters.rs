//! Counts and times of calls, by method and outcome.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use metrics::{Counter, Gauge, Histogram, SharedString, counter, gauge, histogram};
use tonic::Code;

use super::super::methods::Methods;
use crate::serve::metered::{CALL_SECONDS, CALLS, CALLS_IN_FLIGHT};

/// One meter for each method of the server, and one for whatever else is asked for.
///
/// The recorder has to be there before the first call: a meter keeps what it was given then.
#[derive(Debug)]
pub(super) struct Meters {
    by_path: HashMap<Arc<str>, Arc<Meter>>,
    unknown: Arc<Meter>,
}

impl Meters {
    pub(super) fn new(methods: &Methods) -> Self {
        let in_flight = Arc::default();
        let new = |method: &str| Arc::new(Meter::new(method, Arc::clone(&in_flight)));
        let meter = |path: &Arc<str>| (Arc::clone(path), new(path.trim_start_matches('/')));
        Self { by_path: methods.paths().map(meter).collect(), unknown: new("unknown") }
    }

    pub(super) fn of(&self, path: &str) -> &Arc<Meter> {
        self.by_path.get(path).unwrap_or(&self.unknown)
    }
}

/// What is measured of one method.
#[derive(Debug)]
pub(super) struct Meter {
    method: Arc<str>,
    /// By code, in the order of their numbers; each is made when it is first needed.
    ended: [OnceLock<Counter>; 17],
    seconds: OnceLock<Histogram>,
    /// The one of all methods.
    in_flight: Arc<OnceLock<Gauge>>,
}

impl Meter {
    fn new(method: &str, in_flight: Arc<OnceLock<Gauge>>) -> Self {
        Self { method: method.into(), ended: Default::default(), seconds: OnceLock::new(), in_flight }
    }

    pub(super) fn method(&self) -> &str {
        &self.method
    }

    fn label(&self) -> SharedString {
        SharedString::from_shared(Arc::clone(&self.method))
    }

    fn in_flight(&self) -> &Gauge {
        self.in_flight.get_or_init(|| gauge!(CALLS_IN_FLIGHT))
    }

    pub(super) fn began(&self) {
        self.in_flight().increment(1);
    }

    pub(super) fn ended(&self, code: Code, took: Duration) {
        self.in_flight().decrement(1);
        let make = || counter!(CALLS, "method" => self.label(), "code" => name_of(code));
        if let Some(counter) = self.ended.get(code as usize) {
            counter.get_or_init(make).increment(1);
        }
        self.seconds.get_or_init(|| histogram!(CALL_SECONDS, "method" => self.label())).record(took);
    }
}

/// The code as the protocol's documents write it.
pub(super) fn name_of(code: Code) -> &'static str {
    match code {
        Code::Ok => "OK",
        Code::Cancelled => "CANCELLED",
        Code::Unknown => "UNKNOWN",
        Code::InvalidArgument => "INVALID_ARGUMENT",
        Code::DeadlineExceeded => "DEADLINE_EXCEEDED",
        Code::NotFound => "NOT_FOUND",
        Code::AlreadyExists => "ALREADY_EXISTS",
        Code::PermissionDenied => "PERMISSION_DENIED",
        Code::ResourceExhausted => "RESOURCE_EXHAUSTED",
        Code::FailedPrecondition => "FAILED_PRECONDITION",
        Code::Aborted => "ABORTED",
        Code::OutOfRange => "OUT_OF_RANGE",
        Code::Unimplemented => "UNIMPLEMENTED",
        Code::Internal => "INTERNAL",
        Code::Unavailable => "UNAVAILABLE",
        Code::DataLoss => "DATA_LOSS",
        Code::Unauthenticated => "UNAUTHENTICATED",
    }
}
