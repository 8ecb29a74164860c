//! A server around the oven.

use std::net::SocketAddr;
use std::sync::Arc;

use http::HeaderValue;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tonic::service::Routes;
use tower::layer::util::Identity;

use super::super::{Bounds, Config, Drained, Layering, Listener, Security, layered};
use super::oven::{Oven, State, methods};

pub(super) struct Server {
    pub(super) address: SocketAddr,
    pub(super) oven: Arc<State>,
    stop: oneshot::Sender<()>,
    ended: JoinHandle<Drained>,
}

pub(super) const PLAIN: Security = Security::PlainText { off_loopback: false };

impl Server {
    pub(super) async fn plain(bounds: Bounds) -> Self {
        Self::start(PLAIN, bounds, &[]).await
    }

    pub(super) async fn start(security: Security, bounds: Bounds, origins: &[&'static str]) -> Self {
        let oven = Oven::default();
        let state = Arc::clone(&oven.0);
        let origins = origins.iter().map(|origin| HeaderValue::from_static(origin)).collect();
        let layering = Layering { bounds, methods: Arc::new(methods()), origins };
        let service = layered(Routes::new(oven), Identity::new(), &layering);
        let config = Config { address: ([127, 0, 0, 1], 0).into(), security, bounds };
        let listener = Listener::bind(config).await.unwrap();
        let address = listener.address();
        let (stop, stopped) = oneshot::channel();
        let ended = tokio::spawn(listener.serve(service, async {
            let _ = stopped.await;
        }));
        Self { address, oven: state, stop, ended }
    }

    pub(super) async fn stop(self) -> Drained {
        self.stop.send(()).unwrap();
        self.ended.await.unwrap()
    }
}
