//! Month end over the wire: the books folder in, what the command says of it out.

use std::fs;
use std::time::Duration;

use evenfare::wire::pb;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare::wire::pb::reconcile_response::Part;
use serde_json::Value;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Code, Request, Status};

use crate::books::{Desk, Files, below, closed, month, parts, reconcile};
use crate::harness::{Server, accept, command, connect, issued, job, opened, reason, token};

#[tokio::test]
async fn the_answer_is_the_commands() {
    let mut desk = Desk::new().await;
    let out = desk.dir.path().join("october");
    // A name that nobody knows.
    let work_done = desk.world().join("books/work_done.csv");
    let text = fs::read_to_string(&work_done).unwrap();
    fs::write(&work_done, text + "Q-2026-99999,diagnosis,2026-10-07\n").unwrap();
    let told = desk.told(&["--month", "2026-10", "-o", out.to_str().unwrap()]);
    let scope = pb::ReconcileScope { with_files: true, ..month("2026-10") };
    let asked = reconcile(scope, &desk.files());
    let parts = parts(&mut desk.books, asked).await.unwrap();

    let Some(Part::Summary(summary)) = parts.first() else { panic!("{:?}", parts.first()) };
    assert_eq!(
        (summary.differences, summary.settled, summary.questions, summary.accepted, summary.invoices),
        (5, 0, 1, 4, 4)
    );
    assert_eq!((&*summary.month, &*summary.currency_code), ("2026-10", "EUR"));
    let minor = |money: &Option<pb::Money>| money.as_ref().unwrap().amount_minor;
    let (mut differences, mut questions, mut balances, mut margins) = (vec![], vec![], vec![], 0);
    let (mut warnings, mut bonuses, mut open) = (Vec::new(), Vec::new(), Vec::new());
    let mut files = Files::new();
    let mut name = String::new();
    for part in &parts[1..] {
        match part {
            Part::Summary(_) => panic!("a second summary"),
            Part::Warning(one) => {
                assert!(differences.is_empty(), "they stand before the differences");
                let place = one.place.rsplit_once(':').unwrap();
                warnings.push((
                    place.0.to_owned(),
                    one.code.clone(),
                    one.found.clone(),
                    one.expected.clone(),
                ));
            }
            Part::Difference(one) => {
                let figures =
                    [&one.agreed, &one.found].map(|money| money.as_ref().map(|one| one.amount_minor));
                differences.push((one.reason.clone(), one.party.clone(), figures, minor(&one.amount)));
            }
            Part::Question(one) => questions.push(one.answers.clone()),
            Part::Balance(one) => {
                balances.push((one.party.clone(), minor(&one.opening), minor(&one.closing)))
            }
            Part::Open(one) => {
                assert!(!balances.is_empty() && bonuses.is_empty(), "they stand behind the balances");
                open.push((one.document.clone(), one.due.is_some(), minor(&one.open)));
            }
            Part::Transfer(one) => panic!("{one:?}"),
            Part::Bonus(one) => {
                assert!(!balances.is_empty() && margins == 0, "they stand behind the balances");
                let next = (one.next_percent.clone(), minor(&one.missing));
                bonuses.push((one.partner.clone(), minor(&one.due), minor(&one.trued_up), next));
            }
            Part::Margin(_) => margins += 1,
            Part::Piece(piece) => {
                assert!(piece.content.len() <= 64 << 10);
                if !piece.name.is_empty() {
                    name.clone_from(&piece.name);
                }
                files.entry(name.clone()).or_default().extend(&piece.content);
            }
        }
    }
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let list = |name: &str| told[name].as_array().unwrap().clone();
    let expected: Vec<_> = list("differences")
        .iter()
        .map(|one| {
            let figures = ["agreed_minor", "found_minor"].map(|name| one[name].as_i64());
            (text(&one["reason"]), text(&one["party"]), figures, one["amount_minor"].as_i64().unwrap())
        })
        .collect();
    assert_eq!(differences, expected);
    assert!(differences.iter().any(|(.., figures, _)| figures[0].is_some()), "{differences:?}");
    let file = |one: &Value| text(&one["file"]).rsplit_once('/').unwrap().1.to_owned();
    let expected: Vec<_> = list("warnings")
        .iter()
        .map(|one| (file(one), text(&one["code"]), text(&one["found"]), text(&one["expected"])))
        .collect();
    assert_eq!((warnings.len(), summary.warnings), (1, 1));
    assert_eq!(warnings, expected);
    let answers: Vec<Vec<String>> = list("questions")
        .iter()
        .map(|one| one["answers"].as_array().unwrap().iter().map(text).collect())
        .collect();
    assert_eq!(questions, answers);
    let owed = |one: &Value, what: &str| one[what].as_i64().unwrap();
    let expected: Vec<_> = list("balances")
        .iter()
        .map(|one| (text(&one["party"]), owed(one, "opening_minor"), owed(one, "closing_minor")))
        .collect();
    assert_eq!(balances, expected);
    let expected: Vec<_> = list("open")
        .iter()
        .map(|one| (text(&one["document"]), !one["due"].is_null(), owed(one, "open_minor")))
        .collect();
    assert!(!open.is_empty() && open == expected, "{open:?}\n{expected:?}");
    // 0.5 % of 1555.10; at 10000.00 it is 1.25 %.
    assert_eq!(bonuses, [("P-BRZEG".to_owned(), 778, 0, ("1.25".to_owned(), 844_490))]);
    assert_eq!(margins, 11, "all, and those by partner, family, route and month");
    let mut written = Files::new();
    below(&out, "", &mut written);
    assert!(files.len() > 6 && files == written, "byte for byte: {:?}", files.keys());
}

/// What stays in transit between own accounts, as the command tells it.
#[tokio::test]
async fn a_transfer_under_way_is_told() {
    let mut desk = Desk::new().await;
    let accounts = desk.world().join("books/bank_accounts.csv");
    let text = fs::read_to_string(&accounts).unwrap();
    assert_eq!(desk.told(&["--month", "2026-10"])["in_transit"], Value::Array(Vec::new()));
    fs::write(&accounts, text.replace(",P-BRZEG", ",workshop")).unwrap();
    // It names an invoice: that it is a transfer has to be decided.
    let decided = desk.world().join("books/decided_payments.csv");
    let rows = fs::read_to_string(&decided).unwrap();
    fs::write(&decided, format!("{rows}DE79000000001234567890,MB-2026-10,4,1,,,\n")).unwrap();
    let told = desk.told(&["--month", "2026-10"]);
    let told = told["in_transit"].as_array().unwrap();
    let asked = reconcile(month("2026-10"), &desk.files());
    let parts = parts(&mut desk.books, asked).await.unwrap();
    let place = |wanted: fn(&Part) -> bool| parts.iter().position(wanted).unwrap();
    let first = place(|part| matches!(part, Part::Transfer(_)));
    assert!(place(|part| matches!(part, Part::Balance(_))) < first, "they stand behind the balances");
    assert!(first < place(|part| matches!(part, Part::Margin(_))));
    let sent: Vec<&pb::MonthEndTransfer> = parts
        .iter()
        .filter_map(|part| match part {
            Part::Transfer(one) => Some(one),
            _ => None,
        })
        .collect();
    assert_eq!((sent.len(), told.len()), (1, 1));
    let (sent, told) = (sent[0], &told[0]);
    let (amount, base) = (sent.amount.as_ref().unwrap(), sent.base.as_ref().unwrap());
    let (day, payment) = (sent.day.as_ref().unwrap(), sent.payment.as_ref().unwrap());
    assert_eq!(
        (amount.amount_minor, &*base.currency_code),
        (-155_510, "EUR"),
        "it arrived and has left no other"
    );
    let expected = serde_json::json!({
        "day": format!("{:04}-{:02}-{:02}", day.year, day.month, day.day),
        "account": sent.account,
        "other": sent.other,
        "currency": amount.currency_code,
        "amount_minor": amount.amount_minor,
        "base_minor": base.amount_minor,
        "document": {
            "paper": payment.paper,
            "number": payment.number,
            "file": payment.file,
            "line": payment.line,
        },
    });
    assert_eq!(*told, expected);
}

#[tokio::test]
async fn a_month_is_closed_by_the_file_that_comes_back() {
    let mut desk = Desk::new().await;
    let mut files = desk.files();
    let scope = |month: &str, with_open_questions| pb::CloseScope {
        month: month.into(),
        with_open_questions,
        ..pb::CloseScope::default()
    };
    let refused = |status: Status| (status.code(), reason(&status).reason);
    let early = closed(&mut desk.books, scope("2026-10", false), &files).await.unwrap_err();
    assert_eq!(refused(early), (Code::FailedPrecondition, "CLOSING_OUT_OF_ORDER".into()));
    let (september, file) = closed(&mut desk.books, scope("2026-09", false), &files).await.unwrap();
    assert_eq!((&*september.file_name, september.size), ("closings/2026-09.csv", file.len() as u64));
    files.insert(september.file_name.clone(), file);
    let again = closed(&mut desk.books, scope("2026-09", false), &files).await.unwrap_err();
    assert!(again.message().contains("is closed already (closings/2026-09.csv)"), "{again:?}");
    let asked = closed(&mut desk.books, scope("2026-10", false), &files).await.unwrap_err();
    assert!(asked.message().contains("payment DE79000000001234567890/MB-2026-10/6.1"), "{asked:?}");
    assert_eq!(refused(asked), (Code::FailedPrecondition, "QUESTIONS_OPEN".into()));
    let (october, file) = closed(&mut desk.books, scope("2026-10", true), &files).await.unwrap();
    assert_eq!((october.questions, october.digest.len()), (1, 64));
    assert_eq!(october.differences, 5);

    // The command closes to the same bytes, and the server has kept nothing.
    let books = desk.world().join("books");
    for (month, more) in [("2026-09", &[][..]), ("2026-10", &["--with-open-questions"])] {
        let mut close = command();
        close.arg("close").arg(&books).arg(month).arg("--tariff").arg(desk.world().join("tariff"));
        let said = close.args(["--database", &desk.database]).args(more).output().unwrap();
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        assert_eq!(String::from_utf8(said.stdout).unwrap().contains(&october.digest), month == "2026-10");
    }
    assert_eq!(fs::read(books.join(&october.file_name)).unwrap(), file);

    let later = closed(&mut desk.books, scope("2099-01", false), &files).await.unwrap_err();
    assert_eq!(refused(later), (Code::FailedPrecondition, "MONTH_NOT_OVER".into()));
    let mut alone = files.clone();
    alone.remove(&september.file_name);
    alone.insert(october.file_name.clone(), file.clone());
    let status = parts(&mut desk.books, reconcile(month("2026-10"), &alone)).await.unwrap_err();
    assert_eq!(refused(status), (Code::InvalidArgument, "CLOSING_MISSING".into()));
    let spoilt = String::from_utf8(file).unwrap().replacen("2026-10-19", "2026-10-18", 1);
    files.insert(october.file_name, spoilt.into());
    let status = parts(&mut desk.books, reconcile(month("2026-10"), &files)).await.unwrap_err();
    assert_eq!(status.code(), Code::InvalidArgument, "{status:?}");
}

#[tokio::test]
async fn what_is_wrong_is_told_at_its_place() {
    let mut desk = Desk::new().await;
    let mut files = desk.files();
    files.insert("charges/olom.csv".into(), b"partner,quote\nP-OLOM,Q-1\n".to_vec());
    files.insert("statements/x.xml".into(), b"<Document/>".to_vec());
    let status = parts(&mut desk.books, reconcile(month("2026-10"), &files)).await.unwrap_err();
    let told = reason(&status);
    assert_eq!((told.code, &*told.reason), (Code::InvalidArgument, "INVALID_BOOKS"));
    assert!(told.fields.iter().any(|field| field.starts_with("charges/olom.csv:1")), "{:?}", told.fields);
    assert!(told.fields.iter().any(|field| field.starts_with("statements/x.xml")), "{:?}", told.fields);

    let piece = |name: &str| pb::BooksPiece { name: name.into(), content: b"x".to_vec() };
    let with = |scope: Option<pb::ReconcileScope>, piece| pb::ReconcileRequest { scope, piece };
    for (asked, field) in [
        (vec![], "scope"),
        (vec![with(None, Some(piece("books.toml")))], "scope"),
        (vec![with(Some(month("October")), None)], "scope.month"),
        (
            vec![with(Some(pb::ReconcileScope { until: Some(pb::Date::default()), ..month("") }), None)],
            "scope.until",
        ),
        (vec![with(Some(month("")), Some(piece("")))], "piece.name"),
        (vec![with(Some(month("")), Some(piece("../etc/passwd")))], "piece.name"),
        (vec![with(Some(month("")), None), with(Some(month("")), None)], "scope"),
    ] {
        let status = parts(&mut desk.books, asked).await.unwrap_err();
        assert_eq!(
            (reason(&status).code, reason(&status).fields),
            (Code::InvalidArgument, vec![field.to_owned()])
        );
    }
}

#[tokio::test]
async fn a_folder_that_is_not_finished_keeps_its_room_until_its_deadline() {
    let mut desk = Desk::new().await;
    // Two folders of which the end never comes.
    let mut waiting = Vec::new();
    for _ in 0..2 {
        let mut books = desk.books.clone();
        waiting.push(tokio::spawn(async move {
            loop {
                let (send, asked) = tokio::sync::mpsc::channel(1);
                let first = pb::ReconcileRequest { scope: Some(month("2026-10")), piece: None };
                send.send(first).await.unwrap();
                let mut request = Request::new(ReceiverStream::new(asked));
                request.set_timeout(Duration::from_secs(5));
                match books.reconcile(request).await.unwrap_err().code() {
                    // Whoever asks below was there before.
                    Code::ResourceExhausted => tokio::time::sleep(Duration::from_millis(10)).await,
                    code => return code,
                }
            }
        }));
    }
    let refused = loop {
        match parts(&mut desk.books, Vec::new()).await.unwrap_err() {
            // There is room for a question that asks nothing: the others have not arrived yet.
            status if status.code() == Code::InvalidArgument => {
                tokio::time::sleep(Duration::from_millis(50)).await;
            }
            status => break status,
        }
        assert!(
            waiting.iter().any(|call| !call.is_finished()),
            "two folders are more than there is room for"
        );
    };
    assert_eq!((refused.code(), reason(&refused).reason), (Code::ResourceExhausted, "TOO_MANY".into()));
    for call in waiting {
        // Whose clock was faster, the server's or the client's.
        let code = call.await.unwrap();
        assert!(matches!(code, Code::DeadlineExceeded | Code::Cancelled), "{code:?}");
    }
    let files = desk.files();
    let mut answer = parts(&mut desk.books, reconcile(month("2026-10"), &files)).await;
    for _ in 0..200 {
        // The client's clock may have been the faster one.
        if !answer.as_ref().is_err_and(|status| status.code() == Code::ResourceExhausted) {
            break;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
        answer = parts(&mut desk.books, reconcile(month("2026-10"), &files)).await;
    }
    assert!(answer.unwrap().len() > 5, "there is room again");
    assert!(!desk.server.log().contains("internal error"), "{}", desk.server.log());
}

/// Nothing would come of it any more.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_folder_on_its_way_keeps_no_server_from_ending() {
    let (world, server, _office) = opened().await;
    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let first = pb::ReconcileRequest { scope: Some(month("2026-10")), piece: None };
    let asked = tokio_stream::once(first).chain(tokio_stream::pending());
    let call = tokio::spawn(async move { books.reconcile(asked).await.map(drop) });
    tokio::time::sleep(Duration::from_millis(300)).await;
    server.terminate();
    let begin = std::time::Instant::now();
    let told = tokio::time::timeout(Duration::from_secs(10), call).await;
    let told = reason(&told.expect("it is not told").unwrap().unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::Unavailable, "STOPPING"));
    assert!(server.wait().success());
    assert!(begin.elapsed() < Duration::from_secs(15), "{:?}", begin.elapsed());
}

/// What was accepted last counts, until an opposite entry takes it back; a revision alone changes nothing.
#[tokio::test]
async fn the_revision_that_was_accepted_counts() {
    let (world, server, mut office) = opened().await;
    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let rules = "currency = \"EUR\"\nrounding_minor = 1\ncurrency_percent = \"1\"\npayment_days = 14\n";
    let files = Files::from([(String::from("books.toml"), rules.into())]);
    let mut found = async |until: (i32, i32)| {
        let until = Some(pb::Date { year: until.0, month: until.1, day: 28 });
        let scope = pb::ReconcileScope { until, ..pb::ReconcileScope::default() };
        let parts = parts(&mut books, reconcile(scope, &files)).await.unwrap();
        let of = |part: &Part| match part {
            Part::Difference(one) => Some((one.reason.clone(), one.amount.as_ref().unwrap().amount_minor)),
            _ => None,
        };
        parts.iter().filter_map(of).collect::<Vec<_>>()
    };
    let missing = |minor: i64| vec![(String::from("invoice_missing"), minor)];

    let first = issued(&mut office, "R-1", "01-direct-oven").await;
    assert_eq!(found((2026, 10)).await, [], "nothing was accepted");
    office.accept_quote(accept("A-1", &first, "main")).await.unwrap();
    assert_eq!(found((2026, 10)).await, missing(-248_115));
    assert_eq!(found((2026, 9)).await, missing(-248_115));

    let read = pb::GetQuoteRequest { number: first.number.clone(), ..pb::GetQuoteRequest::default() };
    let mut etag = office.get_quote(read.clone()).await.unwrap().into_inner().quote.unwrap().etag;
    let mut dearer = job("01-direct-oven");
    let again = dearer.units[0].findings[0].clone();
    dearer.units[0].findings.push(pb::Finding { position: Some("Z9".into()), ..again });
    let revise = pb::ReviseQuoteRequest {
        request_id: "V-1".into(),
        number: first.number.clone(),
        etag,
        job: Some(dearer),
        reason: "one more finding".into(),
    };
    let second = office.revise_quote(revise).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(found((2026, 10)).await, missing(-248_115), "the revision is not accepted");
    office.accept_quote(accept("A-2", &second, "main")).await.unwrap();
    let sale = second.quote.as_ref().unwrap().main.as_ref().unwrap().sales[0].gross.as_ref().unwrap();
    assert!(sale.amount_minor > 248_115);
    assert_eq!(found((2026, 10)).await, missing(-sale.amount_minor));

    etag = office.get_quote(read).await.unwrap().into_inner().quote.unwrap().etag;
    let reverse = pb::ReverseQuoteRequest {
        request_id: "B-1".into(),
        number: first.number.clone(),
        etag,
        reason: "wrong customer".into(),
    };
    office.reverse_quote(reverse).await.unwrap();
    assert_eq!(found((2099, 1)).await, [], "all of it is taken back");
    // By the end of October nobody had taken anything back.
    assert_eq!(found((2026, 10)).await, missing(-sale.amount_minor));
}

/// What another agreement would have come to, say, would be missing without a word.
#[tokio::test]
async fn books_are_held_against_all_editions_or_against_none() {
    let desk = Desk::new().await;
    let file = rusqlite::Connection::open(&desk.database).unwrap();
    let damage = "DROP TRIGGER editions_stay; UPDATE editions SET archive = x'00' WHERE code = '2025-07'";
    file.execute_batch(damage).unwrap();
    let token = token(&desk.database, "other-books", "accountant");
    let server = Server::start(&desk.database, &[]);
    let mut books = AccountantServiceClient::new(connect(&server.url, &token).await);
    let asked = reconcile(month("2026-10"), &desk.files());
    let refused = reason(&parts(&mut books, asked).await.unwrap_err());
    assert_eq!((refused.code, &*refused.reason), (Code::FailedPrecondition, "EDITION_UNREADABLE"));
}

/// Of a role of a later version, say: who may call is no part of any sum.
#[tokio::test]
async fn books_are_held_against_quotes_where_a_caller_cannot_be_read() {
    let mut desk = Desk::new().await;
    let asked = reconcile(month("2026-10"), &desk.files());
    let before = parts(&mut desk.books, asked.clone()).await.unwrap();
    token(&desk.database, "auditors", "accountant");
    let file = rusqlite::Connection::open(&desk.database).unwrap();
    let damage = "DROP TRIGGER callers_stay; UPDATE callers SET role = 'auditor' WHERE name = 'auditors'";
    file.execute_batch(damage).unwrap();
    assert_eq!(parts(&mut desk.books, asked).await.unwrap(), before);
}
