//! The office's calls.

use std::sync::Arc;

use evenfare_engine::view::Reader;
use tonic::codegen::BoxStream;
use tonic::{Request, Response, Status, Streaming};

use super::ask;
use super::breadth::breadth;
use super::house::{House, who};
use super::pricing::{Pricing, edition, price, pricing, seen};
use super::refusal::Refusal;
use super::watching;
use crate::editions::problem;
use crate::wire::answer;
use crate::wire::answer::office_service_server::OfficeService;
use crate::wire::{WrittenQuote, pb};

/// The office's calls on what all services share.
pub(super) struct Office(pub(super) Arc<House>);

impl Office {
    async fn priced(&self, job: Option<pb::Job>, pricing: Pricing) -> Result<WrittenQuote, Refusal> {
        let published = self.0.editions.now();
        let breadth = job.as_ref().map_or(0, breadth);
        let priced = move || {
            let job = ask::priced(job.as_ref(), &published.tariffs)?;
            let edition = edition(&published.tariffs, &job)?;
            seen(price(&job, edition, &Reader::Office, pricing)?, &Reader::Office)
        };
        self.0.computed(None, breadth, priced).await
    }
}

#[tonic::async_trait]
impl OfficeService for Office {
    async fn price_job(
        &self,
        request: Request<pb::PriceJobRequest>,
    ) -> Result<Response<answer::PriceJobResponse>, Status> {
        let pb::PriceJobRequest { job, with_plan, with_working } = request.into_inner();
        let quote = self.priced(job, pricing(with_plan, with_working)).await?;
        Ok(Response::new(answer::PriceJobResponse { quote: Some(quote) }))
    }

    type PriceJobsStream = BoxStream<answer::PriceJobsResponse>;

    async fn price_jobs(
        &self,
        request: Request<Streaming<pb::PriceJobsRequest>>,
    ) -> Result<Response<Self::PriceJobsStream>, Status> {
        let (who, room) = (who(&request)?, self.0.room_for_a_stream()?);
        let office = Self(Arc::clone(&self.0));
        let jobs = request.into_inner();
        let answers = async_stream::try_stream! {
            let _room = room;
            let (mut jobs, mut index) = (jobs, 0_u64);
            loop {
                // Who sends nothing more for a while does not keep the server from ending.
                let next = tokio::select! {
                    next = jobs.message() => next,
                    refusal = office.0.stopped() => Err(Status::from(refusal)),
                };
                let Some(pb::PriceJobsRequest { job, with_plan, with_working }) = next? else { break };
                office.0.goes_on(&who).map_err(Status::from)?;
                let outcome = match office.priced(job, pricing(with_plan, with_working)).await {
                    Ok(quote) => answer::price_jobs_response::Outcome::Quote(quote),
                    Err(refusal) => answer::price_jobs_response::Outcome::Refusal(refusal.into()),
                };
                yield answer::PriceJobsResponse { index, outcome: Some(outcome) };
                index = index.saturating_add(1);
            }
        };
        Ok(Response::new(Box::pin(answers)))
    }

    async fn read_request(
        &self,
        request: Request<pb::ReadRequestRequest>,
    ) -> Result<Response<pb::ReadRequestResponse>, Status> {
        let pb::ReadRequestRequest { content } = request.into_inner();
        let published = self.0.editions.now();
        let desk = self.0.jobs.place().await?;
        let (job, told) = desk.work(move || ask::requested(&content, &published.tariffs)).await??;
        let problems = told.iter().map(|mistake| pb::Problem::from(&problem(mistake))).collect();
        Ok(Response::new(pb::ReadRequestResponse { job: Some((&job).into()), problems }))
    }

    async fn issue_quote(
        &self,
        request: Request<pb::IssueQuoteRequest>,
    ) -> Result<Response<answer::IssueQuoteResponse>, Status> {
        let who = who(&request)?;
        let quote = self.0.issue(&who, request.get_ref()).await?;
        Ok(Response::new(answer::IssueQuoteResponse { quote: Some(quote) }))
    }

    async fn revise_quote(
        &self,
        request: Request<pb::ReviseQuoteRequest>,
    ) -> Result<Response<answer::ReviseQuoteResponse>, Status> {
        let who = who(&request)?;
        let quote = self.0.revise(&who, request.get_ref()).await?;
        Ok(Response::new(answer::ReviseQuoteResponse { quote: Some(quote) }))
    }

    async fn reverse_quote(
        &self,
        request: Request<pb::ReverseQuoteRequest>,
    ) -> Result<Response<answer::ReverseQuoteResponse>, Status> {
        let who = who(&request)?;
        let quote = self.0.reverse(&who, request.get_ref()).await?;
        Ok(Response::new(answer::ReverseQuoteResponse { quote: Some(quote) }))
    }

    async fn accept_quote(
        &self,
        request: Request<pb::AcceptQuoteRequest>,
    ) -> Result<Response<answer::AcceptQuoteResponse>, Status> {
        let who = who(&request)?;
        let record = self.0.accept(&who, request.get_ref()).await?;
        Ok(Response::new(answer::AcceptQuoteResponse { quote: Some(self.0.told(record).await?) }))
    }

    async fn decline_quote(
        &self,
        request: Request<pb::DeclineQuoteRequest>,
    ) -> Result<Response<answer::DeclineQuoteResponse>, Status> {
        let who = who(&request)?;
        let record = self.0.decline(&who, request.get_ref()).await?;
        Ok(Response::new(answer::DeclineQuoteResponse { quote: Some(self.0.told(record).await?) }))
    }

    async fn issue_invoice(
        &self,
        request: Request<pb::IssueInvoiceRequest>,
    ) -> Result<Response<pb::IssueInvoiceResponse>, Status> {
        let who = who(&request)?;
        Ok(Response::new(self.0.issue_invoice(&who, request.get_ref()).await?))
    }

    async fn issue_credit_note(
        &self,
        request: Request<pb::IssueCreditNoteRequest>,
    ) -> Result<Response<pb::IssueCreditNoteResponse>, Status> {
        let who = who(&request)?;
        Ok(Response::new(self.0.issue_credit_note(&who, request.get_ref()).await?))
    }

    async fn get_invoice(
        &self,
        request: Request<pb::GetInvoiceRequest>,
    ) -> Result<Response<pb::GetInvoiceResponse>, Status> {
        let invoice = self.0.invoice(&Reader::Office, &request.get_ref().number).await?;
        Ok(Response::new(pb::GetInvoiceResponse { invoice: Some(invoice) }))
    }

    async fn list_invoices(
        &self,
        request: Request<pb::ListInvoicesRequest>,
    ) -> Result<Response<pb::ListInvoicesResponse>, Status> {
        let wire = request.into_inner();
        let (invoices, next_page_token) = self
            .0
            .invoices(&Reader::Office, None, wire.filter.as_ref(), wire.page_size, &wire.page_token)
            .await?;
        Ok(Response::new(pb::ListInvoicesResponse { invoices, next_page_token }))
    }

    async fn get_quote(
        &self,
        request: Request<pb::GetQuoteRequest>,
    ) -> Result<Response<answer::GetQuoteResponse>, Status> {
        let wire = request.into_inner();
        let quote = self.0.entry(&Reader::Office, None, &wire.number, wire.revision, wire.reversal).await?;
        Ok(Response::new(answer::GetQuoteResponse { quote: Some(quote) }))
    }

    async fn list_quotes(
        &self,
        request: Request<pb::ListQuotesRequest>,
    ) -> Result<Response<pb::ListQuotesResponse>, Status> {
        let wire = request.into_inner();
        let (quotes, next_page_token) = self
            .0
            .page(&Reader::Office, None, wire.filter.as_ref(), wire.page_size, &wire.page_token)
            .await?;
        Ok(Response::new(pb::ListQuotesResponse { quotes, next_page_token }))
    }

    type WatchQuotesStream = BoxStream<pb::WatchQuotesResponse>;

    async fn watch_quotes(
        &self,
        request: Request<pb::WatchQuotesRequest>,
    ) -> Result<Response<Self::WatchQuotesStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let after = ask::watched(&wire, self.0.store.last().await.map_err(Refusal::from)?)?;
        let events = watching::events(Arc::clone(&self.0), who, after, self.0.room_for_a_stream()?);
        Ok(Response::new(Box::pin(events)))
    }

    type GetDocumentStream = BoxStream<pb::GetDocumentResponse>;

    async fn get_document(
        &self,
        request: Request<pb::GetDocumentRequest>,
    ) -> Result<Response<Self::GetDocumentStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let of = |piece| pb::GetDocumentResponse { piece: Some(piece) };
        let pieces = self.0.document(&who, wire.document.as_ref(), &wire.partner, of).await?;
        Ok(Response::new(pieces))
    }
}
