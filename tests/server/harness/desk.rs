//! The office's desk: what most tests of it begin with.

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;

use super::client::{Client, connect, job};
use super::process::Server;
use super::world::World;

/// A client of the office.
pub type Office = OfficeServiceClient<Client>;

/// Somebody of the office.
pub async fn office(world: &World, server: &Server) -> Office {
    OfficeServiceClient::new(connect(&server.url, &world.office).await)
}

/// A new world with a server of it, and somebody of the office.
pub async fn opened() -> (World, Server, Office) {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let office = office(&world, &server).await;
    (world, server, office)
}

/// A job of the demo world, to be issued.
pub fn issue(id: &str, name: &str) -> pb::IssueQuoteRequest {
    pb::IssueQuoteRequest { request_id: id.into(), job: Some(job(name)), series: String::new() }
}

/// The same, issued.
pub async fn issued(office: &mut Office, id: &str, name: &str) -> pb::KeptQuote {
    office.issue_quote(issue(id, name)).await.unwrap().into_inner().quote.unwrap()
}

/// An acceptance on the day of the quote.
pub fn accept(id: &str, kept: &pb::KeptQuote, offer: &str) -> pb::AcceptQuoteRequest {
    pb::AcceptQuoteRequest {
        request_id: id.into(),
        number: kept.number.clone(),
        etag: kept.etag.clone(),
        offer: offer.into(),
        accepted: kept.quote.as_ref().unwrap().quoted,
    }
}
