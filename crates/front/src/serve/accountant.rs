//! The accountant's calls.

use std::sync::Arc;

use chrono::{Days, NaiveTime};
use tonic::codegen::BoxStream;
use tonic::{Request, Response, Status, Streaming};

use super::ask;
use super::house::{House, who};
use super::refusal::Refusal;
use super::watching;
use crate::wire::answer;
use crate::wire::answer::accountant_service_server::AccountantService;
use crate::wire::pb;

/// The accountant's calls on what all services share.
pub(super) struct Accountant(pub(super) Arc<House>);

#[tonic::async_trait]
impl AccountantService for Accountant {
    async fn read_quote(
        &self,
        request: Request<pb::ReadQuoteRequest>,
    ) -> Result<Response<answer::ReadQuoteResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let quote = self.0.entry(&reader, None, &wire.number, wire.revision, wire.reversal).await?;
        Ok(Response::new(answer::ReadQuoteResponse { quote: Some(quote) }))
    }

    async fn read_quotes(
        &self,
        request: Request<pb::ReadQuotesRequest>,
    ) -> Result<Response<pb::ReadQuotesResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let (quotes, next_page_token) =
            self.0.page(&reader, None, wire.filter.as_ref(), wire.page_size, &wire.page_token).await?;
        Ok(Response::new(pb::ReadQuotesResponse { quotes, next_page_token }))
    }

    async fn read_invoice(
        &self,
        request: Request<pb::ReadInvoiceRequest>,
    ) -> Result<Response<pb::ReadInvoiceResponse>, Status> {
        let reader = who(&request)?.reader();
        let invoice = self.0.invoice(&reader, &request.get_ref().number).await?;
        Ok(Response::new(pb::ReadInvoiceResponse { invoice: Some(invoice) }))
    }

    async fn read_invoices(
        &self,
        request: Request<pb::ReadInvoicesRequest>,
    ) -> Result<Response<pb::ReadInvoicesResponse>, Status> {
        let reader = who(&request)?.reader();
        let wire = request.into_inner();
        let (invoices, next_page_token) =
            self.0.invoices(&reader, None, wire.filter.as_ref(), wire.page_size, &wire.page_token).await?;
        Ok(Response::new(pb::ReadInvoicesResponse { invoices, next_page_token }))
    }

    type ExportPeriodStream = BoxStream<answer::ExportPeriodResponse>;

    async fn export_period(
        &self,
        request: Request<pb::ExportPeriodRequest>,
    ) -> Result<Response<Self::ExportPeriodStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let (from, until) = ask::period(wire.from.as_ref(), wire.until.as_ref())?;
        let begin = from.and_time(NaiveTime::MIN).and_utc();
        // The last day of the calendar has none after it.
        let after = until.checked_add_days(Days::new(1)).unwrap_or(until);
        let end = after.and_time(NaiveTime::MIN).and_utc();
        // Looking for the days reads the moments of all events.
        let room = self.0.room_for_a_stream()?;
        let span = self.0.store.between(begin, end).await.map_err(Refusal::from)?;
        let also = watching::Also { working: wire.with_working, invoices: wire.with_invoices };
        let span = watching::Span { sequences: span, moments: begin..end };
        let records = watching::span(Arc::clone(&self.0), who, span, also, room);
        Ok(Response::new(Box::pin(records)))
    }

    type ReadDocumentStream = BoxStream<pb::ReadDocumentResponse>;

    async fn read_document(
        &self,
        request: Request<pb::ReadDocumentRequest>,
    ) -> Result<Response<Self::ReadDocumentStream>, Status> {
        let who = who(&request)?;
        let wire = request.into_inner();
        let of = |piece| pb::ReadDocumentResponse { piece: Some(piece) };
        let pieces = self.0.document(&who, wire.document.as_ref(), &wire.partner, of).await?;
        Ok(Response::new(pieces))
    }

    type ReconcileStream = BoxStream<pb::ReconcileResponse>;

    async fn reconcile(
        &self,
        request: Request<Streaming<pb::ReconcileRequest>>,
    ) -> Result<Response<Self::ReconcileStream>, Status> {
        let who = who(&request)?;
        Ok(Response::new(self.0.reconcile(who, request.into_inner()).await?))
    }

    type CloseMonthStream = BoxStream<pb::CloseMonthResponse>;

    async fn close_month(
        &self,
        request: Request<Streaming<pb::CloseMonthRequest>>,
    ) -> Result<Response<Self::CloseMonthStream>, Status> {
        let who = who(&request)?;
        Ok(Response::new(self.0.close_month(who, request.into_inner()).await?))
    }
}
