//! The partner portal: what a partner learns, and what he does not.

use evenfare::wire::pb;
use evenfare::wire::pb::partner_service_client::PartnerServiceClient;
use prost::Message;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use crate::harness::{Client, Server, World, connect, issued, job, office, opened, reason, until};

type Partner = PartnerServiceClient<Client>;

async fn partner(server: &Server, token: &str) -> Partner {
    PartnerServiceClient::new(connect(&server.url, token).await)
}

/// A job of the demo world, without its route.
fn own_job(name: &str) -> pb::PriceOwnJobRequest {
    let job = pb::Job { route: Vec::new(), ..job(name) };
    pb::PriceOwnJobRequest { job: Some(job), ..pb::PriceOwnJobRequest::default() }
}

fn minor(money: Option<&pb::Money>) -> i64 {
    money.unwrap().amount_minor
}

#[tokio::test]
async fn a_partner_learns_the_end_price_and_what_he_pays_and_keeps() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut olom = partner(&server, &world.olom).await;
    let quote = olom.price_own_job(own_job("02-two-partners")).await.unwrap().into_inner().quote.unwrap();
    let main = quote.main.unwrap();
    // The column of his route in the README: the end price is everybody's.
    assert_eq!(minor(main.end.as_ref().unwrap().net.as_ref()), 212_500);
    assert_eq!(main.shares.len(), 1);
    assert_eq!(main.shares[0].partner, "P-OLOM");
    assert_eq!(main.sales.iter().map(|sale| sale.seller.as_str()).collect::<Vec<_>>(), ["P-BRZEG", "P-OLOM"]);
    assert_eq!(
        minor(main.sales[1].net.as_ref()) - minor(main.sales[0].net.as_ref()),
        minor(main.shares[0].share.as_ref())
    );
    assert_eq!((main.cost, main.contribution, main.workshop_net), (None, None, None));
    assert!(main.costs.is_none());
    assert!(main.working.is_empty());

    let mut woergl = partner(&server, &world.woergl).await;
    let other = woergl.price_own_job(own_job("02-two-partners")).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(minor(other.main.unwrap().end.unwrap().net.as_ref()), 212_500);

    // A route is not his to choose: what others keep would show.
    let request =
        pb::PriceOwnJobRequest { job: Some(job("02-two-partners")), ..pb::PriceOwnJobRequest::default() };
    let told = reason(&olom.price_own_job(request).await.unwrap_err());
    assert_eq!(told.fields, ["job.route"]);

    // What is wrong with what he sent stands where he sent it, and the chain above him shows nowhere.
    let mut request = own_job("02-two-partners");
    request.takes_over =
        Some(pb::TakenOver { works: vec![pb::Work::LegIn.into(), 77, pb::Work::LegIn.into()] });
    let told = reason(&olom.price_own_job(request.clone()).await.unwrap_err());
    assert_eq!(told.fields, ["takes_over.works[1]"]);
    request.takes_over =
        Some(pb::TakenOver { works: vec![pb::Work::Removal.into(), pb::Work::Removal.into()] });
    let told = reason(&olom.price_own_job(request).await.unwrap_err());
    assert_eq!(told.fields, ["takes_over.works[1]"], "{told:?}");

    // What he takes over is.
    let mut request = own_job("02-two-partners");
    request.takes_over = Some(pb::TakenOver { works: Vec::new() });
    let without = olom.price_own_job(request).await.unwrap().into_inner().quote.unwrap().main.unwrap();
    assert!(minor(without.shares[0].share.as_ref()) < minor(main.shares[0].share.as_ref()));
    assert_eq!(minor(without.end.unwrap().net.as_ref()), 212_500);
}

#[tokio::test]
async fn a_partner_who_is_refused_learns_the_end_price_and_no_more() {
    let world = World::new();
    let floor = job("09-floor-refuses");
    let partners: Vec<String> = floor.route.iter().map(|stop| stop.partner.clone()).collect();
    let last = partners.last().unwrap();
    let token = world.token("portal-last", &format!("partner:{last}"));
    let server = Server::start(&world.database, &[]);
    let mut portal = partner(&server, &token).await;
    let mut request = own_job("09-floor-refuses");
    request.takes_over = floor.route.last().unwrap().takes_over.clone();
    let told = reason(&portal.price_own_job(request).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "UNDER_THE_FLOOR"));
    let under = told.refusal.under_the_floor.unwrap();
    assert!(minor(under.end_net.as_ref()) > 0);
    assert_eq!((under.shares, under.available, under.refused_by), (None, None, None));
}

#[tokio::test]
async fn a_partner_whom_the_tariff_does_not_know_has_no_prices() {
    let world = World::new();
    let stranger = world.token("portal-nowhere", "partner:P-NOWHERE");
    let server = Server::start(&world.database, &[]);
    let mut nowhere = partner(&server, &stranger).await;
    let told = reason(&nowhere.price_own_job(own_job("02-two-partners")).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "NO_ROUTE"));
}

/// Everything that is answered about a number that is not his: to the byte what is answered about one that
/// does not exist.
#[tokio::test]
async fn whether_a_foreign_number_exists_cannot_be_learnt() {
    let (world, server, mut office) = opened().await;
    let foreign = issued(&mut office, "R-1", "01-direct-oven").await;
    let own = issued(&mut office, "R-2", "02-two-partners").await;
    let mut olom = partner(&server, &world.olom).await;
    let mut answers = Vec::new();
    for (number, revision) in [
        (foreign.number.as_str(), None),
        ("Q-2026-00077", None),
        (&foreign.number, Some(1)),
        ("Q-2026-00077", Some(1)),
        (&own.number, Some(2)),
    ] {
        let request = pb::GetOwnQuoteRequest { number: number.into(), revision, reversal: false };
        let status = olom.get_own_quote(request).await.unwrap_err();
        answers.push((status.code(), status.message().to_owned(), status.details().to_vec()));
    }
    assert_eq!(answers[0].0, Code::NotFound);
    assert!(answers.iter().all(|answer| *answer == answers[0]), "{answers:?}");

    // Lists, filtered in every way, hold his own alone.
    let filters = [
        pb::QuoteFilter::default(),
        pb::QuoteFilter { reference: job("01-direct-oven").reference, ..pb::QuoteFilter::default() },
        pb::QuoteFilter { states: (1..=5).collect(), ..pb::QuoteFilter::default() },
    ];
    for (filter, expected) in filters.into_iter().zip([1, 0, 1]) {
        let request =
            pb::ListOwnQuotesRequest { filter: Some(filter), page_size: 1, page_token: String::new() };
        let page = olom.list_own_quotes(request).await.unwrap().into_inner();
        assert_eq!(page.quotes.len(), expected);
        assert!(page.quotes.iter().all(|quote| quote.number == own.number));
        assert_eq!(page.next_page_token, "");
    }
    let mut woergl = partner(&server, &world.woergl).await;
    let page = woergl.list_own_quotes(pb::ListOwnQuotesRequest::default()).await.unwrap().into_inner();
    assert!(page.quotes.is_empty());
}

/// What a partner reads of a kept quote has none of the figures that are not his anywhere in its bytes.
#[tokio::test]
async fn a_kept_quote_tells_a_partner_nothing_of_others() {
    let (world, server, mut office) = opened().await;
    let kept = issued(&mut office, "R-1", "02-two-partners").await;
    let main = kept.quote.as_ref().unwrap().main.as_ref().unwrap();
    let share = |partner: &str| {
        main.shares.iter().find(|share| share.partner == partner).unwrap().share.clone().unwrap()
    };
    let get = pb::GetOwnQuoteRequest { number: kept.number.clone(), ..pb::GetOwnQuoteRequest::default() };

    for (token, own, other) in [(&world.olom, "P-OLOM", "P-BRZEG"), (&world.brzeg, "P-BRZEG", "P-OLOM")] {
        let mut portal = partner(&server, token).await;
        let seen = portal.get_own_quote(get.clone()).await.unwrap().into_inner().quote.unwrap();
        assert_eq!((seen.etag.as_str(), &seen.job), ("", &None));
        let offer = seen.quote.as_ref().unwrap().main.as_ref().unwrap();
        assert_eq!(offer.shares.iter().map(|share| share.partner.as_str()).collect::<Vec<_>>(), [own]);
        assert_eq!(offer.shares[0].share.as_ref(), Some(&share(own)));
        let bytes = seen.encode_to_vec();
        let hidden = [
            share(other).encode_to_vec(),
            main.cost.as_ref().unwrap().encode_to_vec(),
            main.contribution.as_ref().unwrap().encode_to_vec(),
            main.workshop_net
                .as_ref()
                .filter(|_| own != "P-BRZEG")
                .map(Message::encode_to_vec)
                .unwrap_or_else(|| vec![0; 64]),
        ];
        for secret in hidden {
            assert!(!bytes.windows(secret.len()).any(|window| window == secret), "{own} sees {secret:?}");
        }
    }

    // By another route he is on it no more: the first revision stays his, and what came after is not.
    let mut direct = job("02-two-partners");
    direct.route.clear();
    let request = pb::ReviseQuoteRequest {
        request_id: "V-1".into(),
        number: kept.number.clone(),
        etag: kept.etag.clone(),
        job: Some(direct),
        reason: String::new(),
    };
    office.revise_quote(request).await.unwrap();
    let mut olom = partner(&server, &world.olom).await;
    let seen = olom.get_own_quote(get).await.unwrap().into_inner().quote.unwrap();
    assert_eq!((seen.quote.as_ref().unwrap().revision, seen.state()), (1, pb::QuoteState::Superseded));
    let page = olom.list_own_quotes(pb::ListOwnQuotesRequest::default()).await.unwrap().into_inner();
    assert_eq!(page.quotes.iter().map(|quote| quote.revision).collect::<Vec<_>>(), [1]);
}

/// What a partner may take over is his to choose: were he told what scaled shares come to, two prices would give
/// him the workshop's floor and the share of the partner before him.
#[tokio::test]
async fn scaled_shares_are_for_the_office_to_tell() {
    let world = World::new();
    let scaled = job("08-floor-scales");
    let last = scaled.route.last().unwrap().partner.clone();
    let token = world.token("portal-last", &format!("partner:{last}"));
    let server = Server::start(&world.database, &[]);
    let mut portal = partner(&server, &token).await;
    let mut request = own_job("08-floor-scales");
    request.takes_over = scaled.route.last().unwrap().takes_over.clone();
    let told = reason(&portal.price_own_job(request).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "ASK_THE_OFFICE"));
    let under = told.refusal.under_the_floor.unwrap();
    assert!(minor(under.end_net.as_ref()) > 0);
    assert_eq!((under.shares, under.available, under.refused_by), (None, None, None));
}

/// A flat price does not move with what the repair costs: how much may be found before the floor refuses tells what the
/// workshop keeps. So a partner is told so often, and then whatever he asks about such units has one answer.
#[tokio::test]
async fn a_partner_who_weighs_the_floor_is_told_no_more_of_it() {
    let world = World::new();
    let server = Server::start(&world.database, &["--floor-refusals", "3"]);
    let mut woergl = partner(&server, &world.woergl).await;
    let job = |times: u32| {
        let mut request = own_job("08-floor-scales");
        request.job.as_mut().unwrap().units[0].findings[0].quantity = Some(times);
        request
    };
    // One with such a unit that the floor does not refuse.
    let mut fine = job(1);
    let unit = &mut fine.job.as_mut().unwrap().units[0];
    (unit.class, unit.findings) = (Some("major".into()), unit.findings[1..].to_vec());
    fine.takes_over = Some(pb::TakenOver { works: Vec::new() });
    woergl.price_own_job(fine.clone()).await.unwrap();
    for times in [4, 2, 3] {
        let status = woergl.price_own_job(job(times)).await.unwrap_err();
        assert_eq!(reason(&status).reason, "ASK_THE_OFFICE");
        assert!(status.get_details_retry_info().is_none(), "{status:?}");
    }
    // Refused or not: the same answer but for the end price, which is everybody's.
    for request in [job(2), job(9), fine] {
        let status = woergl.price_own_job(request).await.unwrap_err();
        let told = reason(&status);
        assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "ASK_THE_OFFICE"));
        assert!(status.message().contains("were refused within a day"), "{status:?}");
        assert!(status.get_details_retry_info().unwrap().retry_delay.unwrap().as_secs() > 86_000);
        let under = told.refusal.under_the_floor.unwrap();
        assert!(under.end_net.is_some() && under.id == "main", "{under:?}");
        assert_eq!((under.shares, under.available, under.refused_by), (None, None, None));
    }
    // What is wrong with a job he is told as ever, and other units have their prices, for him and for everybody.
    let mut wrong = job(2);
    wrong.job.as_mut().unwrap().units[0].findings[0].code = "NO-SUCH".into();
    assert_eq!(reason(&woergl.price_own_job(wrong).await.unwrap_err()).reason, "INVALID_INPUT");
    woergl.price_own_job(own_job("02-two-partners")).await.unwrap();
    let mut office = office(&world, &server).await;
    let request = pb::PriceJobRequest { job: job(2).job, ..pb::PriceJobRequest::default() };
    office.price_job(request).await.unwrap();
    // Whoever reads the log sees who was refused how often.
    until(async || server.log().contains("refused by the floor")).await;
    let line = |log: &str| log.lines().any(|line| line.contains("P-WOERGL") && line.contains("of_the_day=3"));
    until(async || line(&server.log())).await;
}

/// Many alternatives are many prices in one call: it has to be taken whole, and counts before it is answered.
#[tokio::test]
async fn a_call_cannot_ask_for_more_than_a_day_has() {
    let world = World::new();
    let assen = world.token("portal-assen", "partner:P-ASSEN");
    let (exchange, find) =
        (pb::Task::Exchange, |code: &str| pb::Finding { code: code.into(), ..Default::default() });
    let alternative = |id: &str| {
        let change = pb::Change { unit: "U1".into(), task: exchange.into(), ..pb::Change::default() };
        pb::Alternative { id: id.into(), text: "another unit".into(), changes: vec![change] }
    };
    // The agreement refuses an exchange; sent as it is, the job has a price.
    let request = |alternatives: &[&str]| {
        let mut request = own_job("09-floor-refuses");
        let job = request.job.as_mut().unwrap();
        job.units[0].task = pb::Task::Refresh.into();
        job.units[0].findings = vec![pb::Finding { position: Some("A3".into()), ..find("IO-BOARD") }];
        job.alternatives = alternatives.iter().copied().map(alternative).collect();
        request
    };
    let server = Server::start(&world.database, &["--floor-refusals", "2"]);
    let mut portal = partner(&server, &assen).await;
    let told = portal.price_own_job(request(&["A"])).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(told.refused.iter().map(|offer| offer.id.as_str()).collect::<Vec<_>>(), ["A"]);
    // Two more are one too many: neither is told, and from then on nothing is.
    let mut answers = Vec::new();
    for alternatives in [&["A", "B"][..], &["A"], &[]] {
        let status = portal.price_own_job(request(alternatives)).await.unwrap_err();
        assert!(status.get_details_retry_info().is_some(), "{status:?}");
        answers.push((
            status.message().to_owned(),
            reason(&status).reason,
            reason(&status).refusal.under_the_floor,
        ));
    }
    assert_eq!(answers[0].1, "ASK_THE_OFFICE");
    assert!(answers.iter().all(|answer| *answer == answers[0]), "{answers:?}");

    // Whoever is to be told of none is told of none.
    let server = Server::start(&world.database, &["--floor-refusals", "0"]);
    let mut portal = partner(&server, &assen).await;
    portal.price_own_job(request(&[])).await.unwrap();
    let status = portal.price_own_job(request(&["A"])).await.unwrap_err();
    assert_eq!((status.message(), reason(&status).reason.as_str()), (&*answers[0].0, "ASK_THE_OFFICE"));
}

/// Which editions there are, and what they will cost, is the office's to know.
#[tokio::test]
async fn a_partner_learns_nothing_of_editions() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut olom = partner(&server, &world.olom).await;
    let names_none = |status: &Status| {
        let told = String::from_utf8_lossy(status.details()).into_owned() + status.message();
        assert!(!told.contains("2026-0") && !told.contains("2025-0"), "{told}");
    };
    for year in [2001, 2999] {
        let mut request = own_job("02-two-partners");
        request.job.as_mut().unwrap().received = Some(pb::Date { year, month: 1, day: 1 });
        let status = olom.price_own_job(request).await.unwrap_err();
        assert_eq!(reason(&status).fields, ["job.received"]);
        names_none(&status);
    }
    let file = rusqlite::Connection::open(&world.database).unwrap();
    let damage = "DROP TRIGGER editions_stay; UPDATE editions SET archive = x'00' WHERE code = '2026-07'";
    file.execute_batch(damage).unwrap();
    let server = Server::start(&world.database, &[]);
    let mut olom = partner(&server, &world.olom).await;
    let status = olom.price_own_job(own_job("02-two-partners")).await.unwrap_err();
    assert_eq!(reason(&status).reason, "EDITION_UNREADABLE");
    names_none(&status);
}

/// A token is no secret, so that one can be made up: it says nothing of numbers that are not his.
#[tokio::test]
async fn a_page_token_that_is_made_up_tells_nothing() {
    let (world, server, mut office) = opened().await;
    for (id, name) in [("R-1", "02-two-partners"), ("R-2", "01-direct-oven"), ("R-3", "02-two-partners")] {
        issued(&mut office, id, name).await;
    }
    let mut olom = partner(&server, &world.olom).await;
    let list = async |olom: &mut Partner, page_token: String| {
        let request = pb::ListOwnQuotesRequest { page_size: 1, page_token, filter: None };
        olom.list_own_quotes(request).await.unwrap().into_inner()
    };
    let first = list(&mut olom, String::new()).await;
    assert_eq!(first.quotes[0].number, "Q-2026-00003");
    let second = list(&mut olom, first.next_page_token.clone()).await;
    assert_eq!(second.quotes[0].number, "Q-2026-00001");
    // The same token with another number in it: the foreign one is as if it were not there.
    let hex = |text: &str| text.bytes().map(|byte| format!("{byte:02x}")).collect::<String>();
    let made_up = |number: &str| first.next_page_token.replace(&hex("Q-2026-00003"), &hex(number));
    let foreign = list(&mut olom, made_up("Q-2026-00002")).await;
    let nowhere = list(&mut olom, made_up("Q-2026-00077")).await;
    assert_eq!(foreign, nowhere);
    assert!(foreign.quotes.is_empty());
}
