//! How much of everything there may be.

use std::time::Duration;

/// How many, how large and how long, for everything that a peer could make more of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    /// Connections open at a time, handshakes included. One more is closed as soon as it is accepted, so that
    /// its client tries another server instead of waiting for this one.
    pub connections: usize,
    /// For a connection to become one: the TLS handshake and the first bytes that tell HTTP/2 from HTTP/1.
    pub opening: Duration,
    /// For the head of an HTTP/1 request, counted from the end of the one before.
    pub head_read: Duration,
    /// Headers of a request, in bytes.
    pub head_bytes: u32,
    /// Calls at a time on one connection.
    pub streams_per_connection: u32,
    /// Streams that a peer has reset and the server has not yet let go; one more ends the connection.
    pub resets_pending: usize,
    /// Streams that the server had to reset for a peer's mistakes; one more ends the connection.
    pub resets_caused: usize,
    /// Bytes of one request that a peer may send before they are read.
    pub stream_window_bytes: u32,
    /// Bytes of all requests of one connection that a peer may send before they are read.
    pub connection_window_bytes: u32,
    /// Bytes of one response that wait for a peer to read them.
    pub send_buffer_bytes: usize,
    /// A ping after this long without a frame.
    pub ping_every: Duration,
    /// A connection whose ping is not answered for this long is closed.
    pub ping_answer: Duration,
    /// At this age, less up to a tenth by chance, a connection is asked to go (GOAWAY): clients come back, and
    /// find servers that were added since. The chance spreads out those who came together.
    pub age: Duration,
    /// For the calls of a connection that was asked to go; then they end with UNAVAILABLE, and a second later those whose
    /// answers are not read are cut off.
    pub age_grace: Duration,
    /// For all running calls when the server stops; then they are cut off.
    pub drain: Duration,
    /// Calls at a time on the whole server, health checks apart. One more is refused at once.
    pub calls: usize,
    /// Calls at a time that nobody has to be known for and that may last: watching whether the server is up,
    /// asking what it understands. They take no places of the others.
    pub open_calls: usize,
    /// When a refused call may be tried again.
    pub retry_after: Duration,
    /// The longest that a call without streams may take, whatever deadline the caller gave.
    pub longest_unary: Option<Duration>,
    /// How often certificate files are looked at.
    pub certificates_every: Duration,
}

impl Default for Bounds {
    fn default() -> Self {
        Self {
            connections: 16_384,
            opening: Duration::from_secs(10),
            head_read: Duration::from_secs(30),
            head_bytes: 16 * 1024,
            streams_per_connection: 128,
            resets_pending: 32,
            resets_caused: 256,
            stream_window_bytes: 1024 * 1024,
            connection_window_bytes: 4 * 1024 * 1024,
            send_buffer_bytes: 256 * 1024,
            ping_every: Duration::from_secs(30),
            ping_answer: Duration::from_secs(10),
            age: Duration::from_secs(30 * 60),
            age_grace: Duration::from_secs(60),
            drain: Duration::from_secs(20),
            calls: 512,
            open_calls: 128,
            retry_after: Duration::from_secs(1),
            longest_unary: Some(Duration::from_secs(60)),
            certificates_every: Duration::from_secs(5),
        }
    }
}
