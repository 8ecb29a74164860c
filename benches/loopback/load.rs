//! Clients that ask as fast as they are answered.

use std::sync::Arc;
use std::time::{Duration, Instant};

use tonic::client::Grpc;
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Status};

#[path = "../../tests/server/harness/codec.rs"]
mod codec;

pub use codec::Bytes;

/// Who is asked.
#[derive(Clone)]
pub struct Side {
    pub url: String,
    pub token: String,
}

/// How it is asked.
pub struct Load {
    pub path: &'static str,
    pub clients: usize,
    pub turn: Duration,
}

/// What was seen in one turn.
#[derive(Clone, Copy)]
pub struct Seen {
    pub calls_a_second: f64,
    pub p99_ms: f64,
}

impl Seen {
    /// The turn in the middle, by throughput.
    pub fn median(mut seen: Vec<Self>) -> Self {
        seen.sort_by(|a, b| a.calls_a_second.total_cmp(&b.calls_a_second));
        seen[seen.len() / 2]
    }
}

/// Clients that share a connection.
const ON_A_CONNECTION: usize = 8;

impl Side {
    /// A connection of its own.
    pub async fn connect(&self) -> Grpc<Channel> {
        Grpc::new(Endpoint::from_shared(self.url.clone()).unwrap().connect().await.unwrap())
    }

    /// One call, and its answer.
    pub async fn once(&self, path: &'static str, message: Vec<u8>) -> Vec<u8> {
        self.call(&mut self.connect().await, path, message).await
    }

    fn request(&self, message: Vec<u8>) -> Request<Vec<u8>> {
        let mut request = Request::new(message);
        request.metadata_mut().insert("authorization", format!("Bearer {}", self.token).parse().unwrap());
        request
    }

    /// One call of a stream of answers, and how many there were.
    pub async fn pieces(&self, grpc: &mut Grpc<Channel>, path: &'static str, message: Vec<u8>) -> usize {
        let mut answers = loop {
            grpc.ready().await.unwrap();
            let path = http::uri::PathAndQuery::from_static(path);
            match grpc.server_streaming(self.request(message.clone()), path, Bytes).await {
                Ok(answers) => break answers.into_inner(),
                Err(status) if never_sent(&status) => {}
                Err(status) => panic!("{status}"),
            }
        };
        let mut count = 0;
        while answers.message().await.unwrap().is_some() {
            count += 1;
        }
        count
    }

    /// One call on that connection, and its answer.
    pub async fn call(&self, grpc: &mut Grpc<Channel>, path: &'static str, message: Vec<u8>) -> Vec<u8> {
        loop {
            grpc.ready().await.unwrap();
            let path = http::uri::PathAndQuery::from_static(path);
            match grpc.unary(self.request(message.clone()), path, Bytes).await {
                Ok(answer) => return answer.into_inner(),
                Err(status) if never_sent(&status) => {}
                Err(status) => panic!("{status}"),
            }
        }
    }
}

/// The server ends a connection at its age. A call that is put to it just then is not sent, and tonic's client leaves
/// it to its caller to ask again: it says CANCELLED, or INTERNAL where the connection was told to end (GOAWAY).
fn never_sent(status: &Status) -> bool {
    let source = std::error::Error::source(status);
    let mut sources =
        std::iter::successors(source, |error| error.source()).filter_map(|error| error.downcast_ref());
    status.code() == Code::Cancelled
        || sources.any(|error: &h2::Error| error.is_go_away() && error.reason() == Some(h2::Reason::NO_ERROR))
}

impl Load {
    /// One turn.
    pub async fn run(&self, side: &Side, message: impl Fn(usize) -> Vec<u8> + Send + Sync + 'static) -> Seen {
        let message = Arc::new(message);
        let mut clients = Vec::new();
        let mut connection = None;
        let begin = Instant::now() + Duration::from_millis(100);
        for number in 0..self.clients {
            if number % ON_A_CONNECTION == 0 {
                connection = Some(side.connect().await);
            }
            let (mut grpc, side, message) = (connection.clone().unwrap(), side.clone(), Arc::clone(&message));
            let (path, turn, clients_in_all) = (self.path, self.turn, self.clients);
            clients.push(tokio::spawn(async move {
                tokio::time::sleep_until(begin.into()).await;
                let mut took = Vec::new();
                let mut index = number;
                while begin.elapsed() < turn {
                    let asked = Instant::now();
                    side.call(&mut grpc, path, message(index)).await;
                    took.push(asked.elapsed());
                    index += clients_in_all;
                }
                took
            }));
        }
        let mut took = Vec::new();
        for client in clients {
            took.extend(client.await.unwrap());
        }
        let whole = begin.elapsed().as_secs_f64();
        took.sort_unstable();
        let p99 = took[took.len().saturating_sub(1) * 99 / 100];
        Seen { calls_a_second: took.len() as f64 / whole, p99_ms: p99.as_secs_f64() * 1_000.0 }
    }
}
