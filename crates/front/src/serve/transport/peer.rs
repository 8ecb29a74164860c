//! Who is at the other end of a connection.

use std::net::SocketAddr;

use tokio::time::Instant;

/// The other end of the connection that a call came in by: an extension of every request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peer {
    /// When the connection is too old for whatever is under way.
    pub ends: Instant,
    /// Where the connection comes from; a proxy's address where there is one.
    pub address: SocketAddr,
    /// SHA-256 of the client certificate in DER, where one was given. It was signed by an authority that the
    /// configuration names, and its key was proven.
    pub certificate: Option<[u8; 32]>,
    /// Whether the connection is TLS.
    pub encrypted: bool,
}
