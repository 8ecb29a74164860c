//! Clients, each with a token.

use std::path::Path;
use std::sync::LazyLock;
use std::time::Duration;

use evenfare::wire::pb;
use evenfare_files::{Tariffs, read_job_for, read_tariff};
use prost::Message;
use tokio::runtime::{Builder, Runtime};
use tonic::metadata::{Ascii, MetadataValue};
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Status};
use tonic_types::StatusExt;

/// Puts a token on every call.
#[derive(Clone)]
pub struct Bearer(MetadataValue<Ascii>);

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        request.metadata_mut().insert("authorization", self.0.clone());
        Ok(request)
    }
}

/// A channel of somebody.
pub type Client = InterceptedService<Channel, Bearer>;

/// Connections are kept apart from the tests, which wait for programs on the thread that they run on: a client that
/// does not answer for this long is let go of by the server.
static CONNECTIONS: LazyLock<Runtime> = LazyLock::new(|| {
    Builder::new_multi_thread().worker_threads(1).thread_name("connections").enable_all().build().unwrap()
});

/// Connects as nobody.
pub async fn channel(url: &str) -> Channel {
    let endpoint = Endpoint::from_shared(url.to_owned()).unwrap().connect_timeout(Duration::from_secs(5));
    CONNECTIONS.spawn(async move { endpoint.connect().await }).await.unwrap().unwrap()
}

/// Connects with a token.
pub async fn connect(url: &str, token: &str) -> Client {
    InterceptedService::new(channel(url).await, Bearer(format!("Bearer {token}").parse().unwrap()))
}

/// A job of the demo world.
pub fn job(name: &str) -> pb::Job {
    static TARIFFS: LazyLock<Tariffs> = LazyLock::new(|| {
        read_tariff(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff")).unwrap()
    });
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/jobs").join(format!("{name}.toml"));
    let (job, _) = read_job_for(&path, &TARIFFS).unwrap();
    pb::Job::from(&job)
}

/// Why a call was refused, as programs are told.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    pub code: tonic::Code,
    pub reason: String,
    pub fields: Vec<String>,
    pub refusal: pb::Refusal,
}

/// Reads the details of a status.
pub fn reason(status: &Status) -> Reason {
    let details = status.get_error_details();
    let info = details.error_info().unwrap_or_else(|| panic!("no ErrorInfo in {status:?}"));
    assert_eq!(info.domain, "evenfare");
    let all = tonic_types::pb::Status::decode(status.details()).unwrap().details;
    let refusal = all.iter().find(|any| any.type_url.ends_with("/evenfare.v1.Refusal")).unwrap();
    let refusal = pb::Refusal::decode(&*refusal.value).unwrap();
    assert_eq!(refusal.reason, info.reason);
    let bad = details.bad_request();
    let fields = bad.map(|bad| bad.field_violations.iter().map(|field| field.field.clone()).collect());
    Reason { code: status.code(), reason: info.reason.clone(), fields: fields.unwrap_or_default(), refusal }
}
