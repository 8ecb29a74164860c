//! The office: issues, revises, reverses, accepts, declines, lists, watches.

use std::time::Duration;

use evenfare::serve::database::Database;
use evenfare::wire::pb;
use evenfare::wire::pb::QuoteState as State;
use evenfare_store::Sight;
use evenfare_store::command::{Command, Request as ToKeep};
use evenfare_store::digest::Digest;
use evenfare_store::number::Series;
use tonic::{Code, Request};

use crate::harness::{Office, accept, audit, command, evenfare, issue, issued, job, opened, reason};

#[tokio::test]
async fn a_priced_job_is_what_the_command_prints() {
    let (_world, _server, mut office) = opened().await;
    let wire = job("02-two-partners");
    let mut priced = async |with_plan, with_working| {
        let request = pb::PriceJobRequest { job: Some(wire.clone()), with_plan, with_working };
        office.price_job(request).await.unwrap().into_inner().quote.unwrap()
    };
    let full = priced(false, true).await;
    // The figures of the transcript in the README.
    let main = full.main.as_ref().unwrap();
    assert_eq!(main.end.as_ref().unwrap().net.as_ref().unwrap().amount_minor, 212_500);
    assert_eq!(
        main.shares.iter().map(|share| share.share.as_ref().unwrap().amount_minor).collect::<Vec<_>>(),
        [30_329, 26_661]
    );
    assert!(!main.working.is_empty());
    let mut without = full.clone();
    without.main.as_mut().unwrap().working.clear();
    assert_eq!(priced(true, false).await, without);
    for unit in &mut without.main.as_mut().unwrap().units {
        assert!(!unit.findings.is_empty() && !unit.plan.is_empty());
        (unit.findings, unit.plan) = Default::default();
    }
    assert_eq!(priced(false, false).await, without);
}

#[tokio::test]
async fn a_job_with_mistakes_is_told_all_of_them() {
    let (_world, _server, mut office) = opened().await;
    let mut wire = job("01-direct-oven");
    wire.currency_code = Some("eur".into());
    wire.units[0].declared_value = "much".into();
    wire.received = Some(pb::Date { year: 2026, month: 7, day: 0 });
    // What the tariff does not know is told as well, though the day that picks the edition cannot be read.
    wire.extras.push("NEVER".into());
    let request = pb::IssueQuoteRequest { request_id: String::new(), job: Some(wire), series: "q".into() };
    let told = reason(&office.issue_quote(request).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::InvalidArgument, "INVALID_INPUT"));
    let expected = [
        "request_id",
        "job.received",
        "job.currency_code",
        "job.units[0].declared_value",
        "series",
        "job.extras[1]",
    ];
    assert_eq!(told.fields, expected);

    let mut wire = job("01-direct-oven");
    wire.units[0].family = "NONE".into();
    wire.extras.push("NEVER".into());
    let request = pb::PriceJobRequest { job: Some(wire), ..pb::PriceJobRequest::default() };
    let told = reason(&office.price_job(request).await.unwrap_err());
    assert_eq!(told.fields, ["job.extras[1]", "job.units[0].family"]);

    let request =
        pb::PriceJobRequest { job: Some(job("09-floor-refuses")), ..pb::PriceJobRequest::default() };
    let told = reason(&office.price_job(request).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "UNDER_THE_FLOOR"));
    let under = told.refusal.under_the_floor.unwrap();
    assert!(under.shares.unwrap().amount_minor > under.available.unwrap().amount_minor);

    let mut wire = job("01-direct-oven");
    wire.extras = vec![String::from("X"); 1_000];
    let request = pb::PriceJobRequest { job: Some(wire), ..pb::PriceJobRequest::default() };
    let status = office.price_job(request).await.unwrap_err();
    assert!(status.message().starts_with("the request has "), "{}", status.message());
    assert!(status.details().len() < 6_000, "clients take trailers of so many bytes");
}

#[tokio::test]
async fn a_quote_is_issued_once_by_one_request() {
    let (_world, _server, mut office) = opened().await;
    let first = issued(&mut office, "R-1", "02-two-partners").await;
    assert_eq!(first.number, "Q-2026-00001");
    assert_eq!(first.state(), State::Open);
    assert_eq!(first.job.as_ref(), Some(&job("02-two-partners")));
    assert!(!first.quote.as_ref().unwrap().main.as_ref().unwrap().working.is_empty());
    assert_eq!(issued(&mut office, "R-1", "02-two-partners").await, first);
    // What was answered when it was made is what is read from what was kept.
    let request = pb::GetQuoteRequest { number: first.number.clone(), ..pb::GetQuoteRequest::default() };
    assert_eq!(office.get_quote(request).await.unwrap().into_inner().quote, Some(first.clone()));
    let second = issued(&mut office, "R-2", "02-two-partners").await;
    assert_eq!(second.number, "Q-2026-00002");

    // What happened since does not change the answer.
    office.accept_quote(accept("R-3", &first, "main")).await.unwrap();
    assert_eq!(issued(&mut office, "R-1", "02-two-partners").await, first);

    // The id with another job, and with another method.
    let status = office.issue_quote(issue("R-1", "01-direct-oven")).await.unwrap_err();
    assert_eq!((status.code(), reason(&status).reason.as_str()), (Code::AlreadyExists, "REQUEST_ID_REUSED"));
    let status = office.accept_quote(accept("R-2", &second, "main")).await.unwrap_err();
    assert_eq!(reason(&status).reason, "REQUEST_ID_REUSED");

    // Other series have numbers of their own, and so have other years.
    let request = pb::IssueQuoteRequest { series: "W2".into(), ..issue("R-4", "01-direct-oven") };
    let other = office.issue_quote(request).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(other.number, "W2-2026-00001");
    let mut old = job("01-direct-oven");
    old.received = Some(pb::Date { year: 2025, month: 9, day: 1 });
    (old.quoted, old.dispatch, old.tax_date) = (None, None, None);
    let request = pb::IssueQuoteRequest { job: Some(old), ..issue("R-5", "01-direct-oven") };
    let old = office.issue_quote(request).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(old.number, "Q-2025-00001");
}

#[tokio::test]
async fn a_quote_lives_from_issue_to_reversal() {
    let (world, _server, mut office) = opened().await;
    let first = issued(&mut office, "R-1", "02-two-partners").await;
    let refused = async |office: &mut Office, request: pb::AcceptQuoteRequest| {
        let status = office.accept_quote(request).await.unwrap_err();
        (status.code(), reason(&status).reason)
    };

    // Not in time, not what was offered, not what stands there any more.
    let in_time = accept("A-1", &first, "main");
    let valid_until = first.quote.as_ref().unwrap().valid_until.unwrap();
    let quoted = first.quote.as_ref().unwrap().quoted.unwrap();
    let late = pb::Date { year: valid_until.year + 1, ..valid_until };
    let early = pb::Date { year: quoted.year - 1, ..quoted };
    let with = |accepted| pb::AcceptQuoteRequest { accepted: Some(accepted), ..in_time.clone() };
    let told = reason(&office.accept_quote(with(late)).await.unwrap_err());
    assert_eq!(told.fields, ["accepted"], "the future is not known: {told:?}");
    assert_eq!(refused(&mut office, with(early)).await, (Code::FailedPrecondition, "BEFORE_QUOTE".into()));
    let other = pb::AcceptQuoteRequest { offer: "NONE".into(), ..in_time.clone() };
    assert_eq!(refused(&mut office, other).await, (Code::InvalidArgument, "NO_SUCH_OFFER".into()));
    let other = pb::AcceptQuoteRequest { etag: "0".repeat(64), ..in_time.clone() };
    assert_eq!(refused(&mut office, other).await, (Code::Aborted, "ETAG_MISMATCH".into()));
    let other = pb::AcceptQuoteRequest { number: "Q-2026-00099".into(), ..in_time.clone() };
    assert_eq!(refused(&mut office, other).await, (Code::NotFound, "NO_SUCH_QUOTE".into()));

    // A refused request has left nothing behind: its id is free.
    let accepted = office.accept_quote(in_time).await.unwrap().into_inner().quote.unwrap();
    assert_eq!((accepted.state(), accepted.accepted_offer()), (State::Accepted, "main"));
    assert_eq!(accepted.settled, Some(quoted));
    assert_ne!(accepted.etag, first.etag);
    let again = accept("A-2", &accepted, "main");
    assert_eq!(refused(&mut office, again).await, (Code::FailedPrecondition, "NOT_OPEN".into()));

    // A revision is open again, and the one before stands under it.
    let mut corrected = job("02-two-partners");
    corrected.units[0].findings.pop();
    let request = pb::ReviseQuoteRequest {
        request_id: "V-1".into(),
        number: first.number.clone(),
        etag: accepted.etag.clone(),
        job: Some(corrected.clone()),
        reason: "one finding too many".into(),
    };
    let revised = office.revise_quote(request.clone()).await.unwrap().into_inner().quote.unwrap();
    assert_eq!((revised.number.as_str(), revised.state()), (first.number.as_str(), State::Open));
    assert_eq!(revised.quote.as_ref().unwrap().revision, 2);
    assert_eq!(revised.job, Some(corrected));
    let get = |revision, reversal| pb::GetQuoteRequest { number: first.number.clone(), revision, reversal };
    let read = office.get_quote(get(Some(1), false)).await.unwrap().into_inner().quote.unwrap();
    assert_eq!((read.state(), &read.quote), (State::Superseded, &first.quote));
    let page = evenfare(&["quote", &first.number, "--revision", "1", "--database", &world.database]);
    assert!(page.contains(&format!("{}, superseded by a later revision\n", first.number)), "{page}");
    let status =
        office.revise_quote(pb::ReviseQuoteRequest { request_id: "V-2".into(), ..request.clone() }).await;
    assert_eq!(reason(&status.unwrap_err()).reason, "ETAG_MISMATCH");

    // Declined, and taken back by the opposite entry.
    let request_declined = pb::DeclineQuoteRequest {
        request_id: "D-1".into(),
        number: first.number.clone(),
        etag: revised.etag.clone(),
        declined: Some(quoted),
        reason: "bought a new one".into(),
    };
    let declined = office.decline_quote(request_declined).await.unwrap().into_inner().quote.unwrap();
    assert_eq!((declined.state(), declined.settled), (State::Declined, Some(quoted)));
    let reverse = pb::ReverseQuoteRequest {
        request_id: "B-1".into(),
        number: first.number.clone(),
        etag: declined.etag.clone(),
        reason: String::new(),
    };
    let reversed = office.reverse_quote(reverse.clone()).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(reversed.state(), State::Reversed);
    let (opposite, entry) = (reversed.quote.as_ref().unwrap(), revised.quote.as_ref().unwrap());
    assert_eq!((opposite.revision, opposite.reversal), (2, true));
    let net = |quote: &pb::Quote| {
        quote.main.as_ref().unwrap().end.as_ref().unwrap().net.as_ref().unwrap().amount_minor
    };
    assert_eq!(net(opposite), -net(entry));
    for (which, state) in [
        (get(Some(2), false), State::Reversed),
        (get(Some(2), true), State::Reversed),
        (get(Some(1), false), State::Superseded),
        (get(None, false), State::Reversed),
    ] {
        let read = office.get_quote(which.clone()).await.unwrap().into_inner().quote.unwrap();
        assert_eq!(read.state(), state, "{which:?}");
    }

    // Repeated: the answers of then. Anew: nothing happens to it any more.
    let again = office.reverse_quote(reverse.clone()).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(again, reversed);
    let again = office.revise_quote(request.clone()).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(again, revised);
    let status = office
        .reverse_quote(pb::ReverseQuoteRequest {
            request_id: "B-2".into(),
            etag: reversed.etag.clone(),
            ..reverse
        })
        .await;
    assert_eq!(reason(&status.unwrap_err()).reason, "ALREADY_REVERSED");
    let status = office
        .revise_quote(pb::ReviseQuoteRequest { request_id: "V-3".into(), etag: reversed.etag, ..request })
        .await;
    assert_eq!(reason(&status.unwrap_err()).reason, "ALREADY_REVERSED");
}

#[tokio::test]
async fn lists_go_page_by_page() {
    let (_world, _server, mut office) = opened().await;
    let mut numbers = Vec::new();
    for index in 0..7 {
        let name = if index % 2 == 0 { "01-direct-oven" } else { "02-two-partners" };
        numbers.push(issued(&mut office, &format!("R-{index}"), name).await.number);
    }
    numbers.reverse();
    let mut listed = Vec::new();
    let mut request = pb::ListQuotesRequest { page_size: 3, ..pb::ListQuotesRequest::default() };
    loop {
        let page = office.list_quotes(request.clone()).await.unwrap().into_inner();
        assert!(page.quotes.len() <= 3);
        listed.extend(page.quotes);
        if page.next_page_token.is_empty() {
            break;
        }
        request.page_token = page.next_page_token;
    }
    assert_eq!(
        listed.iter().map(|quote| &quote.number).collect::<Vec<_>>(),
        numbers.iter().collect::<Vec<_>>()
    );
    assert_eq!(listed[0].reference, job("01-direct-oven").reference);

    let filter =
        pb::QuoteFilter { reference: job("02-two-partners").reference, ..pb::QuoteFilter::default() };
    let narrowed = pb::ListQuotesRequest { filter: Some(filter.clone()), ..pb::ListQuotesRequest::default() };
    assert_eq!(office.list_quotes(narrowed).await.unwrap().into_inner().quotes.len(), 3);
    let filter = pb::QuoteFilter { states: vec![State::Accepted.into()], ..pb::QuoteFilter::default() };
    let narrowed = pb::ListQuotesRequest { filter: Some(filter), ..pb::ListQuotesRequest::default() };
    assert_eq!(office.list_quotes(narrowed.clone()).await.unwrap().into_inner().quotes.len(), 0);
    let last = office
        .get_quote(pb::GetQuoteRequest { number: numbers[0].clone(), ..pb::GetQuoteRequest::default() });
    let last = last.await.unwrap().into_inner().quote.unwrap();
    office.accept_quote(accept("A-1", &last, "main")).await.unwrap();
    assert_eq!(office.list_quotes(narrowed.clone()).await.unwrap().into_inner().quotes.len(), 1);

    let in_series = |series: &str| {
        let filter = pb::QuoteFilter { series: series.into(), ..pb::QuoteFilter::default() };
        pb::ListQuotesRequest { filter: Some(filter), ..pb::ListQuotesRequest::default() }
    };
    let own = pb::IssueQuoteRequest { series: "AB".into(), ..issue("R-7", "01-direct-oven") };
    office.issue_quote(own).await.unwrap();
    for (series, expected) in
        [("AB", vec!["AB-2026-00001".to_owned()]), ("Q", numbers.clone()), ("A", vec![])]
    {
        let found = office.list_quotes(in_series(series)).await.unwrap().into_inner().quotes;
        assert_eq!(found.into_iter().map(|quote| quote.number).collect::<Vec<_>>(), expected, "{series}");
    }
    let told = reason(&office.list_quotes(in_series("ab")).await.unwrap_err());
    assert_eq!(told.fields, ["filter.series"]);

    // A token belongs to its filter, and is nobody's to make up.
    let status =
        office.list_quotes(pb::ListQuotesRequest { page_token: request.page_token, ..narrowed }).await;
    assert_eq!(reason(&status.unwrap_err()).fields, ["page_token"]);
    for (page_size, page_token) in [(-1, ""), (1001, ""), (0, "zz"), (0, "Q-2026-00001")] {
        let request = pb::ListQuotesRequest { page_size, page_token: page_token.into(), filter: None };
        assert_eq!(office.list_quotes(request).await.unwrap_err().code(), Code::InvalidArgument);
    }
}

/// Whoever gave up waiting sends the same request again, and it was done once.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_request_that_nobody_waited_for_is_done_once() {
    let (_world, _server, mut office) = opened().await;
    let mut given_up = 0;
    for index in 0..60_u32 {
        let mut request = Request::new(issue(&format!("R-{index}"), "02-two-partners"));
        request.set_timeout(Duration::from_micros(500 + u64::from(index) * 100));
        match office.issue_quote(request).await {
            Ok(_) => {}
            Err(status) => {
                let late = [Code::DeadlineExceeded, Code::Cancelled];
                assert!(late.contains(&status.code()), "{status:?}");
                given_up += 1;
            }
        }
    }
    assert!(given_up > 0, "every request was faster than its deadline");
    let mut numbers = std::collections::BTreeSet::new();
    for index in 0..60 {
        numbers.insert(issued(&mut office, &format!("R-{index}"), "02-two-partners").await.number);
    }
    let expected = (1..=60).map(|sequence| format!("Q-2026-{sequence:05}"));
    assert!(numbers.into_iter().eq(expected), "each was done once, and no number is missing");
}

/// A list says what was accepted, not what the job itself would have cost.
#[tokio::test]
async fn a_list_has_the_amount_of_the_accepted_alternative() {
    let (world, _server, mut office) = opened().await;
    let kept = issued(&mut office, "R-1", "10-uneconomic").await;
    let quote = kept.quote.as_ref().unwrap();
    let alternative = &quote.alternatives[0];
    office.accept_quote(accept("A-1", &kept, &alternative.id)).await.unwrap();
    let list = office.list_quotes(pb::ListQuotesRequest::default()).await.unwrap().into_inner().quotes;
    let net = |offer: &pb::Offer| offer.end.as_ref().unwrap().net.clone();
    assert_eq!(list[0].accepted_offer, Some(alternative.id.clone()));
    assert_eq!(list[0].accepted_net, net(alternative));
    assert_eq!(list[0].end_net, net(quote.main.as_ref().unwrap()));
    assert_ne!(list[0].accepted_net, list[0].end_net);

    // As an earlier build has kept it, it says the same, for the document says it.
    let store = world.database.parse::<Database>().unwrap().open().await.unwrap();
    let mut content =
        store.entry(&kept.number.parse().unwrap(), None, &Sight::All).await.unwrap().unwrap().content;
    assert!(content.offers.iter().all(|offer| offer.net_minor.is_some()));
    content.offers.iter_mut().for_each(|offer| offer.net_minor = None);
    let by_hand = async |id: &str, command: Command| {
        let (id, caller, fingerprint) =
            (id.parse().unwrap(), "front-desk".parse().unwrap(), Digest::of(id.as_bytes()));
        store.write(ToKeep { id, fingerprint, caller, command }).await.unwrap().event
    };
    let (series, editions) = (Series::usual(), store.editions().await.unwrap().len());
    let (offer, day) = (alternative.id.parse().unwrap(), content.quoted);
    let issued = by_hand("I-1", Command::Issue { series, content: Box::new(content), editions }).await;
    let number = issued.subject.parse().unwrap();
    by_hand("A-2", Command::Accept { number, etag: issued.hash, offer, day }).await;
    store.close().await;
    assert!(audit(&world.database).0);
    let listed = async |office: &mut Office| {
        office.list_quotes(pb::ListQuotesRequest::default()).await.unwrap().into_inner().quotes
    };
    let both = listed(&mut office).await;
    assert_eq!(both.len(), 2);
    assert_eq!(both[1], list[0]);
    assert_eq!(
        (&both[0].accepted_offer, &both[0].accepted_net),
        (&list[0].accepted_offer, &list[0].accepted_net)
    );

    // The others are told without opening a document.
    let file = rusqlite::Connection::open(&world.database).unwrap();
    let damage = format!(
        "DROP TRIGGER entries_stay; UPDATE entries SET document = x'00' WHERE number = '{}'",
        kept.number
    );
    file.execute_batch(&damage).unwrap();
    assert_eq!(listed(&mut office).await, both);

    // What has to be opened and cannot be is not known, and no list passes for a whole one.
    let damage = format!("UPDATE entries SET document = x'00' WHERE number = '{}'", both[0].number);
    file.execute_batch(&damage).unwrap();
    let list = ["quotes", "--format", "json", "--database", &world.database];
    let said = command().args(list).output().unwrap();
    let told: serde_json::Value = serde_json::from_slice(&said.stdout).unwrap();
    assert_eq!((said.status.code(), told["unreadable"].as_array().unwrap().len()), (Some(74), 1), "{told}");
    let accepted = [0, 1].map(|quote| told["quotes"][quote]["accepted_net_minor"].as_i64());
    assert_eq!(accepted, [None, both[1].accepted_net.as_ref().map(|net| net.amount_minor)], "{told}");
}

/// Another job, or another currency, is another quote.
#[tokio::test]
async fn a_revision_is_of_the_same_job() {
    let (_world, _server, mut office) = opened().await;
    let kept = issued(&mut office, "R-1", "02-two-partners").await;
    let revise = |job: pb::Job| pb::ReviseQuoteRequest {
        request_id: "V-1".into(),
        number: kept.number.clone(),
        etag: kept.etag.clone(),
        job: Some(job),
        reason: String::new(),
    };
    let told = reason(&office.revise_quote(revise(job("01-direct-oven"))).await.unwrap_err());
    assert_eq!(told.fields, ["job.reference"]);
    let francs = pb::Job { currency_code: Some("CHF".into()), ..job("02-two-partners") };
    let told = reason(&office.revise_quote(revise(francs)).await.unwrap_err());
    assert_eq!(told.fields, ["job.currency_code"]);
    assert!(office.revise_quote(revise(job("02-two-partners"))).await.is_ok());
}
