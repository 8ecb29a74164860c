//! Tariffs over the wire: checked, published once, never changed.

use std::fs;
use std::path::Path;

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use evenfare::wire::pb::tariff_service_client::TariffServiceClient;
use tempfile::TempDir;
use tonic::Code;

use crate::harness::{Client, Server, World, accept, audit, connect, issued, job, opened, reason, token};

/// The files of an edition of the demo world.
fn files(edition: &str) -> Vec<pb::TariffFile> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff").join(edition);
    let file = |entry: fs::DirEntry| pb::TariffFile {
        name: entry.file_name().into_string().unwrap(),
        content: fs::read(entry.path()).unwrap(),
    };
    fs::read_dir(dir).unwrap().map(|entry| file(entry.unwrap())).collect()
}

fn changed(files: &mut [pb::TariffFile], name: &str, change: impl Fn(String) -> String) {
    let file = files.iter_mut().find(|file| file.name == name).unwrap();
    file.content = change(String::from_utf8(file.content.clone()).unwrap()).into_bytes();
}

/// A store that has somebody, and no tariff yet.
fn without_tariff() -> (TempDir, String, String) {
    let dir = TempDir::new().unwrap();
    let database = dir.path().join("evenfare.db").to_str().unwrap().to_owned();
    let token = token(&database, "front-desk", "office");
    (dir, database, token)
}

#[tokio::test]
async fn an_edition_is_checked_then_published_and_prices_at_once() {
    let (_dir, database, token) = without_tariff();
    let server = Server::start(&database, &[]);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &token).await);
    let mut office = OfficeServiceClient::new(connect(&server.url, &token).await);
    let price = pb::PriceJobRequest { job: Some(job("02-two-partners")), ..pb::PriceJobRequest::default() };
    let told = reason(&office.price_job(price.clone()).await.unwrap_err());
    assert_eq!(told.fields, ["job.received"], "no edition prices that day");

    // Every mistake, with its place; nothing is published.
    let mut broken = files("2026-07");
    changed(&mut broken, "parts.csv", |text| text.replacen("code,", "cod,", 1));
    changed(&mut broken, "edition.toml", |text| text.replace("currency", "curency"));
    let mistakes = tariffs
        .check_tariff(pb::CheckTariffRequest { files: broken.clone() })
        .await
        .unwrap()
        .into_inner()
        .mistakes;
    assert!(
        mistakes.iter().any(|mistake| mistake.file == "parts.csv" && mistake.line == 2 && mistake.is_error)
    );
    assert!(mistakes.iter().any(|mistake| mistake.file == "edition.toml" && mistake.line > 0));
    let publish = |id: &str, files| pb::PublishEditionRequest { request_id: id.into(), files };
    let told = reason(&tariffs.publish_edition(publish("P-0", broken)).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::InvalidArgument, "INVALID_TARIFF"));
    assert!(told.fields.iter().any(|field| field.starts_with("parts.csv:2")), "{:?}", told.fields);
    let mut twice = files("2026-07");
    twice.push(twice[0].clone());
    twice.push(pb::TariffFile { name: "../parts.csv".into(), content: Vec::new() });
    // Whichever part of a message is wrong, all of it is told at once.
    let told = reason(&tariffs.publish_edition(publish("", twice)).await.unwrap_err());
    let last = files("2026-07").len();
    let names = [format!("files[{last}].name"), format!("files[{}].name", last + 1)];
    assert_eq!(told.fields, [&["request_id".to_owned()][..], &names].concat());

    let warnings =
        tariffs.check_tariff(pb::CheckTariffRequest { files: files("2026-01") }).await.unwrap().into_inner();
    assert!(warnings.mistakes.iter().all(|mistake| !mistake.is_error), "{warnings:?}");
    let first = tariffs
        .publish_edition(publish("P-1", files("2026-01")))
        .await
        .unwrap()
        .into_inner()
        .edition
        .unwrap();
    assert_eq!((first.code.as_str(), first.publisher.as_str()), ("2026-01", "front-desk"));
    // The order of the files is nothing of theirs.
    let mut turned = files("2026-01");
    turned.reverse();
    let again = tariffs.publish_edition(publish("P-1", turned)).await.unwrap().into_inner().edition.unwrap();
    assert_eq!(again, first);
    let status = tariffs.publish_edition(publish("P-2", files("2026-01"))).await.unwrap_err();
    assert_eq!((status.code(), reason(&status).reason.as_str()), (Code::AlreadyExists, "EDITION_EXISTS"));
    let status = tariffs.publish_edition(publish("P-3", files("2025-07"))).await.unwrap_err();
    assert_eq!(
        reason(&status).reason,
        "EDITION_TOO_EARLY",
        "quotes of its days may have been priced already"
    );

    // The next prices at once, and the first one's days stay the first one's.
    tariffs.publish_edition(publish("P-4", files("2026-07"))).await.unwrap();
    let quote = office.price_job(price).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(quote.edition, "2026-07");
    let editions =
        tariffs.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner().editions;
    assert_eq!(
        editions.iter().map(|edition| edition.code.as_str()).collect::<Vec<_>>(),
        ["2026-01", "2026-07"]
    );

    let rules = tariffs.list_rules(pb::ListRulesRequest {}).await.unwrap().into_inner().rules;
    let named = office.price_job(pb::PriceJobRequest {
        job: Some(job("04-swiss-francs")),
        with_working: true,
        with_plan: false,
    });
    let working = named.await.unwrap().into_inner().quote.unwrap().main.unwrap().working;
    assert!(
        working.iter().all(|step| rules.iter().any(|rule| rule.code == step.rule && !rule.text.is_empty()))
    );
}

/// A server that has not heard of the last edition prices anew before it keeps anything.
#[tokio::test]
async fn a_quote_names_the_edition_of_its_day_also_while_one_is_published() {
    let (_dir, database, token) = without_tariff();
    let server = Server::start(&database, &[]);
    let other = Server::start(&database, &[]);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &token).await);
    let publisher = tariffs.clone();
    let publish = async |id: &str, files| {
        let request = pb::PublishEditionRequest { request_id: id.into(), files };
        publisher.clone().publish_edition(request).await.unwrap();
    };
    // Open, until another begins.
    let mut open = files("2026-07");
    changed(&mut open, "edition.toml", |text| {
        text.lines().filter(|line| !line.starts_with("until")).map(|line| format!("{line}\n")).collect()
    });
    let mut next = open.clone();
    changed(&mut next, "edition.toml", |text| {
        text.replace("\"2026-07\"", "\"2026-10\"").replace("2026-07-01", "2026-10-01")
    });
    publish("P-1", open).await;
    tokio::time::sleep(std::time::Duration::from_secs(1)).await;

    let mut late = job("01-direct-oven");
    late.received = Some(pb::Date { year: 2026, month: 10, day: 5 });
    (late.quoted, late.dispatch, late.tax_date) = (None, None, None);
    let mut office = OfficeServiceClient::new(connect(&other.url, &token).await);
    let issue = |id: &str| pb::IssueQuoteRequest {
        request_id: id.into(),
        job: Some(late.clone()),
        series: String::new(),
    };
    let before = office.issue_quote(issue("R-1")).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(before.quote.as_ref().unwrap().edition, "2026-07");
    publish("P-2", next).await;
    let after = office.issue_quote(issue("R-2")).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(after.quote.as_ref().unwrap().edition, "2026-10");
    let list = tariffs.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner().editions;
    let last = |index: usize| list[index].until.map(|day| (day.year, day.month, day.day));
    assert_eq!((last(0), last(1)), (Some((2026, 9, 30)), None), "an open edition ends where the next begins");
    let mut others = TariffServiceClient::new(connect(&other.url, &token).await);
    let listed = others.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner();
    assert_eq!(listed.editions, list, "what one server has published all list");
    // What was answered stays answered.
    assert_eq!(office.issue_quote(issue("R-1")).await.unwrap().into_inner().quote.unwrap(), before);
}

/// A list opens no files, and goes on where it was left.
#[tokio::test]
async fn editions_are_listed_page_by_page() {
    let world = World::new();
    let server = Server::start(&world.database, &[]);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &world.accountant).await);
    let mut list = async |page_size, page_token: &str| {
        let request = pb::ListEditionsRequest { page_size, page_token: page_token.into() };
        Ok::<_, tonic::Status>(tariffs.list_editions(request).await?.into_inner())
    };
    let all = list(0, "").await.unwrap();
    assert_eq!(
        (all.editions.len(), all.next_page_token.as_str()),
        (3, ""),
        "who knows of no pages has them all"
    );
    let file = rusqlite::Connection::open(&world.database).unwrap();
    file.execute_batch("DROP TRIGGER editions_stay; UPDATE editions SET archive = x'00'").unwrap();
    let first = list(2, "").await.unwrap();
    assert_eq!(first.editions, all.editions[..2]);
    let last = list(2, &first.next_page_token).await.unwrap();
    assert_eq!((last.editions.as_slice(), last.next_page_token.as_str()), (&all.editions[2..], ""));
    assert_eq!(list(3, "").await.unwrap(), all, "nothing follows a last page that is full");

    let told = reason(&list(1_001, "Q").await.unwrap_err());
    assert_eq!(told.fields, ["page_size", "page_token"]);
}

/// One that was damaged, or that a server of a later version has published, closes its own days and nothing else.
#[tokio::test]
async fn an_edition_that_cannot_be_read_is_told_and_closes_its_days_alone() {
    let (world, _server, mut office) = opened().await;
    let before = issued(&mut office, "R-1", "01-direct-oven").await;
    let file = rusqlite::Connection::open(&world.database).unwrap();
    // A currency that this program does not know; files of another edition.
    let damage = "DROP TRIGGER editions_stay; UPDATE editions SET currency = 'QQQ' WHERE code = '2025-07'; \
         UPDATE editions SET archive = (SELECT archive FROM editions WHERE code = '2026-01') WHERE code = '2026-07'";
    file.execute_batch(damage).unwrap();
    // Who starts now cannot read it.
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &world.accountant).await);
    let list = tariffs.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner().editions;
    let told: Vec<_> = list.iter().map(|one| (one.code.as_str(), one.unreadable.is_empty())).collect();
    assert_eq!(told, [("2025-07", false), ("2026-01", true), ("2026-07", false)]);

    let price = |name| pb::PriceJobRequest { job: Some(job(name)), ..pb::PriceJobRequest::default() };
    let told = reason(&office.price_job(price("01-direct-oven")).await.unwrap_err());
    assert_eq!((told.code, &*told.reason), (Code::FailedPrecondition, "EDITION_UNREADABLE"));
    let mut wrong = price("01-direct-oven");
    wrong.job.as_mut().unwrap().reference = "J 1".into();
    let told = reason(&office.price_job(wrong).await.unwrap_err());
    assert_eq!(told.fields, ["job.reference"], "its day is no mistake of the job");
    let other = office.price_job(price("08-floor-scales")).await.unwrap().into_inner().quote.unwrap();
    assert_eq!(other.edition, "2026-01");
    assert_eq!(
        issued(&mut office, "R-1", "01-direct-oven").await,
        before,
        "what was answered stays answered"
    );
    let other = issued(&mut office, "R-2", "08-floor-scales").await;
    assert_eq!(other.number, "Q-2026-00002");

    // Neither a document with somebody else's letterhead, nor sums that lack something.
    let document = |kept: &pb::KeptQuote| pb::GetDocumentRequest {
        document: Some(pb::DocumentChoice {
            number: kept.number.clone(),
            kind: pb::DocumentKind::Quote.into(),
            format: pb::DocumentFormat::Xml.into(),
            ..pb::DocumentChoice::default()
        }),
        partner: String::new(),
    };
    let told = reason(&office.get_document(document(&before)).await.unwrap_err());
    assert_eq!(told.reason, "EDITION_UNREADABLE");
    assert!(office.get_document(document(&other)).await.is_ok());
    let request = pb::TryTariffRequest {
        files: files("2026-07"),
        from: Some(pb::Date { year: 2026, month: 1, day: 1 }),
        until: Some(pb::Date { year: 2026, month: 12, day: 31 }),
        accepted_only: false,
    };
    let told = reason(&tariffs.try_tariff(request).await.unwrap_err());
    assert_eq!(told.reason, "EDITION_UNREADABLE");
}

/// It may have priced any day that the others leave.
#[tokio::test]
async fn an_edition_whose_days_are_damaged_closes_all_that_may_be_its_own() {
    let world = World::new();
    let file = rusqlite::Connection::open(&world.database).unwrap();
    let damage = "DROP TRIGGER editions_stay; UPDATE editions SET begins = '2026-01' WHERE code = '2026-01'; \
         UPDATE editions SET code = '2025 07' WHERE code = '2025-07'";
    file.execute_batch(damage).unwrap();
    let server = Server::start(&world.database, &[]);
    let mut office = OfficeServiceClient::new(connect(&server.url, &world.office).await);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &world.office).await);
    let list = tariffs.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner().editions;
    let told = list.iter().map(|one| (&*one.code, one.from.unwrap().year, &*one.unreadable));
    let (day, name) = ("the first day cannot be `2026-01`", "the code cannot be `2025 07`");
    assert!(told.eq([("2025-07", 2025, name), ("2026-01", 2026, day), ("2026-07", 2026, "")]), "{list:?}");
    let price = pb::PriceJobRequest { job: Some(job("08-floor-scales")), ..pb::PriceJobRequest::default() };
    let told = reason(&office.price_job(price).await.unwrap_err());
    assert_eq!(told.reason, "EDITION_UNREADABLE");
    let issued = issued(&mut office, "R-1", "01-direct-oven").await;
    assert_eq!(issued.quote.unwrap().edition, "2026-07");
    let mut next = files("2026-07");
    changed(&mut next, "edition.toml", |text| text.replace("2026-", "2027-"));
    let publish = pb::PublishEditionRequest { request_id: "P-1".into(), files: next };
    let told = reason(&tariffs.publish_edition(publish).await.unwrap_err());
    assert_eq!((told.code, told.reason.as_str()), (Code::FailedPrecondition, "EDITION_UNREADABLE"));
}

/// Names and files cost a message little: an office, or its defect, cannot make the server look for each of half a
/// million names among all the others.
#[tokio::test]
async fn more_files_than_an_edition_has_are_refused() {
    let (_dir, database, token) = without_tariff();
    let server = Server::start(&database, &[]);
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &token).await);
    let file = |number: usize| pb::TariffFile { name: format!("{number:x}"), content: Vec::new() };
    let files: Vec<_> = (0..400_000).map(file).collect();
    let told = reason(&tariffs.check_tariff(pb::CheckTariffRequest { files }).await.unwrap_err());
    assert_eq!((told.code, told.fields), (Code::InvalidArgument, vec!["files".to_owned()]));
}

/// All messages of a trial, the last of them with what came of it.
async fn tried(
    tariffs: &mut TariffServiceClient<Client>,
    request: pb::TryTariffRequest,
) -> Vec<pb::TryTariffResponse> {
    let mut answers = tariffs.try_tariff(request).await.unwrap().into_inner();
    let mut all = Vec::new();
    while let Some(answer) = answers.message().await.unwrap() {
        all.push(answer);
    }
    all
}

#[tokio::test]
async fn an_edition_is_tried_before_it_is_published() {
    let (world, server, mut office) = opened().await;
    let mut quotes = Vec::new();
    for name in ["01-direct-oven", "02-two-partners", "04-swiss-francs", "08-floor-scales"] {
        quotes.push(issued(&mut office, name, name).await);
    }
    office.accept_quote(accept("A-1", &quotes[0], "main")).await.unwrap();
    let reverse = pb::ReverseQuoteRequest {
        request_id: "B-1".into(),
        number: quotes[3].number.clone(),
        etag: quotes[3].etag.clone(),
        reason: "issued twice".into(),
    };
    office.reverse_quote(reverse).await.unwrap();
    let before = audit(&world.database);

    // For days to come, and dearer: the accountant may ask as well.
    let mut next = files("2026-07");
    changed(&mut next, "edition.toml", |text| {
        text.replace("\"2026-07\"", "\"2027-01\"")
            .replace("from = \"2026-07-01\"", "from = \"2027-01-01\"")
            .replace("until = \"2026-12-31\"", "until = \"2027-06-30\"")
            .replace("labour = \"85\"", "labour = \"99\"")
    });
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &world.accountant).await);
    let date = |year, month, day| Some(pb::Date { year, month, day });
    let request = |files, accepted_only| pb::TryTariffRequest {
        files,
        from: date(2026, 1, 1),
        until: date(2026, 12, 31),
        accepted_only,
    };
    let answers = tried(&mut tariffs, request(next.clone(), false)).await;
    assert!(answers.windows(2).all(|pair| pair[0].tried <= pair[1].tried && pair[0].trial.is_none()));
    let last = answers.last().unwrap();
    let trial = last.trial.as_ref().unwrap();
    assert_eq!((last.tried, trial.refused), (3, 0), "what was taken back is not tried");
    assert_eq!((trial.edition.as_str(), trial.currency_code.as_str()), ("2027-01", "EUR"));
    assert_eq!((trial.dearer, trial.same, trial.cheaper, trial.converted), (3, 0, 0, 1));
    assert_eq!(trial.largest.len(), 3);
    let minor = |money: &Option<pb::Money>| money.as_ref().unwrap().amount_minor;
    let all = trial.all.as_ref().unwrap();
    let (then, now) = (all.then.as_ref().unwrap(), all.now.as_ref().unwrap());
    for margin in [then, now] {
        assert_eq!(minor(&margin.end_net), minor(&margin.shares) + minor(&margin.workshop_net));
        assert_eq!(minor(&margin.contribution), minor(&margin.workshop_net) - minor(&margin.cost));
    }
    assert!(minor(&now.end_net) > minor(&then.end_net) && minor(&now.cost) == minor(&then.cost));
    let partners: Vec<&str> = trial.partners.iter().map(|part| part.codes[0].as_str()).collect();
    assert_eq!(partners, ["P-BRZEG", "P-OLOM", "P-OLTEN"]);
    assert_eq!(trial.routes.iter().map(|part| part.codes.len()).collect::<Vec<_>>(), [0, 2, 1]);

    // What was accepted, to the cent.
    let accepted = tried(&mut tariffs, request(next.clone(), true)).await.pop().unwrap().trial.unwrap();
    let end = quotes[0].quote.as_ref().unwrap().main.as_ref().unwrap().end.as_ref().unwrap();
    let all = accepted.all.unwrap();
    assert_eq!((all.quotes, minor(&all.then.unwrap().end_net)), (1, minor(&end.net)));

    // Nothing was published or written down.
    assert_eq!(audit(&world.database), before);
    let editions =
        tariffs.list_editions(pb::ListEditionsRequest::default()).await.unwrap().into_inner().editions;
    assert_eq!(editions.len(), 3);

    let backwards = pb::TryTariffRequest { from: date(2027, 1, 1), ..request(next.clone(), false) };
    let told = reason(&tariffs.try_tariff(backwards.clone()).await.unwrap_err());
    assert_eq!((told.reason.as_str(), told.fields), ("INVALID_INPUT", vec!["until".to_owned()]));
    let no_files = pb::TryTariffRequest { files: Vec::new(), ..backwards };
    let told = reason(&tariffs.try_tariff(no_files).await.unwrap_err());
    assert_eq!(told.fields, ["until", "files"]);
    changed(&mut next, "parts.csv", |text| text.replacen("code,", "cod,", 1));
    let told = reason(&tariffs.try_tariff(request(next, false)).await.unwrap_err());
    assert_eq!(told.reason, "INVALID_TARIFF");
}

/// Quotes are read page by page, and each of them counts once.
#[tokio::test]
async fn a_trial_goes_through_all_pages() {
    const QUOTES: u64 = 70;
    let (world, server, mut office) = opened().await;
    let mut end_minor = 0;
    for number in 0..QUOTES {
        let kept = issued(&mut office, &format!("R-{number}"), "01-direct-oven").await;
        let end = kept.quote.unwrap().main.unwrap().end.unwrap();
        end_minor += end.net.unwrap().amount_minor;
    }
    let mut tariffs = TariffServiceClient::new(connect(&server.url, &world.office).await);
    let request = pb::TryTariffRequest {
        files: files("2026-07"),
        from: Some(pb::Date { year: 2026, month: 7, day: 1 }),
        until: Some(pb::Date { year: 2026, month: 12, day: 31 }),
        accepted_only: false,
    };
    let answers = tried(&mut tariffs, request).await;
    let so_far: Vec<u64> = answers.iter().map(|answer| answer.tried).collect();
    assert_eq!(so_far, [0, 64, QUOTES, QUOTES], "how far it is");
    let trial = answers.last().unwrap().trial.as_ref().unwrap();
    let all = trial.all.as_ref().unwrap();
    assert_eq!((all.quotes, trial.same), (QUOTES, QUOTES));
    assert_eq!(all.then, all.now);
    assert_eq!(all.then.as_ref().unwrap().end_net.as_ref().unwrap().amount_minor, end_minor);
}
