//! The server from start to end.

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use evenfare_store::Store;
use evenfare_store::refused::StoreError;
use http::HeaderValue;
use prost::Message;
use prost_types::FileDescriptorSet;
use tokio::sync::watch;
use tonic::service::{LayerExt, Routes};
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;

use super::access::AccessLayer;
use super::callers::Callers;
use super::house::House;
use super::services::Services;
use super::transport::{Config, Drained, HeardLayer, Layering, Listener, Methods, StartError, layered};
use super::vitals::Found;
use crate::wire::pb;

/// How long it says that it is about to stop before it stops, for those who choose among servers.
const NOTICE: Duration = Duration::from_millis(500);

/// What anybody may ask is short: for a message that is announced, room is made before it is there.
const LARGEST_QUESTION: usize = 4 << 10;

/// Why a server does not start.
#[derive(Debug, thiserror::Error)]
pub enum NotStarted {
    /// It cannot listen there.
    #[error(transparent)]
    Listen(#[from] StartError),
    /// The store has no answer.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A defect of the program.
    #[error("the server cannot describe itself: {0}")]
    Description(String),
}

/// Serves until `stop` ends, then says so, finishes what is under way, and closes the store.
///
/// A partner is told of `floor_refusals` offers in a day that the floor refuses. `listening` is told the address as soon as connections are accepted.
///
/// # Errors
/// [`NotStarted`] says why it does not begin.
pub async fn serve(
    store: Arc<dyn Store>,
    config: Config,
    origins: Vec<HeaderValue>,
    floor_refusals: u32,
    listening: impl FnOnce(SocketAddr),
    stop: impl Future<Output = ()>,
) -> Result<Drained, NotStarted> {
    let bounds = config.bounds;
    let listener = Listener::bind(config).await?;
    let (stopping, stops) = watch::channel(false);
    let callers = Arc::new(Callers::default());
    let house = House::open(Arc::clone(&store), Arc::clone(&callers), floor_refusals, stops).await?;
    let (looking, trying) = (house.keep_looking(), house.keep_trying());

    let (mut reporter, health) = tonic_health::server::health_reporter();
    let health = health.max_decoding_message_size(LARGEST_QUESTION);
    report(&reporter, true, true).await;
    let reporting = tokio::spawn(keep_reporting(reporter.clone(), house.vitals.found()));
    let services = Services::new(&house, described(Routes::new(health), house.stopping.clone())?);
    let layering = Layering { bounds, methods: Arc::new(methods()?), origins };
    let service = layered(services, AccessLayer { callers }, &layering);

    listening(listener.address());
    let leave = async {
        stop.await;
        reporting.abort();
        // It may be about to say otherwise.
        let _ = reporting.await;
        report(&reporter, false, false).await;
        tracing::info!("about to stop");
        stopping.send_replace(true);
        tokio::time::sleep(NOTICE).await;
        // Who watches whether it serves has heard it; he is not waited for.
        for service in SERVICES.into_iter().chain([WRITING]) {
            reporter.clear_service_status(service).await;
        }
    };
    let drained = listener.serve(service, leave).await;
    // What was taken on is written down, also where nobody waits for the answer any more.
    store.close().await;
    looking.abort();
    trying.abort();
    Ok(drained)
}

/// What all services are made of, in words of their own.
const DESCRIPTORS: [&[u8]; 3] = [
    pb::FILE_DESCRIPTOR_SET,
    tonic_health::pb::FILE_DESCRIPTOR_SET,
    tonic_reflection::pb::v1::FILE_DESCRIPTOR_SET,
];

/// With what tells clients which services there are, in both versions of that: as long as they ask, and the server is
/// not about to stop.
fn described(routes: Routes, stopping: watch::Receiver<bool>) -> Result<Routes, NotStarted> {
    let failed = |error: tonic_reflection::server::Error| NotStarted::Description(error.to_string());
    let builder = || {
        let builder = tonic_reflection::server::Builder::configure();
        DESCRIPTORS
            .into_iter()
            .fold(builder, |builder, set| builder.register_encoded_file_descriptor_set(set))
    };
    let v1 = builder().build_v1().map_err(failed)?.max_decoding_message_size(LARGEST_QUESTION);
    let v1alpha = builder().build_v1alpha().map_err(failed)?.max_decoding_message_size(LARGEST_QUESTION);
    let heard = HeardLayer::new(stopping);
    Ok(routes.add_service(heard.named_layer(v1)).add_service(heard.named_layer(v1alpha)))
}

fn methods() -> Result<Methods, NotStarted> {
    let failed = |error: prost::DecodeError| NotStarted::Description(error.to_string());
    let alpha = tonic_reflection::pb::v1alpha::FILE_DESCRIPTOR_SET;
    let sets = DESCRIPTORS.into_iter().chain([alpha]);
    sets.map(FileDescriptorSet::decode)
        .try_fold(Methods::default(), |methods, set| Ok(methods.with(&set?)))
        .map_err(failed)
}

/// The server as a whole and its services. Each of them prices and reads, also where nothing can be written down.
const SERVICES: [&str; 5] = [
    "",
    "evenfare.v1.OfficeService",
    "evenfare.v1.PartnerService",
    "evenfare.v1.AccountantService",
    "evenfare.v1.TariffService",
];
/// What is written down has a name of its own, for whoever looks after the server.
const WRITING: &str = "writing";

/// Says of the whole server, of each service, and of writing whether it serves. A disk that is full is no reason to take
/// from those who read a server that answers them, or to start it again.
async fn report(reporter: &HealthReporter, reads: bool, writes: bool) {
    let services = SERVICES.into_iter().map(|service| (service, reads));
    for (service, serves) in services.chain([(WRITING, writes)]) {
        let status = if serves { ServingStatus::Serving } else { ServingStatus::NotServing };
        reporter.set_service_status(service, status).await;
    }
}

/// Says it as it was found, and again whenever it changes.
async fn keep_reporting(reporter: HealthReporter, mut found: watch::Receiver<Found>) {
    // What changed before anybody listened is to be said as well.
    found.mark_changed();
    while found.changed().await.is_ok() {
        let found = *found.borrow_and_update();
        report(&reporter, found.reads(), found.writes()).await;
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use bytes::Bytes;
    use futures_util::{StreamExt, stream};
    use http::Request;
    use http_body::Frame;
    use http_body_util::StreamBody;
    use tokio::sync::oneshot;
    use tokio::time::timeout;
    use tonic::Status;
    use tonic::body::Body;
    use tower::ServiceExt;

    use tonic_health::pb::HealthCheckRequest;
    use tonic_health::pb::health_client::HealthClient;

    use super::*;
    use crate::serve::vitals::Vitals;

    #[tokio::test]
    async fn what_was_found_before_anybody_listened_is_reported() {
        let (reporter, health) = tonic_health::server::health_reporter();
        report(&reporter, true, true).await;
        let vitals = Vitals::default();
        vitals.answers(false);
        let reporting = tokio::spawn(keep_reporting(reporter, vitals.found()));
        let mut health = HealthClient::new(health);
        let reported = async {
            loop {
                let of = HealthCheckRequest { service: WRITING.to_owned() };
                match health.check(of).await.unwrap().into_inner().status() {
                    tonic_health::pb::health_check_response::ServingStatus::NotServing => break,
                    _ => tokio::task::yield_now().await,
                }
            }
        };
        assert!(timeout(Duration::from_secs(20), reported).await.is_ok());
        reporting.abort();
    }

    /// At his deadline his call has no place any more: no task is to go on for whoever keeps his question open.
    #[tokio::test]
    async fn nobody_listens_to_a_question_whose_answer_has_ended() {
        let (_stopping, stops) = watch::channel(false);
        let routes = described(Routes::default(), stops).unwrap();
        for version in ["v1", "v1alpha"] {
            let (heard, mut gone) = oneshot::channel::<()>();
            let said = stream::pending::<Result<Frame<Bytes>, Status>>().inspect(move |_| {
                let _ = &heard;
            });
            let path = format!("/grpc.reflection.{version}.ServerReflection/ServerReflectionInfo");
            let request = Request::post(path).body(Body::new(StreamBody::new(said))).unwrap();
            let answer = routes.clone().oneshot(request).await.unwrap();
            let early = timeout(Duration::from_millis(100), &mut gone).await;
            assert!(early.is_err(), "{version}: as long as he is answered");
            drop(answer);
            assert!(timeout(Duration::from_secs(20), gone).await.is_ok(), "{version}");
        }
    }
}
