//! The server from start to end.

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use evenfare_store::Store;
use http::HeaderValue;
use prost::Message;
use prost_types::FileDescriptorSet;
use tokio::sync::watch;
use tonic::service::Routes;
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;

use super::access::AccessLayer;
use super::accountant::Accountant;
use super::callers::Callers;
use super::house::{House, NotSettled};
use super::office::Office;
use super::partner::Partner;
use super::tariff::Tariff;
use super::transport::{Config, Drained, Layering, Listener, Methods, StartError, layered};
use crate::wire::answer;
use crate::wire::pb;

/// Messages that hold a job: a small one grows a hundredfold when it is read.
const LARGEST_JOB: usize = 128 << 10;
/// Messages that hold the files of an edition.
const LARGEST_TARIFF: usize = 4 << 20;
/// Whatever is answered: a kept quote of many units is long.
const LARGEST_ANSWER: usize = 16 << 20;
/// So long it says that it is about to stop before it stops, for those who choose among servers.
const NOTICE: Duration = Duration::from_millis(500);

/// Why a server does not start.
#[derive(Debug, thiserror::Error)]
pub enum NotStarted {
    /// It cannot listen there.
    #[error(transparent)]
    Listen(#[from] StartError),
    /// The store has no answer, or an edition in it cannot be read.
    #[error(transparent)]
    Store(#[from] NotSettled),
    /// A defect of the program.
    #[error("the server cannot describe itself: {0}")]
    Description(String),
}

/// Serves until `stop` ends, then says so, finishes what is under way, and closes the store.
///
/// `listening` is told the address as soon as connections are accepted.
///
/// # Errors
/// [`NotStarted`] says why it does not begin.
pub async fn serve(
    store: Arc<dyn Store>,
    config: Config,
    origins: Vec<HeaderValue>,
    listening: impl FnOnce(SocketAddr),
    stop: impl Future<Output = ()>,
) -> Result<Drained, NotStarted> {
    let bounds = config.bounds;
    let listener = Listener::bind(config).await?;
    let (stopping, stops) = watch::channel(false);
    let callers = Arc::new(Callers::default());
    let house = House::open(Arc::clone(&store), Arc::clone(&callers), stops).await?;
    let looking = house.keep_looking();

    let (reporter, health) = tonic_health::server::health_reporter();
    report(&reporter, ServingStatus::Serving).await;
    let reporting = tokio::spawn(keep_reporting(reporter.clone(), house.reachable()));
    let routes = described(services(&house).add_service(health))?;
    let layering = Layering { bounds, methods: Arc::new(methods()?), origins };
    let service = layered(routes, AccessLayer { callers }, &layering);

    listening(listener.address());
    let leave = async {
        stop.await;
        reporting.abort();
        report(&reporter, ServingStatus::NotServing).await;
        tracing::info!("about to stop");
        stopping.send_replace(true);
        tokio::time::sleep(NOTICE).await;
    };
    let drained = listener.serve(service, leave).await;
    // What was taken on is written down, also where nobody waits for the answer any more.
    store.close().await;
    looking.abort();
    Ok(drained)
}

/// The services, each with the largest message that it takes.
fn services(house: &Arc<House>) -> Routes {
    use answer::accountant_service_server::AccountantServiceServer;
    use answer::office_service_server::OfficeServiceServer;
    use answer::partner_service_server::PartnerServiceServer;
    use answer::tariff_service_server::TariffServiceServer;
    macro_rules! bounded {
        ($server:ident, $service:ident, $largest:expr) => {
            $server::new($service(Arc::clone(house)))
                .max_decoding_message_size($largest)
                .max_encoding_message_size(LARGEST_ANSWER)
        };
    }
    Routes::new(bounded!(OfficeServiceServer, Office, LARGEST_JOB))
        .add_service(bounded!(PartnerServiceServer, Partner, LARGEST_JOB))
        .add_service(bounded!(AccountantServiceServer, Accountant, LARGEST_JOB))
        .add_service(bounded!(TariffServiceServer, Tariff, LARGEST_TARIFF))
}

/// What all services are made of, in words of their own.
const DESCRIPTORS: [&[u8]; 3] = [
    pb::FILE_DESCRIPTOR_SET,
    tonic_health::pb::FILE_DESCRIPTOR_SET,
    tonic_reflection::pb::v1::FILE_DESCRIPTOR_SET,
];

/// With what tells clients which services there are, in both versions of that.
fn described(routes: Routes) -> Result<Routes, NotStarted> {
    let failed = |error: tonic_reflection::server::Error| NotStarted::Description(error.to_string());
    let builder = || {
        let builder = tonic_reflection::server::Builder::configure();
        DESCRIPTORS
            .into_iter()
            .fold(builder, |builder, set| builder.register_encoded_file_descriptor_set(set))
    };
    let (v1, v1alpha) = (builder().build_v1().map_err(failed)?, builder().build_v1alpha().map_err(failed)?);
    Ok(routes.add_service(v1).add_service(v1alpha))
}

fn methods() -> Result<Methods, NotStarted> {
    let failed = |error: prost::DecodeError| NotStarted::Description(error.to_string());
    let alpha = tonic_reflection::pb::v1alpha::FILE_DESCRIPTOR_SET;
    let sets = DESCRIPTORS.into_iter().chain([alpha]);
    sets.map(FileDescriptorSet::decode)
        .try_fold(Methods::default(), |methods, set| Ok(methods.with(&set?)))
        .map_err(failed)
}

/// Says of the whole server, and of each service, whether it serves.
async fn report(reporter: &HealthReporter, status: ServingStatus) {
    const SERVICES: [&str; 5] = [
        "",
        "evenfare.v1.OfficeService",
        "evenfare.v1.PartnerService",
        "evenfare.v1.AccountantService",
        "evenfare.v1.TariffService",
    ];
    for service in SERVICES {
        reporter.set_service_status(service, status).await;
    }
}

/// A server whose store has no answer cannot serve.
async fn keep_reporting(reporter: HealthReporter, mut reachable: watch::Receiver<bool>) {
    while reachable.changed().await.is_ok() {
        let reached = *reachable.borrow_and_update();
        let status = if reached { ServingStatus::Serving } else { ServingStatus::NotServing };
        report(&reporter, status).await;
    }
}
