//! The accountant: reads everything, and takes a period with him.

use chrono::{Datelike, Utc};
use evenfare::wire::pb;
use evenfare::wire::pb::QuoteEventKind as Kind;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use tonic::Code;

use crate::harness::{accept, connect, issued, opened, reason};

#[tokio::test]
async fn a_period_holds_what_was_written_down_in_it() {
    let (world, server, mut office) = opened().await;
    let first = issued(&mut office, "R-1", "02-two-partners").await;
    let second = issued(&mut office, "R-2", "02-two-partners").await;
    let reverse = pb::ReverseQuoteRequest {
        request_id: "B-1".into(),
        number: first.number.clone(),
        etag: first.etag.clone(),
        reason: "wrong customer".into(),
    };
    office.reverse_quote(reverse).await.unwrap();
    office.accept_quote(accept("A-1", &second, "main")).await.unwrap();

    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let today = Utc::now().date_naive();
    let day = |day: chrono::NaiveDate| {
        Some(pb::Date { year: day.year(), month: day.month() as i32, day: day.day() as i32 })
    };
    let period = pb::ExportPeriodRequest {
        from: day(today.pred_opt().unwrap()),
        until: day(today.succ_opt().unwrap()),
        with_working: false,
        with_invoices: false,
    };
    let mut answers = books.export_period(period).await.unwrap().into_inner();
    let mut exported = Vec::new();
    while let Some(answer) = answers.message().await.unwrap() {
        exported.push((answer.event.unwrap(), answer.quote.unwrap()));
    }
    let kinds: Vec<_> =
        exported.iter().map(|(event, quote)| (event.kind(), event.number.as_str(), quote.state())).collect();
    let (one, two) = (first.number.as_str(), second.number.as_str());
    assert_eq!(
        kinds,
        [
            (Kind::Issued, one, pb::QuoteState::Open),
            (Kind::Issued, two, pb::QuoteState::Open),
            (Kind::Reversed, one, pb::QuoteState::Reversed),
            (Kind::Accepted, two, pb::QuoteState::Accepted),
        ]
    );
    // What was issued and taken back comes to nothing, party by party.
    let kept = |index: usize| exported[index].1.quote.as_ref().unwrap().main.as_ref().unwrap();
    let amount = |money: &Option<pb::Money>| money.as_ref().unwrap().amount_minor;
    assert_eq!(amount(&kept(0).workshop_net) + amount(&kept(2).workshop_net), 0);
    for (share, opposite) in kept(0).shares.iter().zip(&kept(2).shares) {
        assert_eq!(amount(&share.share) + amount(&opposite.share), 0);
    }
    assert!(kept(0).working.is_empty());
    assert_eq!(exported[2].0.reason, "wrong customer");
    assert!(exported.iter().all(|(_, quote)| quote.etag.is_empty() && quote.job.is_some()));

    // Another day has nothing; a period that ends before it begins is none.
    let past = pb::ExportPeriodRequest {
        from: day(today - chrono::Days::new(30)),
        until: day(today - chrono::Days::new(2)),
        with_working: false,
        with_invoices: false,
    };
    assert!(books.export_period(past).await.unwrap().into_inner().message().await.unwrap().is_none());
    let backwards = pb::ExportPeriodRequest {
        from: day(today),
        until: day(today - chrono::Days::new(2)),
        with_working: false,
        with_invoices: false,
    };
    assert_eq!(reason(&books.export_period(backwards).await.unwrap_err()).fields, ["until"]);
    let told = reason(&books.export_period(pb::ExportPeriodRequest::default()).await.unwrap_err());
    assert_eq!(told.fields, ["from", "until"]);

    let read = pb::ReadQuoteRequest { number: second.number.clone(), ..pb::ReadQuoteRequest::default() };
    let read = books.read_quote(read).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(read.quote, second.quote);
    let page = books.read_quotes(pb::ReadQuotesRequest::default()).await.unwrap().into_inner();
    assert_eq!(page.quotes.len(), 2);
}

/// It stood in the same batch, and ended the export.
#[tokio::test]
async fn a_period_does_not_end_at_what_was_damaged_after_it() {
    let (world, server, mut office) = opened().await;
    for id in ["R-1", "R-2"] {
        issued(&mut office, id, "02-two-partners").await;
    }
    let file = rusqlite::Connection::open(&world.database).unwrap();
    let damage = "DROP TRIGGER events_stay; \
         UPDATE events SET kind = 'x', recorded = recorded + 259200000000 WHERE request_id = 'R-2'";
    file.execute_batch(damage).unwrap();
    let mut books = AccountantServiceClient::new(connect(&server.url, &world.accountant).await);
    let today = Utc::now().date_naive();
    let mut exported = async |days: u64| {
        let until = today + chrono::Days::new(days);
        let day = |day: chrono::NaiveDate| {
            Some(pb::Date { year: day.year(), month: day.month() as i32, day: day.day() as i32 })
        };
        let period = pb::ExportPeriodRequest {
            from: day(today.pred_opt().unwrap()),
            until: day(until),
            ..pb::ExportPeriodRequest::default()
        };
        let mut answers = books.export_period(period).await.unwrap().into_inner();
        let mut count = 0;
        loop {
            match answers.message().await {
                Ok(Some(_)) => count += 1,
                Ok(None) => return (count, None),
                Err(status) => return (count, Some(status.code())),
            }
        }
    };
    assert_eq!(exported(1).await, (1, None));
    assert_eq!(exported(4).await.1, Some(Code::Internal));
}
