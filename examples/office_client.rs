//! The office as a client of a server: price a job, issue its quote, and lose nothing when an answer gets
//! lost on the way or two people work on one quote.
//!
//!     cargo run --example office_client
//!
//! It starts a server of its own, or asks the one at `EVENFARE_URL` as the holder of `EVENFARE_TOKEN`.

use std::env;
use std::error::Error;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use evenfare::wire::pb::{self, Date};
use tonic::metadata::{Ascii, MetadataValue};
use tonic::transport::Endpoint;
use tonic::{Request, Status};
use tonic_types::StatusExt;

/// What is missing where the server is right.
const MISSING: &str = "the answer lacks a field";

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let (url, token, _server) = match (env::var("EVENFARE_URL"), env::var("EVENFARE_TOKEN")) {
        (Ok(url), Ok(token)) => (url, token, None),
        _ => Server::start()?,
    };
    let bearer: MetadataValue<Ascii> = format!("Bearer {token}").parse()?;
    let channel = Endpoint::from_shared(url)?.connect().await?;
    let mut office = OfficeServiceClient::with_interceptor(channel, move |mut call: Request<()>| {
        call.metadata_mut().insert("authorization", bearer.clone());
        Ok::<_, Status>(call)
    });

    // A price alone: nothing is kept.
    let job = Some(job());
    let priced = office.price_job(pb::PriceJobRequest { job: job.clone(), ..Default::default() }).await?;
    let end = priced.into_inner().quote.and_then(|quote| quote.main?.end?.net).ok_or(MISSING)?;
    println!("end price   {} minor units of {}, before VAT", end.amount_minor, end.currency_code);

    // An answer can get lost. The request's id is one that no other request has, so that to ask again is safe.
    let issue = pb::IssueQuoteRequest { request_id: random_id()?, job, series: "DEMO".into() };
    let quote = office.issue_quote(issue.clone()).await?.into_inner().quote.ok_or(MISSING)?;
    let again = office.issue_quote(issue).await?.into_inner().quote.ok_or(MISSING)?;
    println!("issued      {}, and once more by the same request: {}", quote.number, again.number);
    assert_eq!(quote, again, "one request is done once");

    // A change names the etag it has seen.
    let accept = pb::AcceptQuoteRequest {
        request_id: random_id()?,
        number: quote.number.clone(),
        etag: quote.etag.clone(),
        offer: "main".into(),
        accepted: Some(Date { year: 2025, month: 7, day: 30 }),
    };
    let accepted = office.accept_quote(accept).await?.into_inner().quote.ok_or(MISSING)?;
    println!("state       {:?}", accepted.state());

    // Whoever has not seen that is told so, and nothing is changed.
    let decline = pb::DeclineQuoteRequest {
        request_id: random_id()?,
        number: quote.number.clone(),
        etag: quote.etag,
        ..pb::DeclineQuoteRequest::default()
    };
    let status = office.decline_quote(decline).await.err().ok_or("an old etag must be refused")?;
    let reason = status.get_details_error_info().map(|info| info.reason).unwrap_or_default();
    println!("old etag    {:?}, {reason}: {}", status.code(), status.message());

    // What the customer is sent comes in pieces, the first of them with its name.
    let document = pb::DocumentChoice {
        number: quote.number,
        kind: pb::DocumentKind::Quote.into(),
        format: if cfg!(feature = "pdf") { pb::DocumentFormat::Pdf } else { pb::DocumentFormat::Xml }.into(),
        ..pb::DocumentChoice::default()
    };
    let request = pb::GetDocumentRequest { document: Some(document), partner: String::new() };
    let mut pieces = office.get_document(request).await?.into_inner();
    let (mut head, mut bytes) = (None, Vec::new());
    while let Some(pb::GetDocumentResponse { piece }) = pieces.message().await? {
        let piece = piece.ok_or(MISSING)?;
        head = head.or(piece.head);
        bytes.extend(piece.content);
    }
    let head = head.ok_or(MISSING)?;
    assert_eq!(u64::try_from(bytes.len())?, head.size, "the document has come whole");
    println!("document    {}, {}", head.file_name, head.media_type);
    Ok(())
}

/// A proofer controller of a bakery in Romania, repaired at a fixed price.
fn job() -> pb::Job {
    pb::Job {
        reference: "J-2025-0107".into(),
        received: Some(Date { year: 2025, month: 7, day: 21 }),
        customer: Some(pb::Customer {
            name: "Coaja Aurie Panificație S.R.L.".into(),
            vat_id: Some("RO37769560".into()),
            business: true,
            postcode: "550024".into(),
            city: "Sibiu".into(),
            country_code: "RO".into(),
            ..pb::Customer::default()
        }),
        units: vec![pb::Unit {
            family: "PROOF-C6".into(),
            class: Some("major".into()),
            declared_value: "900".into(),
            parcels: vec![pb::Parcel {
                length_cm: "34".into(),
                width_cm: "26".into(),
                height_cm: "18".into(),
                weight_kg: "4.1".into(),
            }],
            findings: vec![pb::Finding { code: "CPU-HANG".into(), ..pb::Finding::default() }],
            ..pb::Unit::default()
        }],
        ..pb::Job::default()
    }
}

/// A server on a store in a folder of its own; both go away with it.
struct Server(Child, #[expect(dead_code, reason = "kept until the end")] tempfile::TempDir);

impl Server {
    fn start() -> Result<(String, String, Option<Self>), Box<dyn Error>> {
        let folder = tempfile::tempdir()?;
        let evenfare = |args: &[&str]| {
            let mut command = Command::new(env!("CARGO"));
            command.current_dir(env!("CARGO_MANIFEST_DIR")).args(["run", "--quiet", "--"]).args(args);
            command.arg("--database").arg(folder.path().join("evenfare.db")).stdout(Stdio::piped());
            command
        };
        let printed = |args: &[&str]| -> Result<Vec<u8>, Box<dyn Error>> {
            let output = evenfare(args).stderr(Stdio::inherit()).output()?;
            if output.status.success() {
                Ok(output.stdout)
            } else {
                Err(format!("evenfare {args:?} failed").into())
            }
        };
        printed(&["tariff", "publish", "examples/bakery/tariff"])?;
        let added = printed(&["caller", "add", "front-desk", "--role", "office", "--format", "json"])?;
        let added: serde_json::Value = serde_json::from_slice(&added)?;
        let token = added.get("token").and_then(|token| token.as_str()).ok_or("no token")?.to_owned();

        let mut server = evenfare(&["serve", "--listen", "127.0.0.1:0"]).stderr(Stdio::null()).spawn()?;
        let mut line = String::new();
        let out = server.stdout.take().ok_or("no output")?;
        let server = Self(server, folder);
        BufReader::new(out).read_line(&mut line)?;
        let url = line.trim().strip_prefix("listening on ").ok_or("the server did not start")?;
        Ok((url.to_owned(), token, Some(server)))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// An id for a request, 128 random bits.
fn random_id() -> Result<String, getrandom::Error> {
    let mut random = [0; 16];
    getrandom::fill(&mut random)?;
    Ok(format!("{:032x}", u128::from_ne_bytes(random)))
}
