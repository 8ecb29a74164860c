//! The bare twin: an empty tonic service that answers with bytes it was given, and for a call that issues
//! inserts the same bytes into a table by rusqlite first, in batches of whatever waits. Another one reads what
//! it is asked, and writes what it answers, as the messages that they are.

use std::convert::Infallible;
use std::future::Future;
use std::path::Path;
use std::pin::Pin;
use std::sync::{Arc, mpsc};
use std::task::{Context, Poll};

use evenfare::wire::pb;
use prost::Message;
use tokio::sync::oneshot;
use tonic::body::Body;
use tonic::codec::Codec;
use tonic::server::{Grpc, NamedService, UnaryService};
use tonic::{Request, Response, Status};
use tonic_prost::ProstCodec;

use super::load::Bytes;

/// As many as the store takes into one transaction.
const BATCH: usize = 256;

/// What is answered to one method, and by which messages.
struct Answers<C: Codec> {
    answer: C::Encode,
    codec: C,
}

#[derive(Clone)]
struct Twin {
    price: Arc<dyn Method>,
    issue: Arc<dyn Method>,
    insert: mpsc::Sender<oneshot::Sender<()>>,
}

impl NamedService for Twin {
    const NAME: &'static str = "evenfare.v1.OfficeService";
}

type Insert = Option<mpsc::Sender<oneshot::Sender<()>>>;

struct Answer<T> {
    answer: T,
    insert: Insert,
}

type Boxed<T> = Pin<Box<dyn Future<Output = T> + Send>>;

impl<Q, T: Send + 'static> UnaryService<Q> for Answer<T>
where
    T: Clone,
{
    type Response = T;
    type Future = Boxed<Result<Response<T>, Status>>;

    fn call(&mut self, _: Request<Q>) -> Self::Future {
        let (answer, insert) = (self.answer.clone(), self.insert.clone());
        Box::pin(async move {
            if let Some(insert) = insert {
                let (done, inserted) = oneshot::channel();
                insert.send(done).unwrap();
                inserted.await.unwrap();
            }
            Ok(Response::new(answer))
        })
    }
}

/// A method that answers always the same.
trait Method: Send + Sync {
    fn answer(
        &self,
        request: http::Request<Body>,
        insert: Insert,
    ) -> Boxed<Result<http::Response<Body>, Infallible>>;
}

impl<C> Method for Answers<C>
where
    C: Codec + Clone + Send + Sync + 'static,
    C::Encode: Clone + Sync,
{
    fn answer(
        &self,
        request: http::Request<Body>,
        insert: Insert,
    ) -> Boxed<Result<http::Response<Body>, Infallible>> {
        let (answer, codec) = (Answer { answer: self.answer.clone(), insert }, self.codec.clone());
        Box::pin(async move { Ok(Grpc::new(codec).unary(answer, request).await) })
    }
}

impl tower::Service<http::Request<Body>> for Twin {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = Boxed<Result<Self::Response, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        match request.uri().path().ends_with("/IssueQuote") {
            true => self.issue.answer(request, Some(self.insert.clone())),
            false => self.price.answer(request, None),
        }
    }
}

/// Inserts the document once for each that waits.
fn write(dir: &Path, waiting: &mpsc::Receiver<oneshot::Sender<()>>) {
    let document = std::fs::read(dir.join("document")).unwrap();
    let mut database = rusqlite::Connection::open(dir.join(format!("{}.db", std::process::id()))).unwrap();
    database.pragma_update(None, "journal_mode", "WAL").unwrap();
    database.pragma_update(None, "synchronous", "FULL").unwrap();
    database
        .execute_batch("CREATE TABLE quotes (id INTEGER PRIMARY KEY, document BLOB NOT NULL) STRICT")
        .unwrap();
    while let Ok(first) = waiting.recv() {
        let mut batch = vec![first];
        batch.extend(waiting.try_iter().take(BATCH - 1));
        let transaction =
            database.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate).unwrap();
        for _ in &batch {
            let mut insert = transaction.prepare_cached("INSERT INTO quotes (document) VALUES (?1)").unwrap();
            insert.execute([&document]).unwrap();
        }
        transaction.commit().unwrap();
        for done in batch {
            let _ = done.send(());
        }
    }
}

/// Serves until it is killed: bytes, or messages.
pub fn serve(dir: &Path, messages: bool) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let (insert, waiting) = mpsc::channel();
        let folder = dir.to_owned();
        std::thread::spawn(move || write(&folder, &waiting));
        let read = |name: &str| std::fs::read(dir.join(name)).unwrap();
        let (price, issue): (Arc<dyn Method>, Arc<dyn Method>) = match messages {
            false => (
                Arc::new(Answers { answer: read("price"), codec: Bytes }),
                Arc::new(Answers { answer: read("issue"), codec: Bytes }),
            ),
            true => (
                Arc::new(Answers {
                    answer: pb::PriceJobResponse::decode(&*read("price")).unwrap(),
                    codec: ProstCodec::<_, pb::PriceJobRequest>::default(),
                }),
                Arc::new(Answers {
                    answer: pb::IssueQuoteResponse::decode(&*read("issue")).unwrap(),
                    codec: ProstCodec::<_, pb::IssueQuoteRequest>::default(),
                }),
            ),
        };
        let twin = Twin { price, issue, insert };
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        println!("http://{}", listener.local_addr().unwrap());
        let incoming = tonic::transport::server::TcpIncoming::from(listener).with_nodelay(Some(true));
        tonic::transport::Server::builder().add_service(twin).serve_with_incoming(incoming).await.unwrap();
    });
}
