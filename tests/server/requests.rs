//! Requests for quotation, from a portal's XML to a quote that is kept and its XML.

use std::path::Path;

use evenfare::wire::pb;
use evenfare_engine::job::Job;
use evenfare_files::read_job;
use evenfare_paper::ubl;
use tonic::{Code, Status};

use crate::harness::{Office, Server, World, job, office, opened, reason};

/// The request for a job of the demo world, as a portal sends it.
fn request(name: &str) -> String {
    let path = format!("examples/bakery/jobs/{name}.toml");
    let (job, _) = read_job(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    String::from_utf8(ubl::request(&job)).unwrap()
}

async fn read(office: &mut Office, xml: &str) -> Result<pb::ReadRequestResponse, Status> {
    let request = pb::ReadRequestRequest { content: xml.into() };
    Ok(office.read_request(request).await?.into_inner())
}

/// The XML of a quote.
async fn quotation(office: &mut Office, number: &str) -> String {
    let document = pb::DocumentChoice {
        number: number.into(),
        kind: pb::DocumentKind::Quote.into(),
        format: pb::DocumentFormat::Xml.into(),
        ..Default::default()
    };
    let asked = pb::GetDocumentRequest { document: Some(document), ..Default::default() };
    let mut pieces = office.get_document(asked).await.unwrap().into_inner();
    let mut bytes = Vec::new();
    while let Some(answer) = pieces.message().await.unwrap() {
        bytes.extend(answer.piece.unwrap().content);
    }
    String::from_utf8(bytes).unwrap()
}

#[tokio::test]
async fn a_request_becomes_a_quote_that_answers_it() {
    let (_world, _server, mut office) = opened().await;
    for name in ["02-two-partners", "03-reverse-charge", "10-uneconomic"] {
        let answer = read(&mut office, &request(name)).await.unwrap();
        assert_eq!(answer.problems, [], "{name}");
        let asked = answer.job.unwrap();
        assert_eq!(asked, job(name), "{name}: the job of the file");
        assert!(Job::try_from(asked.clone()).is_ok());

        let issue = pb::IssueQuoteRequest {
            request_id: format!("R-{name}"),
            job: Some(asked.clone()),
            series: String::new(),
        };
        let kept = office.issue_quote(issue).await.unwrap().into_inner().quote.unwrap();
        let xml = quotation(&mut office, &kept.number).await;
        assert!(xml.contains("<Quotation xmlns="), "{name}");
        let answers = "<cac:RequestForQuotationDocumentReference>\n    <cbc:ID>";
        assert!(xml.contains(&format!("{answers}{}</cbc:ID>", asked.reference)), "{name}");
        let main = kept.quote.as_ref().unwrap().main.as_ref().unwrap();
        let net = main.end.as_ref().unwrap().net.as_ref().unwrap();
        let digits = format!("{:03}", net.amount_minor);
        let (whole, cents) = digits.split_at(digits.len() - 2);
        let amount = format!(">{whole}.{cents}</cbc:TaxExclusiveAmount>");
        assert!(xml.contains(&amount), "{name}: {amount}");
    }
}

#[tokio::test]
async fn what_is_wrong_with_a_request_is_told_by_line_and_column() {
    let (_world, _server, mut office) = opened().await;
    let sound = request("02-two-partners");

    // What is no job is refused; what else is wrong with it by the tariff is told at the same time.
    let broken = sound.replacen("unitCode=\"KGM\"", "unitCode=\"LBR\"", 1).replacen(
        ">MIX-SP4</cbc:ID>",
        ">MIX-SP5</cbc:ID>",
        1,
    );
    let told = reason(&read(&mut office, &broken).await.unwrap_err());
    assert_eq!((told.code, &*told.reason), (Code::InvalidArgument, "INVALID_REQUEST"));
    assert_eq!(told.fields, [at(&broken, "\"LBR\">", 6), at(&broken, "MIX-SP5", 0)]);
    for xml in ["", "<a/>", "<a", "\u{0}"] {
        let told = reason(&read(&mut office, xml).await.unwrap_err());
        assert_eq!(&*told.reason, "INVALID_REQUEST", "{xml}");
        let places = told.fields.iter().all(|field| field.starts_with("request.xml:1:"));
        assert!(places && !told.fields.is_empty(), "{xml}: {:?}", told.fields);
    }

    // A job that the tariff does not price comes with why, and with what of the request was left out.
    let unknown = sound.replacen(">MIX-SP4</cbc:ID>", ">MIX-SP5</cbc:ID>", 1).replacen(
        "<cbc:IssueTime>",
        "<cbc:IssueTme>x</cbc:IssueTme><cbc:IssueTime>",
        1,
    );
    let answer = read(&mut office, &unknown).await.unwrap();
    let told: Vec<_> =
        answer.problems.iter().map(|problem| (&*problem.place, problem.severity(), &*problem.code)).collect();
    let (element, family) = (at(&unknown, "<cbc:IssueTme", 0), at(&unknown, "MIX-SP5", 0));
    assert_eq!(
        told,
        [
            (&*element, pb::Severity::Warning, "element_not_read"),
            (&*family, pb::Severity::Error, "unknown_family")
        ]
    );
    let price = pb::PriceJobRequest { job: answer.job, ..Default::default() };
    let told = reason(&office.price_job(price).await.unwrap_err());
    assert_eq!(told.fields, ["job.units[0].family"]);

    // No larger than any message with a job.
    let padded = |bytes: usize| format!("{sound}<!--{}-->", " ".repeat(bytes - sound.len()));
    assert!(read(&mut office, &padded(100 << 10)).await.is_ok());
    let status = read(&mut office, &padded(128 << 10)).await.unwrap_err();
    assert!(matches!(status.code(), Code::OutOfRange | Code::ResourceExhausted), "{status:?}");
}

/// It would be refused as soon as it is priced.
#[tokio::test]
async fn a_request_of_a_day_whose_edition_cannot_be_read_is_told_so() {
    let world = World::new();
    let file = rusqlite::Connection::open(&world.database).unwrap();
    file.execute_batch(
        "DROP TRIGGER editions_stay; UPDATE editions SET archive = x'00' WHERE code = '2026-07'",
    )
    .unwrap();
    let server = Server::start(&world.database, &[]);
    let mut office = office(&world, &server).await;
    let (closed, open) = (request("02-two-partners"), request("08-floor-scales"));
    let [closed, open] = [read(&mut office, &closed).await.unwrap(), read(&mut office, &open).await.unwrap()];
    assert!(open.problems.iter().all(|problem| problem.code != "edition_unreadable"), "{:?}", open.problems);
    let told: Vec<_> = closed.problems.iter().map(|problem| (problem.severity(), &*problem.code)).collect();
    assert_eq!(told, [(pb::Severity::Error, "edition_unreadable")]);
    assert!(closed.problems[0].place.starts_with("request.xml:"), "{:?}", closed.problems);
    let price = pb::PriceJobRequest { job: closed.job, ..Default::default() };
    assert_eq!(reason(&office.price_job(price).await.unwrap_err()).reason, "EDITION_UNREADABLE");
}

/// Line and column of the first of these words, and this many characters on.
fn at(xml: &str, words: &str, on: usize) -> String {
    let before = &xml[..xml.find(words).unwrap()];
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1 + on;
    format!("request.xml:{line}:{column}")
}
