//! The partner portal's calls.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::{Job, Stop};
use evenfare_engine::problem::{Place, Problem};
use evenfare_store::caller::Role;
use tonic::{Request, Response, Status};

use super::ask;
use super::breadth::breadth;
use super::documents::Pieces;
use super::house::{House, today, who};
use super::pricing::{edition, price, pricing, seen};
use super::refusal::{FIELD, Refusal};
use crate::wire::answer;
use crate::wire::answer::partner_service_server::PartnerService;
use crate::wire::pb;

/// The partner's calls on what all services share.
pub(super) struct Partner(pub(super) Arc<House>);

#[tonic::async_trait]
impl PartnerService for Partner {
    async fn price_own_job(
        &self,
        request: Request<pb::PriceOwnJobRequest>,
    ) -> Result<Response<answer::PriceOwnJobResponse>, Status> {
        let who = who(&request)?;
        let Role::Partner(own) = who.role.clone() else { return Err(Refusal::NoRoute.into()) };
        let wire = request.into_inner();
        let pricing = pricing(wire.with_plan, wire.with_working);
        let (published, reader) = (self.0.editions.now(), who.reader());
        let breadth = wire.job.as_ref().map_or(0, breadth);
        let priced = move || {
            let (job, takes_over) = ask::own(&wire, &published.tariffs).map_err(of_his_own)?;
            if job.received > today() {
                return Err(Refusal::problem(no_price_on(job.received)));
            }
            let edition = edition(&published.tariffs, &job).map_err(of_his_own)?;
            let route = edition.route_to(&own).ok_or(Refusal::NoRoute)?;
            let stop = |partner| {
                let takes_over = if partner == own { takes_over.clone() } else { None };
                Stop { partner, takes_over }
            };
            let job = Job { route: route.into_iter().map(stop).collect(), ..job };
            let quote = price(&job, edition, &reader, pricing).map_err(of_his_own)?;
            match quote.offers.iter().find(|offer| offer.flags.contains(&Flag::SharesScaled)) {
                // What he may take over is his to choose, so that a few prices would tell him what the workshop
                // keeps, and what the partner before him does.
                Some(offer) => Err(Refusal::AskTheOffice(Box::new(pb::RefusedOffer {
                    id: offer.id.to_string(),
                    end_net: Some(pb::Money::of(offer.end.net.minor(), quote.currency)),
                    ..pb::RefusedOffer::default()
                }))),
                None => seen(quote, &reader),
            }
        };
        let quote = self.0.computed(who.room.as_ref(), breadth, priced).await?;
        Ok(Response::new(answer::PriceOwnJobResponse { quote: Some(quote) }))
    }

    async fn get_own_quote(
        &self,
        request: Request<pb::GetOwnQuoteRequest>,
    ) -> Result<Response<answer::GetOwnQuoteResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let quote = self.0.entry(&reader, &wire.number, wire.revision, wire.reversal).await?;
        Ok(Response::new(answer::GetOwnQuoteResponse { quote: Some(quote) }))
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

    async fn get_own_invoice(
        &self,
        request: Request<pb::GetOwnInvoiceRequest>,
    ) -> Result<Response<pb::GetOwnInvoiceResponse>, Status> {
        let reader = who(&request)?.reader();
        let invoice = self.0.invoice(&reader, &request.get_ref().number).await?;
        Ok(Response::new(pb::GetOwnInvoiceResponse { invoice: Some(invoice) }))
    }

    async fn list_own_invoices(
        &self,
        request: Request<pb::ListOwnInvoicesRequest>,
    ) -> Result<Response<pb::ListOwnInvoicesResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let (invoices, next_page_token) =
            self.0.invoices(&reader, wire.filter.as_ref(), wire.page_size, &wire.page_token).await?;
        Ok(Response::new(pb::ListOwnInvoicesResponse { invoices, next_page_token }))
    }

    type GetOwnDocumentStream = Pieces<pb::GetOwnDocumentResponse>;

    async fn get_own_document(
        &self,
        request: Request<pb::GetOwnDocumentRequest>,
    ) -> Result<Response<Self::GetOwnDocumentStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let of = |piece| pb::GetOwnDocumentResponse { piece: Some(piece) };
        let pieces = self.0.document(&who, wire.document.as_ref(), "", of).await?;
        Ok(Response::new(pieces))
    }
}

/// Which editions there are, and from when, is the office's to know.
fn no_price_on(day: NaiveDate) -> Problem {
    let expected = "a day on which the workshop has a tariff, today or before";
    Problem::error(Place::field(FIELD).at("received"), "no_edition", day, expected)
}

/// The route is not in what he has sent: what is wrong with his own stop stands in `takes_over`, and what is
/// wrong with the chain above him is not for him to read.
fn of_his_own(refusal: Refusal) -> Refusal {
    let Refusal::Input(problems) = refusal else { return refusal };
    let his_own = |problem: Problem| match problem.place.as_str().strip_prefix("job.route[") {
        None if problem.code == "no_edition" => problem.found.parse().ok().map(no_price_on),
        None => Some(problem),
        Some(stop) => {
            let (_, below) = stop.split_once("].takes_over")?;
            Some(Problem { place: Place::field(&format!("takes_over{below}")), ..problem })
        }
    };
    let problems: Vec<Problem> = problems.into_iter().filter_map(his_own).collect();
    if problems.is_empty() { Refusal::NoRoute } else { Refusal::Input(problems) }
}
