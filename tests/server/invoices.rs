//! Invoices over the wire: issued, taken back, read by those whom they are of.

use chrono::{Datelike, NaiveDate, Utc};
use evenfare::serve::database::Database;
use evenfare::wire::pb;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare::wire::pb::partner_service_client::PartnerServiceClient;
use evenfare_store::Sight;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::invoice::Sale;
use evenfare_store::number::Series;
use tonic::Code;

use crate::harness::{Office, accept, audit, connect, evenfare, issued, job, opened, reason};

fn date(day: NaiveDate) -> Option<pb::Date> {
    let (month, day_of_month) = (i32::try_from(day.month()).unwrap(), i32::try_from(day.day()).unwrap());
    Some(pb::Date { year: day.year(), month, day: day_of_month })
}

fn today() -> NaiveDate {
    Utc::now().date_naive()
}

async fn accepted(office: &mut Office, id: &str, name: &str) -> pb::KeptQuote {
    accepted_job(office, id, job(name)).await
}

async fn accepted_job(office: &mut Office, id: &str, job: pb::Job) -> pb::KeptQuote {
    let request = pb::IssueQuoteRequest { request_id: id.into(), job: Some(job), series: String::new() };
    let quote = office.issue_quote(request).await.unwrap().into_inner().quote.unwrap();
    let accept = accept(&format!("A-{id}"), &quote, "main");
    office.accept_quote(accept).await.unwrap().into_inner().quote.unwrap()
}

fn invoice(id: &str, quote: &pb::KeptQuote) -> pb::IssueInvoiceRequest {
    pb::IssueInvoiceRequest {
        request_id: id.into(),
        quote_number: quote.number.clone(),
        etag: quote.etag.clone(),
        series: String::new(),
        issued: None,
        due: date(today() + chrono::Days::new(14)),
    }
}

fn credit(id: &str, number: &str) -> pb::IssueCreditNoteRequest {
    pb::IssueCreditNoteRequest {
        request_id: id.into(),
        invoice_number: number.into(),
        series: String::new(),
        issued: None,
        reason: "wrong buyer".into(),
    }
}

#[tokio::test]
async fn an_invoice_charges_what_was_accepted_and_a_credit_note_takes_it_back() {
    let (world, _server, mut office) = opened().await;
    let open = issued(&mut office, "R-0", "02-two-partners").await;
    let told = reason(&office.issue_invoice(invoice("I-0", &open)).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "NOT_ACCEPTED"));

    let quote = accepted(&mut office, "R-1", "02-two-partners").await;
    let request = invoice("I-1", &quote);
    let told = office.issue_invoice(request.clone()).await.unwrap().into_inner().invoice.unwrap();
    let sale = &quote.quote.as_ref().unwrap().main.as_ref().unwrap().sales[0];
    assert_eq!((&told.net, &told.gross), (&sale.net, &sale.gross));
    assert_eq!((told.kind(), told.partner.as_deref()), (pb::InvoiceKind::Invoice, Some("P-BRZEG")));
    let year = today().year();
    assert_eq!(told.number, format!("R-{year}-00001"));
    assert_eq!((told.quote_number.as_str(), told.revision, told.offer.as_str()), (&*quote.number, 1, "main"));
    assert_eq!((told.issued, told.due), (date(today()), request.due));

    // The same request is answered the same, also where it could no longer be carried out; another is refused.
    let again = office.issue_invoice(request.clone()).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(again, told);
    let other = pb::IssueInvoiceRequest { series: "GA".into(), ..request.clone() };
    assert_eq!(reason(&office.issue_invoice(other).await.unwrap_err()).reason, "REQUEST_ID_REUSED");
    let twice = reason(&office.issue_invoice(invoice("I-2", &quote)).await.unwrap_err());
    assert_eq!(twice.reason, "ALREADY_INVOICED");

    let reverse = pb::ReverseQuoteRequest {
        request_id: "B-1".into(),
        number: quote.number.clone(),
        etag: quote.etag.clone(),
        reason: String::new(),
    };
    office.reverse_quote(reverse).await.unwrap();
    let again = office.issue_invoice(request).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(again, told);

    let request = credit("C-1", &told.number);
    let note = office.issue_credit_note(request.clone()).await.unwrap().into_inner().credit_note.unwrap();
    assert_eq!((note.kind(), note.preceding.as_deref()), (pb::InvoiceKind::CreditNote, Some(&*told.number)));
    let minor = |money: &Option<pb::Money>| money.as_ref().unwrap().amount_minor;
    assert_eq!((minor(&note.net), minor(&note.gross)), (-minor(&told.net), -minor(&told.gross)));
    assert_eq!((note.due, note.reason.as_str()), (None, "wrong buyer"));
    let again = office.issue_credit_note(request).await.unwrap().into_inner().credit_note.unwrap();
    assert_eq!(again, note);
    for (request, expected) in [
        (credit("C-2", &told.number), "ALREADY_CREDITED"),
        (credit("C-3", &note.number), "NOT_AN_INVOICE"),
        (credit("C-4", "R-2026-00099"), "NO_SUCH_INVOICE"),
    ] {
        assert_eq!(reason(&office.issue_credit_note(request).await.unwrap_err()).reason, expected);
    }
    let get = pb::GetInvoiceRequest { number: told.number.clone() };
    let kept = office.get_invoice(get).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(kept, pb::Invoice { credit_note: Some(note.number.clone()), ..told });

    let (whole, found) = audit(&world.database);
    assert!(whole, "{found}");
    assert_eq!((&found["invoices"], &found["entries"]), (&2.into(), &3.into()));
}

#[tokio::test]
async fn where_no_day_is_said_an_invoice_is_due_by_the_letterhead() {
    let (_world, _server, mut office) = opened().await;
    let quote = accepted(&mut office, "R-1", "01-direct-oven").await;
    let unsaid = pb::IssueInvoiceRequest { due: None, ..invoice("I-1", &quote) };
    let told = office.issue_invoice(unsaid.clone()).await.unwrap().into_inner().invoice.unwrap();
    // `payment_days` of the demo's letterhead.toml.
    assert_eq!((told.issued, told.due), (date(today()), date(today() + chrono::Days::new(14))));
    let again = office.issue_invoice(unsaid).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(again, told);
}

#[tokio::test]
async fn everything_wrong_with_a_request_is_told_at_once() {
    let (_world, _server, mut office) = opened().await;
    let empty = reason(&office.issue_invoice(pb::IssueInvoiceRequest::default()).await.unwrap_err());
    assert_eq!(empty.fields, ["request_id", "quote_number", "etag"]);
    let ahead = pb::IssueInvoiceRequest {
        series: "r 1".into(),
        issued: date(today() + chrono::Days::new(2)),
        ..pb::IssueInvoiceRequest::default()
    };
    let ahead = reason(&office.issue_invoice(ahead).await.unwrap_err());
    assert_eq!(ahead.fields, ["request_id", "quote_number", "etag", "series", "issued"]);
    let empty = reason(&office.issue_credit_note(pb::IssueCreditNoteRequest::default()).await.unwrap_err());
    assert_eq!(empty.fields, ["request_id", "invoice_number"]);
    let quote = accepted(&mut office, "R-1", "01-direct-oven").await;
    let past = pb::IssueInvoiceRequest { due: date(today().pred_opt().unwrap()), ..invoice("I-1", &quote) };
    assert_eq!(reason(&office.issue_invoice(past).await.unwrap_err()).reason, "DUE_BEFORE_ISSUE");
    let of_quotes = pb::IssueInvoiceRequest { series: "Q".into(), ..invoice("I-1", &quote) };
    assert_eq!(reason(&office.issue_invoice(of_quotes).await.unwrap_err()).reason, "SERIES_IN_USE");
    let stale = pb::IssueInvoiceRequest { etag: Digest::ZERO.to_string(), ..invoice("I-1", &quote) };
    assert_eq!(reason(&office.issue_invoice(stale).await.unwrap_err()).reason, "ETAG_MISMATCH");
    let list = pb::ListInvoicesRequest { page_size: -1, page_token: "00".into(), filter: None };
    assert_eq!(reason(&office.list_invoices(list).await.unwrap_err()).fields, ["page_size", "page_token"]);
}

#[tokio::test]
async fn each_reads_the_invoices_that_are_his() {
    let (world, server, mut office) = opened().await;
    let mut numbers = Vec::new();
    for (index, name) in ["02-two-partners", "01-direct-oven", "02-two-partners"].into_iter().enumerate() {
        let quote = accepted(&mut office, &format!("R-{index}"), name).await;
        let told = office.issue_invoice(invoice(&format!("I-{index}"), &quote)).await.unwrap();
        numbers.push(told.into_inner().invoice.unwrap().number);
    }
    office.issue_credit_note(credit("C-1", &numbers[0])).await.unwrap();

    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let (mut listed, mut page_token) = (Vec::new(), String::new());
    loop {
        let request = pb::ReadInvoicesRequest { page_size: 3, page_token, filter: None };
        let page = books.read_invoices(request).await.unwrap().into_inner();
        listed.extend(page.invoices);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    assert_eq!(listed.len(), 4);
    assert_eq!(listed[0].reason, "wrong buyer");
    let of_quote = pb::InvoiceFilter { quote_number: listed[3].quote_number.clone(), ..Default::default() };
    let request = pb::ReadInvoicesRequest { filter: Some(of_quote), ..Default::default() };
    let found = books.read_invoices(request).await.unwrap().into_inner().invoices;
    assert_eq!(found, [listed[0].clone(), listed[3].clone()]);
    for (series, expected) in [("R", listed.len()), ("Q", 0)] {
        let filter = pb::InvoiceFilter { series: series.into(), ..Default::default() };
        let request = pb::ReadInvoicesRequest { filter: Some(filter), ..Default::default() };
        let found = books.read_invoices(request).await.unwrap().into_inner().invoices;
        assert_eq!(found.len(), expected, "{series}");
    }

    // The partner who buys from the workshop reads them; the next on the route, and any other, learns nothing.
    let mut brzeg = PartnerServiceClient::new(connect(&server.url, &world.brzeg).await);
    let own = brzeg.list_own_invoices(pb::ListOwnInvoicesRequest::default()).await.unwrap().into_inner();
    let own: Vec<_> = own.invoices.iter().map(|told| (told.number.as_str(), told.reason.as_str())).collect();
    assert_eq!(own, [(&*listed[0].number, ""), (&numbers[2], ""), (&numbers[0], "")]);
    let get = |number: &str| pb::GetOwnInvoiceRequest { number: number.into() };
    let read = brzeg.get_own_invoice(get(&numbers[0])).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(read, listed[3]);
    for token in [&world.olom, &world.woergl] {
        let mut other = PartnerServiceClient::new(connect(&server.url, token).await);
        let own = other.list_own_invoices(pb::ListOwnInvoicesRequest::default()).await.unwrap().into_inner();
        assert!(own.invoices.is_empty());
        let foreign = other.get_own_invoice(get(&numbers[0])).await.unwrap_err();
        let none = other.get_own_invoice(get("R-1999-00001")).await.unwrap_err();
        assert_eq!((foreign.code(), foreign.details()), (Code::NotFound, none.details()));
    }
    let direct = brzeg.get_own_invoice(get(&numbers[1])).await.unwrap_err();
    assert_eq!(reason(&direct).reason, "NO_SUCH_INVOICE");

    // A period has them among the events where they are asked for.
    let mut period = pb::ExportPeriodRequest {
        from: date(today().pred_opt().unwrap()),
        until: date(today().succ_opt().unwrap()),
        with_working: false,
        with_invoices: true,
    };
    let mut exported = Vec::new();
    let mut answers = books.export_period(period).await.unwrap().into_inner();
    while let Some(answer) = answers.message().await.unwrap() {
        assert_eq!(answer.event.is_none(), answer.invoice.is_some());
        exported.extend(answer.invoice.map(|told| told.number));
    }
    assert_eq!(exported, [&*numbers[0], &numbers[1], &numbers[2], &listed[0].number]);
    period.with_invoices = false;
    let mut answers = books.export_period(period).await.unwrap().into_inner();
    while let Some(answer) = answers.message().await.unwrap() {
        assert!(answer.event.is_some() && answer.invoice.is_none());
    }
}

#[tokio::test]
async fn an_audit_finds_an_invoice_of_another_amount() {
    let (world, server, mut office) = opened().await;
    let quote = accepted(&mut office, "R-1", "01-direct-oven").await;
    drop((office, server));
    evenfare(&["audit", "--database", &world.database]);
    let store = world.database.parse::<Database>().unwrap().open().await.unwrap();
    let entry = store.entry(&quote.number.parse().unwrap(), None, &Sight::All).await.unwrap().unwrap();
    let (series, number, etag) = (Series::of_invoices(), entry.number, entry.etag);
    let (issued, sale) = (today(), Sale { net_minor: 1, gross_minor: 1 });
    let command = Command::Invoice { series, number, etag, issued, due: issued, sale };
    let (id, caller) = ("by-hand".parse().unwrap(), "front-desk".parse().unwrap());
    store.write(Request { id, fingerprint: Digest::of(b"by hand"), caller, command }).await.unwrap();
    store.close().await;
    let (whole, found) = audit(&world.database);
    assert!(!whole && found["found"] == "an invoice of another amount than was accepted", "{found}");
}

#[tokio::test]
async fn an_invoice_says_the_whole_address_of_both_its_parties() {
    let (_world, _server, mut office) = opened().await;
    let lacking = |name: &str| {
        let mut job = job(name);
        let customer = job.customer.as_mut().unwrap();
        (customer.street, customer.city) = (String::new(), String::from(" "));
        job
    };
    let quote = accepted_job(&mut office, "R-1", lacking("01-direct-oven")).await;
    let told = reason(&office.issue_invoice(invoice("I-1", &quote)).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "INCOMPLETE_ADDRESS"));
    let expected = "`customer` has no street and no town; expected the full name and address";
    assert!(told.refusal.message.starts_with(expected), "{}", told.refusal.message);

    // Revised with the address, it is invoiced, and no number was used up meanwhile.
    let revise = pb::ReviseQuoteRequest {
        request_id: "V-1".into(),
        number: quote.number.clone(),
        etag: quote.etag,
        job: Some(job("01-direct-oven")),
        reason: "the whole address".into(),
    };
    let revised = office.revise_quote(revise).await.unwrap().into_inner().quote.unwrap();
    let accept = accept("A-2", &revised, "main");
    let revised = office.accept_quote(accept).await.unwrap().into_inner().quote.unwrap();
    let told = office.issue_invoice(invoice("I-1", &revised)).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!((told.number, told.revision), (format!("R-{}-00001", today().year()), 2));

    // The end customer is no party of what the workshop sells to a partner.
    let quote = accepted_job(&mut office, "R-2", lacking("02-two-partners")).await;
    office.issue_invoice(invoice("I-2", &quote)).await.unwrap();
}

#[tokio::test]
async fn goods_in_a_chain_over_a_border_are_not_invoiced() {
    let (_world, _server, mut office) = opened().await;
    // An exchange unit to the Netherlands, by a Polish partner and without him.
    let direct = pb::Job { route: Vec::new(), ..job("09-floor-refuses") };
    let stop = pb::Stop { partner: "P-BRZEG".into(), ..pb::Stop::default() };
    let chain = pb::Job { route: vec![stop], ..direct.clone() };
    let flags = |quote: &pb::KeptQuote| -> Vec<pb::Flag> {
        quote.quote.as_ref().unwrap().main.as_ref().unwrap().flags().collect()
    };

    let quote = accepted_job(&mut office, "R-1", chain).await;
    assert!(flags(&quote).contains(&pb::Flag::GoodsInChain));
    let told = reason(&office.issue_invoice(invoice("I-1", &quote)).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "GOODS_IN_CHAIN"));
    assert!(told.refusal.message.contains("Art. 36a"), "{}", told.refusal.message);
    assert!(told.refusal.message.contains("a licensed tax adviser"), "{}", told.refusal.message);

    // One sale is no chain, and nothing was numbered before it.
    let quote = accepted_job(&mut office, "R-2", direct).await;
    assert!(!flags(&quote).contains(&pb::Flag::GoodsInChain));
    let told = office.issue_invoice(invoice("I-2", &quote)).await.unwrap().into_inner().invoice.unwrap();
    assert_eq!(told.number, format!("R-{}-00001", today().year()));
}

#[tokio::test]
async fn whoever_issues_what_no_xml_can_carry_is_told() {
    let (_world, _server, mut office) = opened().await;
    // A dinar has a third decimal.
    for (name, why) in [("01-direct-oven", None), ("06-dinar", Some("BR-DEC"))] {
        let told_why = |without_xml: &str| match why {
            None => assert_eq!(without_xml, "", "{name}"),
            Some(rule) => assert!(without_xml.contains(rule), "{name}: {without_xml}"),
        };
        let quote = accepted(&mut office, &format!("R-{name}"), name).await;
        let request = invoice(&format!("I-{name}"), &quote);
        let told = office.issue_invoice(request.clone()).await.unwrap().into_inner();
        told_why(&told.without_xml);
        assert_eq!(office.issue_invoice(request).await.unwrap().into_inner(), told);

        let number = told.invoice.unwrap().number;
        let kind = pb::DocumentKind::Invoice.into();
        let format = pb::DocumentFormat::Xml.into();
        let document = pb::DocumentChoice { number: number.clone(), kind, format, ..Default::default() };
        let request = pb::GetDocumentRequest { document: Some(document), partner: String::new() };
        match office.get_document(request).await {
            Ok(_) => assert_eq!(told.without_xml, "", "{name}"),
            Err(refused) => assert_eq!(refused.message(), told.without_xml, "{name}"),
        }
        let told = office.issue_credit_note(credit(&format!("C-{name}"), &number)).await.unwrap();
        told_why(&told.into_inner().without_xml);
    }
}

#[tokio::test]
async fn vat_in_another_currency_is_invoiced_in_that_of_the_country_too() {
    let (_world, _server, mut office) = opened().await;
    let in_francs = pb::Job { currency_code: Some("CHF".into()), ..job("01-direct-oven") };
    for (job, francs) in [(in_francs, true), (job("01-direct-oven"), false)] {
        let quote = accepted_job(&mut office, &format!("R-{francs}"), job).await;
        let request = invoice(&format!("I-{francs}"), &quote);
        let issued = office.issue_invoice(request).await.unwrap().into_inner();
        assert_eq!(issued.without_xml, "");
        let (number, kind) = (issued.invoice.unwrap().number, pb::DocumentKind::Invoice.into());
        let format = pb::DocumentFormat::Xml.into();
        let document = Some(pb::DocumentChoice { number, kind, format, ..Default::default() });
        let request = pb::GetDocumentRequest { document, partner: String::new() };
        let mut pieces = office.get_document(request).await.unwrap().into_inner();
        let mut bytes = Vec::new();
        while let Some(answer) = pieces.message().await.unwrap() {
            bytes.extend(answer.piece.unwrap().content);
        }
        let xml = String::from_utf8(bytes).unwrap();
        assert_eq!(xml.contains("<cbc:TaxCurrencyCode>EUR</cbc:TaxCurrencyCode>"), francs, "{xml}");
        let in_euro = xml.matches("<cbc:TaxAmount currencyID=\"EUR\">").count();
        // In francs the total alone is said in euro.
        assert_eq!(in_euro, if francs { 1 } else { 2 }, "{xml}");
    }
}
