//! The socket that connections come in by.

use std::convert::Infallible;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use http::{Request, Response};
use hyper::body::Incoming;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::{sleep, timeout};
use tonic::body::Body;
use tower::Service;
use tracing::{debug, warn};

use super::bounds::Bounds;
use super::certificates::{CertificateError, Certificates, TlsFiles};
use super::chance::Chance;
use super::connection::{Connection, Terms};

/// Where and how a server listens.
#[derive(Debug, Clone)]
pub struct Config {
    /// The address; port 0 is one that the system chooses.
    pub address: SocketAddr,
    /// TLS, or none.
    pub security: Security,
    /// How much of everything.
    pub bounds: Bounds,
}

/// How connections are protected.
#[derive(Debug, Clone)]
pub enum Security {
    /// TLS, with client certificates where they are asked for.
    Tls(TlsFiles),
    /// None: tokens and prices can be read by whoever is on the way.
    PlainText {
        /// Whether that is wanted on an address that others can reach too, as behind a proxy that ends TLS.
        off_loopback: bool,
    },
}

/// Why a server does not start to listen.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs)]
pub enum StartError {
    #[error(
        "plain text on `{address}`, which is not loopback: name a certificate and its key (`--certificate`, \
         `--key`), or ask for it by name (`--plain-text`)"
    )]
    PlainText { address: SocketAddr },
    #[error("no TLS")]
    Certificates {
        #[from]
        source: CertificateError,
    },
    #[error("cannot listen on `{address}`")]
    Address { address: SocketAddr, source: io::Error },
}

/// How a server ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub struct Drained {
    /// Connections whose calls had not ended in time, and were cut off.
    pub cut_off: usize,
}

/// A bound socket.
#[derive(Debug)]
pub struct Listener {
    socket: TcpListener,
    address: SocketAddr,
    certificates: Option<Certificates>,
    bounds: Bounds,
}

impl Listener {
    /// Reads the certificates and binds the socket. From here on connections wait for [`Listener::serve`].
    ///
    /// # Errors
    ///
    /// Plain text off loopback that was not asked for, certificates that do not serve, an address that is taken.
    pub async fn bind(config: Config) -> Result<Self, StartError> {
        let Config { address, security, bounds } = config;
        let certificates = match security {
            Security::Tls(files) => Some(Certificates::load(files)?),
            Security::PlainText { off_loopback } => {
                if !off_loopback && !address.ip().to_canonical().is_loopback() {
                    return Err(StartError::PlainText { address });
                }
                None
            }
        };
        let failed = |source| StartError::Address { address, source };
        let socket = TcpListener::bind(address).await.map_err(failed)?;
        let address = socket.local_addr().map_err(failed)?;
        Ok(Self { socket, address, certificates, bounds })
    }

    /// The address that it listens on, with the port that the system chose.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Serves until `stop` ends; then takes no more connections, asks those that are open to go, and waits for
    /// their calls as long as [`Bounds::drain`] allows.
    pub async fn serve<S>(self, service: S, stop: impl Future<Output = ()>) -> Drained
    where
        S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
            + Clone
            + Send
            + 'static,
    {
        let stopping = watch::Sender::new(false);
        let mut open = JoinSet::new();
        tokio::select! {
            () = stop => {}
            () = self.accept(service, &stopping, &mut open) => {}
            () = self.keep_fresh() => {}
        }
        drop(self.socket);
        stopping.send_replace(true);
        let all_ended = async { while open.join_next().await.is_some() {} };
        let in_time = timeout(self.bounds.drain, all_ended).await.is_ok();
        let cut_off = if in_time { 0 } else { open.len() };
        open.shutdown().await;
        Drained { cut_off }
    }

    /// Accepts for ever.
    async fn accept<S>(&self, service: S, stopping: &watch::Sender<bool>, open: &mut JoinSet<()>)
    where
        S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible, Future: Send + 'static>
            + Clone
            + Send
            + 'static,
    {
        let terms = Arc::new(Terms::new(&self.bounds));
        let chance = Chance::default();
        let mut failures: u32 = 0;
        loop {
            let (stream, from) = match self.socket.accept().await {
                Ok(accepted) => accepted,
                Err(error) => {
                    if let Some(pause) = pause_after(&error, failures) {
                        warn!(%error, "cannot accept a connection");
                        failures = failures.saturating_add(1);
                        sleep(pause).await;
                    }
                    continue;
                }
            };
            failures = 0;
            // Those that ended since the last one.
            while open.try_join_next().is_some() {}
            if let Some(stream) = self.take_on(stream, from, open.len()) {
                let connection = Connection {
                    stream,
                    from,
                    tls: self.certificates.as_ref().map(Certificates::acceptor),
                    service: service.clone(),
                    age: chance.shorten(self.bounds.age),
                    stopping: stopping.subscribe(),
                };
                open.spawn(connection.attend(Arc::clone(&terms)));
            }
        }
    }

    /// The connection, unless there is no room for it; then it is closed.
    fn take_on(&self, stream: TcpStream, from: SocketAddr, open: usize) -> Option<TcpStream> {
        if open >= self.bounds.connections {
            debug!(peer = %from, open, "closed at once, as many connections are open as there may be");
            return None;
        }
        // A small answer is sent when it is there. A peer that is gone already is noticed when it is read from.
        stream.set_nodelay(true).ok()?;
        Some(stream)
    }

    async fn keep_fresh(&self) {
        match &self.certificates {
            Some(certificates) => certificates.keep_fresh(self.bounds.certificates_every).await,
            None => std::future::pending().await,
        }
    }
}

/// How long to wait after an error of `accept`: not at all where the error is that of one connection, else
/// longer each time, for the server has no more descriptors or memory.
fn pause_after(error: &io::Error, failures: u32) -> Option<Duration> {
    use io::ErrorKind::{ConnectionAborted, ConnectionReset, Interrupted};
    if matches!(error.kind(), ConnectionAborted | ConnectionReset | Interrupted) {
        return None;
    }
    Some(Duration::from_millis(5).saturating_mul(1 << failures.min(8)).min(Duration::from_secs(1)))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn an_error_of_one_connection_stops_nothing() {
        assert_eq!(pause_after(&io::ErrorKind::ConnectionAborted.into(), 0), None);
    }

    #[test]
    fn without_descriptors_it_waits_longer_each_time() {
        const EMFILE: i32 = 24;
        let pause = |failures| pause_after(&io::Error::from_raw_os_error(EMFILE), failures).unwrap();
        assert_eq!(pause(0), Duration::from_millis(5));
        assert_eq!(pause(1), Duration::from_millis(10));
        assert_eq!(pause(7), Duration::from_millis(640));
        assert_eq!(pause(8), Duration::from_secs(1));
        assert_eq!(pause(u32::MAX), Duration::from_secs(1));
    }
}
