//! The bare twin: an empty tonic service that answers with bytes it was given, and for a call that issues
//! inserts the same bytes into a table by rusqlite first, in batches of whatever waits.

use std::convert::Infallible;
use std::future::Future;
use std::path::Path;
use std::pin::Pin;
use std::sync::mpsc;
use std::task::{Context, Poll};

use tokio::sync::oneshot;
use tonic::body::Body;
use tonic::server::{Grpc, NamedService, UnaryService};
use tonic::{Request, Response, Status};

use super::load::Bytes;

/// As many as the store takes into one transaction.
const BATCH: usize = 256;

#[derive(Clone)]
struct Twin {
    price: Vec<u8>,
    issue: Vec<u8>,
    insert: mpsc::Sender<oneshot::Sender<()>>,
}

impl NamedService for Twin {
    const NAME: &'static str = "evenfare.v1.OfficeService";
}

struct Answer {
    bytes: Vec<u8>,
    insert: Option<mpsc::Sender<oneshot::Sender<()>>>,
}

type Boxed<T> = Pin<Box<dyn Future<Output = T> + Send>>;

impl UnaryService<Vec<u8>> for Answer {
    type Response = Vec<u8>;
    type Future = Boxed<Result<Response<Vec<u8>>, Status>>;

    fn call(&mut self, _: Request<Vec<u8>>) -> Self::Future {
        let (bytes, insert) = (self.bytes.clone(), self.insert.clone());
        Box::pin(async move {
            if let Some(insert) = insert {
                let (done, inserted) = oneshot::channel();
                insert.send(done).unwrap();
                inserted.await.unwrap();
            }
            Ok(Response::new(bytes))
        })
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
        let answer = match request.uri().path().ends_with("/IssueQuote") {
            true => Answer { bytes: self.issue.clone(), insert: Some(self.insert.clone()) },
            false => Answer { bytes: self.price.clone(), insert: None },
        };
        Box::pin(async move { Ok(Grpc::new(Bytes).unary(answer, request).await) })
    }
}

/// Inserts the document once for each that waits.
fn write(dir: &Path, waiting: &mpsc::Receiver<oneshot::Sender<()>>) {
    let document = std::fs::read(dir.join("document")).unwrap();
    let mut database = rusqlite::Connection::open(dir.join("twin.db")).unwrap();
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

/// Serves until it is killed.
pub fn serve(dir: &Path) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let (insert, waiting) = mpsc::channel();
        let folder = dir.to_owned();
        std::thread::spawn(move || write(&folder, &waiting));
        let read = |name: &str| std::fs::read(dir.join(name)).unwrap();
        let twin = Twin { price: read("price"), issue: read("issue"), insert };
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        println!("http://{}", listener.local_addr().unwrap());
        let incoming = tonic::transport::server::TcpIncoming::from(listener).with_nodelay(Some(true));
        tonic::transport::Server::builder().add_service(twin).serve_with_incoming(incoming).await.unwrap();
    });
}
