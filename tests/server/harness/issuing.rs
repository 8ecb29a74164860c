//! Many clients that issue quotes until each is answered, whatever happens to the servers.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, RwLock};
use std::time::Duration;

use evenfare::wire::pb;
use evenfare::wire::pb::office_service_client::OfficeServiceClient;
use tonic::Code;
use tonic::transport::Endpoint;

use super::client::job;

/// What was answered: the number, by the id of the request.
pub type Answers = Arc<Mutex<BTreeMap<String, String>>>;

/// Where there are servers now; a server that was killed comes back under another address.
pub type Addresses = Arc<RwLock<Vec<String>>>;

/// What the clients share.
#[derive(Clone)]
pub struct Issuing {
    pub addresses: Addresses,
    pub token: String,
    pub answers: Answers,
    /// Ids below that are taken.
    next: Arc<AtomicUsize>,
    until: usize,
    prefix: String,
}

impl Issuing {
    /// Requests with the ids from `prefix-0` to `prefix-(until - 1)`.
    pub fn new(addresses: &Addresses, token: &str, answers: &Answers, prefix: &str, until: usize) -> Self {
        Self {
            addresses: Arc::clone(addresses),
            token: token.to_owned(),
            answers: Arc::clone(answers),
            next: Arc::default(),
            until,
            prefix: prefix.to_owned(),
        }
    }

    /// How many requests were taken up.
    pub fn begun(&self) -> usize {
        self.next.load(Ordering::Relaxed).min(self.until)
    }

    /// One client: takes one request after the other and repeats each until it is answered.
    pub async fn client(self, number: usize) {
        let jobs = [job("01-direct-oven"), job("02-two-partners"), job("07-flat-proofer")];
        let mut place = number;
        let mut client = None;
        loop {
            let index = self.next.fetch_add(1, Ordering::Relaxed);
            if index >= self.until {
                return;
            }
            let id = format!("{}-{index}", self.prefix);
            let request = pb::IssueQuoteRequest {
                request_id: id.clone(),
                job: Some(jobs[index % jobs.len()].clone()),
                series: ["Q", "AB", "S2"][index % 7 % 3].into(),
            };
            let number = loop {
                let Some(office) = &mut client else {
                    client = self.connect(place).await;
                    place += 1;
                    continue;
                };
                let mut call = tonic::Request::new(request.clone());
                call.set_timeout(Duration::from_secs(20));
                let bearer = format!("Bearer {}", self.token).parse().unwrap();
                call.metadata_mut().insert("authorization", bearer);
                match OfficeServiceClient::issue_quote(office, call).await {
                    Ok(answer) => break answer.into_inner().quote.unwrap().number,
                    Err(status) => {
                        let lost = [
                            Code::Unavailable,
                            Code::Unknown,
                            Code::Cancelled,
                            Code::Internal,
                            Code::DeadlineExceeded,
                        ];
                        match status.code() {
                            Code::ResourceExhausted | Code::Aborted => {}
                            code if lost.contains(&code) => client = None,
                            _ => panic!("{id}: {status:?}"),
                        }
                        tokio::time::sleep(Duration::from_millis(20)).await;
                    }
                }
            };
            let before = self.answers.lock().unwrap().insert(id.clone(), number.clone());
            assert!(before.is_none_or(|before| before == number), "{id} was answered in two ways");
        }
    }

    async fn connect(&self, place: usize) -> Option<OfficeServiceClient<tonic::transport::Channel>> {
        let address = {
            let addresses = self.addresses.read().unwrap();
            addresses.get(place % addresses.len().max(1)).cloned()
        };
        let endpoint = match address {
            Some(address) => Endpoint::from_shared(address).unwrap().connect_timeout(Duration::from_secs(2)),
            None => {
                tokio::time::sleep(Duration::from_millis(10)).await;
                return None;
            }
        };
        match endpoint.connect().await {
            Ok(channel) => Some(OfficeServiceClient::new(channel)),
            Err(_) => {
                tokio::time::sleep(Duration::from_millis(10)).await;
                None
            }
        }
    }
}
