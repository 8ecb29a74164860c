//! What has to hold after anything has happened to the servers.

use std::collections::{BTreeMap, BTreeSet};

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;

use super::client::connect;
use super::world::audit;

/// No quote is lost that was answered, none stands twice, numbers have no gaps, the chain is whole. Gives
/// how many quotes there are.
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
