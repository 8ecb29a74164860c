//! stub
use super::callers::Callers;
use super::house::House;
use super::{access::AccessLayer, accountant::Accountant, office::Office, partner::Partner, tariff::Tariff};
use crate::wire::pb;
use std::sync::Arc;
use tonic::service::Routes;
/// x
pub async fn stub(store: Arc<dyn evenfare_store::Store>, listen: std::net::SocketAddr) {
    let (tx, rx) = tokio::sync::watch::channel(false);
    let callers = Arc::new(Callers::default());
    let house = House::open(store, Arc::clone(&callers), rx).await.unwrap();
    let _l = house.keep_looking();
    let (_r, health) = tonic_health::server::health_reporter();
    let routes = services(&house).add_service(health);
    let l = tokio::net::TcpListener::bind(listen).await.unwrap();
    println!("listening on http://{}", l.local_addr().unwrap());
    let inc = tokio_stream::wrappers::TcpListenerStream::new(l);
    tonic::transport::Server::builder()
        .layer(AccessLayer { callers })
        .add_routes(routes)
        .serve_with_incoming(inc)
        .await
        .unwrap();
    drop(tx);
}
/// Messages that hold a job: a small one grows a hundredfold when it is read.
const LARGEST_JOB: usize = 128 << 10;
/// Messages that hold the files of an edition.
const LARGEST_TARIFF: usize = 4 << 20;
/// Whatever is answered: a kept quote of many units is long.
const LARGEST_ANSWER: usize = 16 << 20;

fn services(house: &Arc<House>) -> Routes {
    use pb::accountant_service_server::AccountantServiceServer;
    use pb::office_service_server::OfficeServiceServer;
    use pb::partner_service_server::PartnerServiceServer;
    use pb::tariff_service_server::TariffServiceServer;
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
