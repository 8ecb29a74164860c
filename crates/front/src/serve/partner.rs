//! The partner portal's calls.

use std::sync::Arc;

use evenfare_engine::job::{Job, Stop};
use evenfare_engine::problem::{Place, Problem};
use evenfare_store::caller::Role;
use tonic::{Request, Response, Status};

use super::ask;
use super::house::{House, who};
use super::pricing::{apart, edition, price, seen};
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
        let (published, reader) = (self.0.editions.now(), who.reader());
        let units = wire.job.as_ref().map_or(0, |job| job.units.len());
        let priced = move || {
            let (job, takes_over) = ask::own(&wire, &published.tariffs)?;
            let edition = edition(&published.tariffs, &job)?;
            let route = edition.route_to(&own).ok_or(Refusal::NoRoute)?;
            let stop = |partner| {
                let takes_over = if partner == own { takes_over.clone() } else { None };
                Stop { partner, takes_over }
            };
            let job = Job { route: route.into_iter().map(stop).collect(), ..job };
            let quote = price(&job, edition, &reader, wire.with_working).map_err(of_his_own)?;
            seen(&quote, &reader)
        };
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

/// The route is not in what he has sent: what is wrong with his own stop stands in `takes_over`, and what is
/// wrong with the chain above him is not for him to read.
fn of_his_own(refusal: Refusal) -> Refusal {
    let Refusal::Input(problems) = refusal else { return refusal };
    let his_own = |problem: Problem| match problem.place.as_str().strip_prefix("job.route[") {
        None => Some(problem),
        Some(stop) => {
            let (_, below) = stop.split_once("].takes_over")?;
            Some(Problem { place: Place::field(&format!("takes_over{below}")), ..problem })
        }
    };
    let problems: Vec<Problem> = problems.into_iter().filter_map(his_own).collect();
    if problems.is_empty() { Refusal::NoRoute } else { Refusal::Input(problems) }
}
