//! The layers put together.

use std::convert::Infallible;
use std::sync::Arc;

use bytes::Bytes;
use http::{HeaderValue, Request, Response, StatusCode};
use metrics::counter;
use tonic::body::Body;
use tonic_web::GrpcWebLayer;
use tower::util::option_layer;
use tower::{Layer, Service, ServiceBuilder};

use super::super::bounds::Bounds;
use super::super::methods::Methods;
use super::admission::AdmissionLayer;
use super::deadline::DeadlineLayer;
use super::media::MediaLayer;
use super::observe::ObserveLayer;
use super::reasons::ReasonsLayer;
use super::web::cors;
use crate::serve::metered::NO_CALLS;

/// A call ends with a status of its own, and HTTP has nothing to add: whatever else there is was none.
fn no_calls_counted(response: Response<Body>) -> Response<Body> {
    let status = response.status();
    if status != StatusCode::OK {
        counter!(NO_CALLS, "status" => status.as_str().to_owned()).increment(1);
    }
    response
}

/// What the layers have to know.
#[derive(Debug, Clone, Default)]
pub struct Layering {
    /// `calls`, `open_calls`, `retry_after` and `longest_unary` of these.
    pub bounds: Bounds,
    /// The methods that are known, those of health and reflection too.
    pub methods: Arc<Methods>,
    /// Origins whose pages may call, such as `https://portal.example`.
    pub origins: Vec<HeaderValue>,
}

/// The services with all layers around them; `access` is the innermost, and decides who may call what.
pub fn layered<S, A, R, B>(
    services: S,
    access: A,
    layering: &Layering,
) -> impl Service<Request<R>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
+ Clone
+ Send
+ 'static
where
    A: Layer<S>,
    A::Service: Service<Request<Body>, Response = Response<B>, Error = Infallible> + Clone + Send + 'static,
    <A::Service as Service<Request<Body>>>::Future: Send + 'static,
    R: http_body::Body<Data = Bytes, Error: Into<tonic::codegen::StdError> + std::fmt::Display>
        + Send
        + 'static,
    B: http_body::Body<Data = Bytes, Error: Into<tonic::codegen::StdError> + std::fmt::Display>
        + Send
        + 'static,
{
    let Layering { bounds, methods, origins } = layering;
    ServiceBuilder::new()
        .layer(option_layer(cors(origins)))
        .map_response(no_calls_counted)
        .layer(GrpcWebLayer::new())
        .layer(MediaLayer)
        .layer(ObserveLayer::new(methods))
        .layer(ReasonsLayer)
        .layer(DeadlineLayer::new(Arc::clone(methods), bounds.longest_unary))
        .layer(AdmissionLayer::new(bounds.calls, bounds.open_calls, bounds.retry_after))
        .service(access.layer(services))
}
