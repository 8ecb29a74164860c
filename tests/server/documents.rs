//! Documents over the wire: whose they are, that they are the command's byte for byte, and what bounds them.
#![cfg(feature = "pdf")]

use std::time::Duration;

use evenfare::wire::pb;
use evenfare::wire::pb::DocumentKind::{
    self, Bench, CreditNote, Invoice, Office as OfficeSheet, Partner, Quote,
};
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use evenfare::wire::pb::partner_service_client::PartnerServiceClient;
use tonic::{Code, Request, Status};

use crate::harness::{
    Client, Office, Server, World, accept, command, connect, issued, office, opened, reason,
};

/// A document as a client has it.
struct Fetched {
    head: pb::DocumentHead,
    bytes: Vec<u8>,
}

/// Puts the pieces of a stream together.
macro_rules! whole {
    ($call:expr) => {
        async {
            let mut answers = $call.await?.into_inner();
            let (mut head, mut bytes) = (None, Vec::new());
            while let Some(answer) = answers.message().await? {
                let piece = answer.piece.unwrap();
                assert_eq!(piece.head.is_some(), head.is_none(), "the first says what it is");
                assert!(!piece.content.is_empty() && piece.content.len() <= 64 << 10);
                head = head.or(piece.head);
                bytes.extend(piece.content);
            }
            let head = head.unwrap();
            assert_eq!(head.size, bytes.len() as u64);
            Ok::<Fetched, Status>(Fetched { head, bytes })
        }
    };
}

fn choice(number: &str, kind: DocumentKind) -> pb::DocumentChoice {
    pb::DocumentChoice { number: number.into(), kind: kind.into(), ..Default::default() }
}

async fn for_office(
    office: &mut Office,
    choice: pb::DocumentChoice,
    partner: &str,
) -> Result<Fetched, Status> {
    let request = pb::GetDocumentRequest { document: Some(choice), partner: partner.into() };
    whole!(office.get_document(request)).await
}

async fn for_partner(
    portal: &mut PartnerServiceClient<Client>,
    choice: pb::DocumentChoice,
) -> Result<Fetched, Status> {
    whole!(portal.get_own_document(pb::GetOwnDocumentRequest { document: Some(choice) })).await
}

async fn for_books(
    books: &mut AccountantServiceClient<Client>,
    choice: pb::DocumentChoice,
    partner: &str,
) -> Result<Fetched, Status> {
    let request = pb::ReadDocumentRequest { document: Some(choice), partner: partner.into() };
    whole!(books.read_document(request)).await
}

/// What the command writes of the same number.
fn by_command(world: &World, line: &str) -> Vec<u8> {
    let args = line.split(' ').chain(["-o", "-", "--database", &world.database]);
    let output = command().arg("paper").args(args).output().unwrap();
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// The quote of a job, its invoice, and the credit note of that.
async fn billed(office: &mut Office, job: &str) -> [String; 3] {
    let id = |step: &str| format!("{step}-{job}");
    let quote = issued(office, &id("R"), job).await;
    let quote =
        office.accept_quote(accept(&id("A"), &quote, "main")).await.unwrap().into_inner().quote.unwrap();
    let due = Some(pb::Date { year: 2099, month: 12, day: 31 });
    let (request_id, quote_number, etag) = (id("I"), quote.number.clone(), quote.etag);
    let issue =
        pb::IssueInvoiceRequest { request_id, quote_number, etag, due, series: String::new(), issued: None };
    let invoice = office.issue_invoice(issue).await.unwrap().into_inner().invoice.unwrap().number;
    let credit = pb::IssueCreditNoteRequest {
        request_id: id("C"),
        invoice_number: invoice.clone(),
        ..Default::default()
    };
    let note = office.issue_credit_note(credit).await.unwrap().into_inner().credit_note.unwrap().number;
    [quote.number, invoice, note]
}

#[tokio::test]
async fn each_has_the_documents_that_are_his_byte_for_byte() {
    let (world, server, mut office) = opened().await;
    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let [mut brzeg, mut olom, mut woergl] = [
        PartnerServiceClient::new(connect(&server.url, &world.brzeg).await),
        PartnerServiceClient::new(connect(&server.url, &world.olom).await),
        PartnerServiceClient::new(connect(&server.url, &world.woergl).await),
    ];
    // By P-BRZEG and P-OLOM.
    let [quote, invoice, note] = billed(&mut office, "02-two-partners").await;
    let none = "Q-1999-00001";

    // Kind, number; does P-BRZEG have it, does P-OLOM?
    for (kind, number, brzeg_has, olom_has) in [
        (Quote, &quote, false, true),
        (OfficeSheet, &quote, false, false),
        (Bench, &quote, false, false),
        (Invoice, &invoice, true, false),
        (CreditNote, &note, true, false),
    ] {
        let word = kind.as_str_name().trim_start_matches("DOCUMENT_KIND_").to_lowercase().replace('_', "-");
        let expected = by_command(&world, &format!("{number} --kind {word}"));
        if number != &quote || kind == Quote {
            assert!(by_command(&world, number) == expected, "{word}: a number says by itself what it is of");
        }
        let fetched = for_office(&mut office, choice(number, kind), "").await.unwrap();
        assert!(fetched.bytes == expected, "{word}: the office has what the command writes");
        assert_eq!(fetched.head.media_type, "application/pdf");
        assert!(fetched.head.file_name.starts_with(number.as_str()), "{}", fetched.head.file_name);
        assert_eq!(fetched.head.without_xml, "", "{word}");
        let read = for_books(&mut books, choice(number, kind), "").await.unwrap();
        assert!(read.bytes == expected, "{word}: the accountant reads the same");
        for (portal, has) in [(&mut brzeg, brzeg_has), (&mut olom, olom_has)] {
            match (for_partner(portal, choice(number, kind)).await, has) {
                (Ok(own), true) => assert!(own.bytes == expected, "{word}: a partner has the same"),
                (Err(status), false) => assert_eq!(status.code(), Code::NotFound, "{word}: {status}"),
                (outcome, _) => panic!("{word}: {:?}", outcome.map(|fetched| fetched.head)),
            }
        }
        // Who is on none of it learns nothing, not even that there is such a number.
        let foreign = for_partner(&mut woergl, choice(number, kind)).await.err().unwrap();
        let unknown = for_partner(&mut woergl, choice(none, kind)).await.err().unwrap();
        assert_eq!((foreign.code(), foreign.message()), (Code::NotFound, unknown.message()), "{word}");
        assert_eq!(foreign.details(), unknown.details(), "{word}");
    }

    // Each partner his own sheet, and the office either.
    let [first, second] = ["P-BRZEG", "P-OLOM"]
        .map(|code| by_command(&world, &format!("{quote} --kind partner --as partner:{code}")));
    assert!(first != second);
    for (portal, own, code) in [(&mut brzeg, &first, "P-BRZEG"), (&mut olom, &second, "P-OLOM")] {
        assert!(for_partner(portal, choice(&quote, Partner)).await.unwrap().bytes == *own, "{code}");
        assert!(
            for_office(&mut office, choice(&quote, Partner), code).await.unwrap().bytes == *own,
            "{code}"
        );
    }
    let which = reason(&for_office(&mut office, choice(&quote, Partner), "").await.err().unwrap());
    assert_eq!((which.reason.as_str(), which.fields), ("INVALID_INPUT", vec!["partner".to_owned()]));
    let foreign = for_office(&mut office, choice(&quote, Partner), "P-WOERGL").await.err().unwrap();
    assert_eq!(reason(&foreign).reason, "NO_SUCH_DOCUMENT");
    let other = for_office(&mut office, choice(&invoice, CreditNote), "").await.err().unwrap();
    assert_eq!(reason(&other).reason, "NO_SUCH_DOCUMENT");
    let other = for_office(&mut office, choice(&quote, Invoice), "").await.err().unwrap();
    assert_eq!(reason(&other).reason, "NO_SUCH_INVOICE");

    let in_german = pb::DocumentChoice { language_code: "de".into(), ..choice(&quote, Quote) };
    let fetched = for_office(&mut office, in_german, "").await.unwrap();
    assert_eq!(fetched.head.file_name, format!("{quote}-1-quote-de.pdf"));
    assert!(fetched.bytes == by_command(&world, &format!("{quote} --language de")));

    // XML, of each sale to who buys by it.
    let xml = |number: &str, kind| pb::DocumentChoice {
        format: pb::DocumentFormat::Xml.into(),
        ..choice(number, kind)
    };
    for (number, kind, root, ending) in [
        (&quote, Quote, "Quotation", "-1-quote.xml"),
        (&invoice, Invoice, "Invoice", "-invoice.xml"),
        (&note, CreditNote, "CreditNote", "-credit-note.xml"),
    ] {
        let fetched = for_office(&mut office, xml(number, kind), "").await.unwrap();
        assert_eq!(fetched.head.media_type, "application/xml");
        assert_eq!(fetched.head.file_name, format!("{number}{ending}"));
        let text = String::from_utf8(fetched.bytes).unwrap();
        let tree = roxmltree::Document::parse(&text).unwrap();
        assert_eq!(tree.root_element().tag_name().name(), root);
    }
}

/// What the command says where it writes nothing.
fn refused(world: &World, line: &str) -> String {
    let args = line.split(' ').chain(["-o", "-", "--database", &world.database]);
    let output = command().arg("paper").args(args).output().unwrap();
    assert_eq!((output.status.code(), output.stdout.len()), (Some(64), 0), "{line}");
    String::from_utf8(output.stderr).unwrap()
}

#[tokio::test]
async fn a_customer_has_the_invoice_of_what_he_buys_and_no_other() {
    let (world, _server, mut office) = opened().await;
    let [_, invoice, note] = billed(&mut office, "02-two-partners").await;
    let none = "R-1999-00001";
    for (number, kind, other) in [(&invoice, "invoice", "credit-note"), (&note, "credit-note", "invoice")] {
        for asked in ["", " --kind invoice", " --kind credit-note", " --format xml"] {
            let unknown = refused(&world, &format!("{none}{asked} --as customer"));
            for reader in ["customer", "partner:P-OLOM"] {
                let told = refused(&world, &format!("{number}{asked} --as {reader}"));
                assert_eq!(told.replace(number.as_str(), none), unknown, "{reader}, {number}{asked}");
            }
        }
        let buys = by_command(&world, &format!("{number} --as partner:P-BRZEG"));
        assert!(buys == by_command(&world, &format!("{number} --kind {kind} --as accountant")));
        assert!(refused(&world, &format!("{number} --kind {other}")).contains(kind));
    }

    let [_, invoice, note] = billed(&mut office, "01-direct-oven").await;
    for number in [invoice, note] {
        let his = by_command(&world, &format!("{number} --as customer"));
        assert!(his == by_command(&world, &number), "{number}: the customer buys it of the workshop");
    }
}

#[tokio::test]
async fn everything_wrong_with_a_choice_is_told_at_once() {
    let (_world, _server, mut office) = opened().await;
    let empty = office.get_document(pb::GetDocumentRequest::default()).await.unwrap_err();
    assert_eq!(reason(&empty).fields, ["document"]);
    let wrong = pb::DocumentChoice {
        number: "Q-1".into(),
        reversal: true,
        kind: 9,
        format: 9,
        language_code: "xx".into(),
        offer: "no code".into(),
        ..Default::default()
    };
    let told = reason(&for_office(&mut office, wrong, "P 1").await.err().unwrap());
    let fields = ["number", "revision", "kind", "format", "language_code", "offer"];
    let mut expected: Vec<String> = fields.iter().map(|field| format!("document.{field}")).collect();
    expected.push("partner".to_owned());
    assert_eq!((told.code, told.fields), (Code::InvalidArgument, expected));
    for (choice, partner, field) in [
        (pb::DocumentChoice { format: 2, ..choice("Q-2026-00001", Bench) }, "", "document.format"),
        (
            pb::DocumentChoice { offer: "main".into(), ..choice("Q-2026-00001", OfficeSheet) },
            "",
            "document.offer",
        ),
        (choice("Q-2026-00001", Quote), "P-OLOM", "partner"),
    ] {
        let told = reason(&for_office(&mut office, choice, partner).await.err().unwrap());
        assert_eq!(told.fields, [field]);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn many_at_once_are_made_and_one_who_does_not_wait_is_let_go() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut first = office(&world, &server).await;
    let number = issued(&mut first, "R-1", "01-direct-oven").await.number;
    let expected = for_office(&mut first, choice(&number, Quote), "").await.unwrap().bytes;
    // Whoever never reads what he asked for is in nobody's way.
    let asked = pb::GetDocumentRequest { document: Some(choice(&number, Quote)), partner: String::new() };
    let unread = first.get_document(asked.clone()).await.unwrap();
    let mut hasty = Request::new(asked);
    hasty.set_timeout(Duration::from_millis(1));
    let late = first.get_document(hasty).await.err().unwrap();
    assert!([Code::DeadlineExceeded, Code::Cancelled].contains(&late.code()), "{late}");

    let calls: Vec<_> = (0..20)
        .map(|_| {
            let (url, token, number) = (server.url.clone(), world.office.clone(), number.clone());
            tokio::spawn(async move {
                let mut office = OfficeServiceClient::new(connect(&url, &token).await);
                for_office(&mut office, choice(&number, Quote), "").await.unwrap().bytes
            })
        })
        .collect();
    for call in calls {
        assert!(call.await.unwrap() == expected, "the same bytes for all");
    }
    drop(unread);
}
