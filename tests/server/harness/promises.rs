//! What has to hold after anything has happened to the servers.

use std::collections::{BTreeMap, BTreeSet};

use evenfare::serve::database::Database;
use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use evenfare_store::event::Kind;

use super::client::connect;
use super::world::audit;

/// No quote is lost that was answered, none stands twice, by its number or by the id of its request, numbers have
/// no gaps, the chain is whole. Gives how many quotes there are.
pub async fn hold(database: &str, url: &str, token: &str, answers: &BTreeMap<String, String>) -> usize {
    let (whole, found) = audit(database);
    assert!(whole, "{found:#}");

    let mut office = OfficeServiceClient::new(connect(url, token).await);
    let mut listed = Vec::new();
    let mut request = pb::ListQuotesRequest { page_size: 1_000, ..pb::ListQuotesRequest::default() };
    loop {
        let page = office.list_quotes(request.clone()).await.unwrap().into_inner();
        listed.extend(page.quotes.into_iter().map(|quote| quote.number));
        if page.next_page_token.is_empty() {
            break;
        }
        request.page_token = page.next_page_token;
    }
    let numbers: BTreeSet<&String> = listed.iter().collect();
    assert_eq!(numbers.len(), listed.len(), "a number stands twice");

    let answered: BTreeSet<&String> = answers.values().collect();
    assert_eq!(answered.len(), answers.len(), "two requests were answered with one number");
    let lost: Vec<_> = answered.difference(&numbers).collect();
    assert!(lost.is_empty(), "answered and lost: {lost:?}");

    let issued = issued(database).await;
    assert!(issued.values().collect::<BTreeSet<_>>() == numbers, "what is listed is what was issued");
    for (id, number) in answers {
        assert_eq!(issued.get(id), Some(number), "{id} was answered with another number than it has");
    }

    let mut series: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for number in &numbers {
        let (name, sequence) = number.rsplit_once('-').unwrap();
        series.entry(name).or_default().push(sequence.parse().unwrap());
    }
    for (name, mut sequences) in series {
        sequences.sort_unstable();
        assert!(sequences.iter().copied().eq(1..=sequences.len()), "{name} has gaps: {sequences:?}");
    }
    listed.len()
}

/// The number that every request has issued a quote under, as the chain has it.
async fn issued(database: &str) -> BTreeMap<String, String> {
    let store = database.parse::<Database>().unwrap().open().await.unwrap();
    let mut issued = BTreeMap::new();
    let mut last = 0;
    loop {
        let records = store.records(last, 1_000).await.unwrap();
        let Some(record) = records.last() else { break };
        last = record.event.sequence;
        for event in records.into_iter().map(|record| record.event).filter(|event| event.kind == Kind::Issued)
        {
            let (id, number) = (event.request_id.as_str().to_owned(), event.subject);
            let before = issued.insert(id, number);
            assert!(before.is_none(), "the request of {before:?} stands in the chain twice");
        }
    }
    store.close().await;
    issued
}
