//! What stands between a socket and the services: connections, TLS, and the layers around every call.
//!
//! A call passes, from the outside in: [`Listener`] (socket, TLS, HTTP), CORS, gRPC-Web, media type, observation,
//! reasons, deadline, admission, the program's own access layer, and the services ([`layered`]). Whatever a layer
//! answers goes out through those outside of it, so that a refusal is counted, has a request id, and reaches a
//! browser in gRPC-Web. What does not say that it is gRPC is no call: it has no id and no line in the log, and is counted
//! by its HTTP status alone.
//!
//! The accept loop is our own, on hyper, and not the server that comes with tonic: that one puts the layers of
//! its user inside its timeout, which answers CANCELLED where the deadline is meant, and cuts old connections
//! off in the midst of their calls.

mod bounds;
mod chance;
mod methods;
mod peer;
mod layers;
mod certificates;
mod opening;
mod gathering;
mod connection;
mod listener;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
mod tests;

pub use bounds::Bounds;
pub use certificates::{CertificateError, Clients, TlsFiles};
#[cfg(test)]
pub(in crate::serve) use layers::REASONS;
pub use layers::{Call, HeardLayer, Layering, keeping, layered};
pub use listener::{Config, Drained, Listener, Security, StartError};
pub use methods::Methods;
pub use peer::Peer;
