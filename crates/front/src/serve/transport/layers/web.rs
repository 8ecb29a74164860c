//! Who may call from a browser.

use std::time::Duration;

use http::header::{AUTHORIZATION, CONTENT_TYPE};
use http::{HeaderName, HeaderValue, Method};
use tower_http::cors::{AllowOrigin, CorsLayer};

use super::call::REQUEST_ID;

/// Headers that a browser client may send.
const SENT: [HeaderName; 6] = [
    AUTHORIZATION,
    CONTENT_TYPE,
    HeaderName::from_static("grpc-timeout"),
    HeaderName::from_static("x-grpc-web"),
    HeaderName::from_static("x-user-agent"),
    REQUEST_ID,
];
/// Headers that its script may read.
const SHOWN: [HeaderName; 4] = [
    HeaderName::from_static("grpc-status"),
    HeaderName::from_static("grpc-message"),
    HeaderName::from_static("grpc-status-details-bin"),
    REQUEST_ID,
];
/// How long a browser keeps the answer to a preflight; two hours is the most that all of them take.
const PREFLIGHT_KEPT: Duration = Duration::from_secs(2 * 60 * 60);

/// CORS for these origins. Without any there is no layer, and no browser may call from another site.
pub(super) fn cors(origins: &[HeaderValue]) -> Option<CorsLayer> {
    let layer = CorsLayer::new()
        .allow_origin(AllowOrigin::list(origins.iter().cloned()))
        .allow_methods([Method::POST])
        .allow_headers(SENT)
        .expose_headers(SHOWN)
        .max_age(PREFLIGHT_KEPT);
    (!origins.is_empty()).then_some(layer)
}
