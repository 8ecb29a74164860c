//! The partner portal's calls.

use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use evenfare_engine::MAIN;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::{Job, Stop};
use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;
use evenfare_files::Tariffs;
use evenfare_store::caller::Role;
use metrics::counter;
use tonic::codegen::BoxStream;
use tonic::{Request, Response, Status};

use super::ask;
use super::breadth::breadth;
use super::house::{House, today, who};
use super::metered::PARTNER_PRICES;
use super::pricing::{Pricing, edition, price, pricing, seen};
use super::refusal::{FIELD, Refusal, below};
use crate::wire::WrittenQuote;
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
        let house = Arc::clone(&self.0);
        let priced = move || {
            let quote = house.price_own_job(&wire, &published.tariffs, (&own, &reader), pricing);
            let outcome = match &quote {
                Ok(_) => "priced",
                Err(Refusal::AskTheOffice(_)) => "ask_the_office",
                Err(Refusal::UnderTheFloor(_)) => "under_the_floor",
                Err(Refusal::Withheld(..)) => "withheld",
                Err(_) => "refused",
            };
            counter!(PARTNER_PRICES, "outcome" => outcome).increment(1);
            quote
        };
        let quote = self.0.computed(who.room.as_ref(), breadth, priced).await?;
        Ok(Response::new(answer::PriceOwnJobResponse { quote: Some(quote) }))
    }

    async fn get_own_quote(
        &self,
        request: Request<pb::GetOwnQuoteRequest>,
    ) -> Result<Response<answer::GetOwnQuoteResponse>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let quote = self
            .0
            .entry(&who.reader(), who.room.as_ref(), &wire.number, wire.revision, wire.reversal)
            .await?;
        Ok(Response::new(answer::GetOwnQuoteResponse { quote: Some(quote) }))
    }

    async fn list_own_quotes(
        &self,
        request: Request<pb::ListOwnQuotesRequest>,
    ) -> Result<Response<pb::ListOwnQuotesResponse>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let (quotes, next_page_token) = self
            .0
            .page(&who.reader(), who.room.as_ref(), wire.filter.as_ref(), wire.page_size, &wire.page_token)
            .await?;
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
        let who = who(&request)?;
        let wire = request.into_inner();
        let (invoices, next_page_token) = self
            .0
            .invoices(
                &who.reader(),
                who.room.as_ref(),
                wire.filter.as_ref(),
                wire.page_size,
                &wire.page_token,
            )
            .await?;
        Ok(Response::new(pb::ListOwnInvoicesResponse { invoices, next_page_token }))
    }

    type GetOwnDocumentStream = BoxStream<pb::GetOwnDocumentResponse>;

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

impl House {
    /// A price of a partner, on the route that his edition has to him.
    fn price_own_job(
        &self,
        wire: &pb::PriceOwnJobRequest,
        tariffs: &Tariffs,
        (own, reader): (&Code, &Reader),
        pricing: Pricing,
    ) -> Result<WrittenQuote, Refusal> {
        let (job, takes_over) = ask::own(wire, tariffs).map_err(of_his_own)?;
        if job.received > today() {
            return Err(Refusal::problem(no_price_on(job.received)));
        }
        let edition = edition(tariffs, &job).map_err(of_his_own)?;
        let route = edition.route_to(own).ok_or(Refusal::NoRoute)?;
        let stop = |partner| {
            let takes_over = if partner == *own { takes_over.clone() } else { None };
            Stop { partner, takes_over }
        };
        let job = Job { route: route.into_iter().map(stop).collect(), ..job };
        let quote = self.price_of_his_own(&job, edition, (own, reader), pricing);
        seen(quote.map_err(of_his_own)?, reader)
    }

    /// The same, as far as he is told it. Scaled shares he is not: what he may take over is his to choose, so that a few
    /// prices would tell him what the workshop keeps, and what the partner before him does.
    fn price_of_his_own(
        &self,
        job: &Job,
        edition: &Edition,
        (partner, reader): (&Code, &Reader),
        pricing: Pricing,
    ) -> Result<Quote, Refusal> {
        let now = Instant::now();
        let families: Vec<&Code> = job.units.iter().map(|unit| &unit.family).collect();
        if let Some(left) = self.floor.withheld(partner, &families, now) {
            return Err(withheld(job, edition, reader, left));
        }
        let priced = price(job, edition, reader, pricing);
        let offers = match &priced {
            Ok(quote) if is_scaled(quote) => 1,
            Ok(quote) => quote.refused.len(),
            Err(Refusal::UnderTheFloor(_)) => 1,
            // What is wrong with a job does not depend on what it costs.
            Err(_) => return priced,
        };
        let counted = self.floor.counted(partner, &families, offers, now);
        if offers > 0 {
            let told = counted.is_ok();
            tracing::warn!(%partner, offers, of_the_day = counted.ok(), told, "refused by the floor");
        }
        match (counted, priced) {
            (Err(left), _) => Err(withheld(job, edition, reader, left)),
            (Ok(_), Ok(quote)) if is_scaled(&quote) => Err(Refusal::AskTheOffice(end_price_of(&quote))),
            (Ok(_), priced) => priced,
        }
    }
}

fn is_scaled(quote: &Quote) -> bool {
    quote.offers.iter().any(|offer| offer.flags.contains(&Flag::SharesScaled))
}

/// The end price of the job itself: which of its offers the floor refuses it does not tell.
fn end_price_of(quote: &Quote) -> Box<pb::RefusedOffer> {
    let end_net = quote.main().map(|main| pb::Money::of(main.end.net.minor(), quote.currency));
    Box::new(pb::RefusedOffer { id: MAIN.to_owned(), end_net, ..pb::RefusedOffer::default() })
}

/// The job is for the office. Nothing of it is priced by the route, so that neither the answer nor how long it takes
/// depends on what the floor would do; the end price is the same by any route, and by none.
fn withheld(job: &Job, edition: &Edition, reader: &Reader, left: Duration) -> Refusal {
    let mistakes = evenfare_engine::check(job, edition);
    if !mistakes.is_empty() {
        return Refusal::Input(below(FIELD, mistakes));
    }
    let direct = Job { route: Vec::new(), ..job.clone() };
    match price(&direct, edition, reader, evenfare_engine::brief) {
        Ok(quote) => Refusal::Withheld(end_price_of(&quote), left),
        // What cannot be priced by any route.
        Err(refusal) => refusal,
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

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use std::path::Path;

    use evenfare_files::{Folder, parse_job_for, parse_tariff};

    use super::*;

    const LEFT: Duration = Duration::from_secs(60);

    /// What a partner of the demo world is answered whose cheap job is withheld, where a euro is this many francs.
    fn withheld_in_francs(rate: &str, declared: &str) -> Refusal {
        let world = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
        let text = |path: &str| std::fs::read_to_string(world.join(path)).unwrap();
        let names = std::fs::read_dir(world.join("tariff/2026-01")).unwrap();
        let names = names.map(|entry| format!("2026-01/{}", entry.unwrap().file_name().to_str().unwrap()));
        let file = |name: String| {
            let mut text = text(&format!("tariff/{name}"));
            if name.ends_with("currency_rates.csv") {
                text.push_str(&format!("2026-03-01,CHF,{rate}\n"));
            }
            (name, text.into_bytes())
        };
        let files = names.chain(["chart.csv".to_owned()]).map(file);
        let tariffs = parse_tariff(&Folder::from_files("tariff", files)).unwrap();
        let job = text("jobs/08-floor-scales.toml").replacen("received", "currency = \"CHF\"\nreceived", 1);
        let job = job.replace("declared_value = \"800\"", &format!("declared_value = \"{declared}\""));
        let (job, _) = parse_job_for("job.toml", job.into_bytes(), &tariffs).unwrap();
        withheld(
            &job,
            tariffs.edition_for(&job).unwrap(),
            &Reader::Partner("P-WOERGL".parse().unwrap()),
            LEFT,
        )
    }

    #[test]
    fn a_withheld_job_has_its_end_price_or_what_is_wrong_with_it() {
        let Refusal::Withheld(offer, LEFT) = withheld_in_francs("1", "800") else { panic!() };
        let end_net = offer.end_net.unwrap();
        assert_eq!((offer.id.as_str(), end_net.currency_code.as_str()), (MAIN, "CHF"));
        assert!(end_net.amount_minor > 0, "{end_net:?}");
        let too_large = withheld_in_francs("1000000", "999999999");
        assert!(matches!(too_large, Refusal::OutOfRange("TOO_LARGE", _)), "{too_large:?}");
    }
}
