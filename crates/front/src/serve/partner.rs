//! The partner portal's calls.

use std::sync::Arc;

use evenfare_engine::job::{Job, Stop};
use evenfare_store::caller::Role;
use tonic::{Request, Response, Status};

use super::ask;
use super::house::{House, who};
use super::pricing::{apart, edition, price, pricing, seen};
use super::refusal::Refusal;
use crate::wire::pb;
use crate::wire::pb::partner_service_server::PartnerService;

/// The partner's calls on what all services share.
pub(super) struct Partner(pub(super) Arc<House>);

#[tonic::async_trait]
impl PartnerService for Partner {
    async fn price_own_job(
        &self,
        request: Request<pb::PriceOwnJobRequest>,
    ) -> Result<Response<pb::PriceOwnJobResponse>, Status> {
        let who = who(&request)?;
        let Role::Partner(own) = who.role.clone() else { return Err(Refusal::NoRoute.into()) };
        let wire = request.into_inner();
        let (job, takes_over) = ask::own(&wire)?;
        let pricing = pricing(wire.with_plan, wire.with_working);
        let (published, reader) = (self.0.editions.now(), who.reader());
        let priced = move || {
            let edition = edition(&published.tariffs, &job)?;
            let route = edition.route_to(&own).ok_or(Refusal::NoRoute)?;
            let stop = |partner| {
                let takes_over = if partner == own { takes_over.clone() } else { None };
                Stop { partner, takes_over }
            };
            let job = Job { route: route.into_iter().map(stop).collect(), ..job };
            seen(price(&job, edition, &reader, pricing)?, &reader)
        };
        let units = wire.job.as_ref().map_or(0, |job| job.units.len());
        let quote = apart(units, priced).await?;
        Ok(Response::new(pb::PriceOwnJobResponse { quote: Some(quote) }))
    }

    async fn get_own_quote(
        &self,
        request: Request<pb::GetOwnQuoteRequest>,
    ) -> Result<Response<pb::GetOwnQuoteResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let quote = self.0.entry(&reader, &wire.number, wire.revision, wire.reversal).await?;
        Ok(Response::new(pb::GetOwnQuoteResponse { quote: Some(quote) }))
    }

    async fn list_own_quotes(
        &self,
        request: Request<pb::ListOwnQuotesRequest>,
    ) -> Result<Response<pb::ListOwnQuotesResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let (quotes, next_page_token) =
            self.0.page(&reader, wire.filter.as_ref(), wire.page_size, &wire.page_token).await?;
        Ok(Response::new(pb::ListOwnQuotesResponse { quotes, next_page_token }))
    }
}
