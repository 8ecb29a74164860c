//! What an office asks in the course of a day, in one order.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use evenfare::wire::pb;
use evenfare_files::{read_job_for, read_tariff};
use prost::Message;
use tonic::client::Grpc;
use tonic::transport::Channel;

use super::load::Side;

/// Of twenty calls ten price, four issue, three fetch a quote, two list quotes and one asks for a document.
#[derive(Clone)]
pub struct Mix {
    job: Arc<pb::Job>,
    /// How many quotes there are, at the least.
    issued: Arc<AtomicUsize>,
    /// Ids of requests that nobody else has.
    requests: Arc<AtomicUsize>,
}

impl Mix {
    pub fn new(job: &Path, tariff: &Path) -> Self {
        let (job, _) = read_job_for(job, &read_tariff(tariff).unwrap()).unwrap();
        Self { job: Arc::new(pb::Job::from(&job)), issued: Arc::default(), requests: Arc::default() }
    }

    /// The call of that place in the order, and its answer.
    pub async fn call(&self, side: &Side, grpc: &mut Grpc<Channel>, place: usize) {
        let job = || Some((*self.job).clone());
        let issued = self.issued.load(Ordering::Relaxed);
        // Spread over all that were issued.
        let number = || format!("Q-2026-{:05}", 1 + place * 7_919 % issued);
        match place % 20 {
            kind @ (0..=9 | 14..=19) if kind < 10 || issued == 0 => {
                let ask = pb::PriceJobRequest { job: job(), ..pb::PriceJobRequest::default() };
                side.call(grpc, "/evenfare.v1.OfficeService/PriceJob", ask.encode_to_vec()).await;
            }
            10..=13 => {
                let request_id = format!("soak-{}", self.requests.fetch_add(1, Ordering::Relaxed));
                let ask = pb::IssueQuoteRequest { request_id, job: job(), series: String::new() };
                side.call(grpc, "/evenfare.v1.OfficeService/IssueQuote", ask.encode_to_vec()).await;
                self.issued.fetch_add(1, Ordering::Relaxed);
            }
            14..=16 => {
                let ask = pb::GetQuoteRequest { number: number(), ..pb::GetQuoteRequest::default() };
                side.call(grpc, "/evenfare.v1.OfficeService/GetQuote", ask.encode_to_vec()).await;
            }
            17 | 18 => {
                let ask = pb::ListQuotesRequest { page_size: 50, ..pb::ListQuotesRequest::default() };
                side.call(grpc, "/evenfare.v1.OfficeService/ListQuotes", ask.encode_to_vec()).await;
            }
            _ => {
                // PDF is a feature; the XML of a quote comes from every build.
                let document = pb::DocumentChoice {
                    number: number(),
                    kind: pb::DocumentKind::Quote.into(),
                    format: pb::DocumentFormat::Xml.into(),
                    ..pb::DocumentChoice::default()
                };
                let ask = pb::GetDocumentRequest { document: Some(document), partner: String::new() };
                let pieces = side.pieces(grpc, "/evenfare.v1.OfficeService/GetDocument", ask.encode_to_vec());
                assert_ne!(pieces.await, 0);
            }
        }
    }
}
