//! The services as one, each found by its name.

use std::convert::Infallible;
use std::sync::Arc;
use std::task::{Context, Poll};

use http::{Request, Response};
use tonic::body::Body;
use tonic::codegen::BoxFuture;
use tonic::service::Routes;
use tower::Service;

use super::accountant::Accountant;
use super::answers::LARGEST_ANSWER;
use super::house::House;
use super::office::Office;
use super::partner::Partner;
use super::tariff::Tariff;
use crate::wire::answer::accountant_service_server::{self, AccountantServiceServer};
use crate::wire::answer::office_service_server::{self, OfficeServiceServer};
use crate::wire::answer::partner_service_server::{self, PartnerServiceServer};
use crate::wire::answer::tariff_service_server::{self, TariffServiceServer};

/// Messages that hold a job: a small one grows a hundredfold when it is read.
const LARGEST_JOB: usize = 128 << 10;
/// Messages that hold the files of an edition.
const LARGEST_TARIFF: usize = 4 << 20;

/// The services that the workshop's callers ask, and all others behind a router, which takes a call apart and
/// puts it together again.
#[derive(Clone)]
pub(super) struct Services {
    office: OfficeServiceServer<Office>,
    partner: PartnerServiceServer<Partner>,
    accountant: AccountantServiceServer<Accountant>,
    tariff: TariffServiceServer<Tariff>,
    others: Routes,
}

impl Services {
    /// The services of a house, each with the largest message that it takes.
    pub(super) fn new(house: &Arc<House>, others: Routes) -> Self {
        macro_rules! bounded {
            ($server:ident, $service:ident, $largest:expr) => {
                $server::new($service(Arc::clone(house)))
                    .max_decoding_message_size($largest)
                    .max_encoding_message_size(LARGEST_ANSWER)
            };
        }
        Self {
            office: bounded!(OfficeServiceServer, Office, LARGEST_JOB),
            partner: bounded!(PartnerServiceServer, Partner, LARGEST_JOB),
            accountant: bounded!(AccountantServiceServer, Accountant, LARGEST_JOB),
            tariff: bounded!(TariffServiceServer, Tariff, LARGEST_TARIFF),
            others: others.prepare(),
        }
    }
}

impl Service<Request<Body>> for Services {
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = BoxFuture<Response<Body>, Infallible>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        match service_of(request.uri().path()) {
            office_service_server::SERVICE_NAME => self.office.call(request),
            partner_service_server::SERVICE_NAME => self.partner.call(request),
            accountant_service_server::SERVICE_NAME => self.accountant.call(request),
            tariff_service_server::SERVICE_NAME => self.tariff.call(request),
            _ => Box::pin(self.others.call(request)),
        }
    }
}

/// The service in `/package.Service/Method`.
fn service_of(path: &str) -> &str {
    let service = path.strip_prefix('/').and_then(|path| path.split_once('/'));
    service.map_or("", |(service, _)| service)
}
