//! A books folder, sent to a server, and what comes back.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use evenfare::wire::pb;
use evenfare::wire::pb::accountant_service_client::AccountantServiceClient;
use evenfare::wire::pb::reconcile_response::Part;
use serde_json::Value;
use tempfile::TempDir;
use tonic::Status;

use crate::harness::{Client, Server, command, connect, token};

pub type Books = AccountantServiceClient<Client>;
pub type Files = BTreeMap<String, Vec<u8>>;

/// The demo with its store, and a server on it.
pub struct Desk {
    pub dir: TempDir,
    pub database: String,
    pub server: Server,
    pub books: Books,
}

impl Desk {
    pub async fn new() -> Self {
        let dir = TempDir::new().unwrap();
        let world = dir.path().join("world");
        let mut demo = command();
        demo.args(["demo", world.to_str().unwrap()]);
        if cfg!(feature = "pdf") {
            demo.arg("--no-paper");
        }
        assert!(demo.output().unwrap().status.success());
        let database = world.join("evenfare.db").to_str().unwrap().to_owned();
        let books = token(&database, "books", "accountant");
        let server = Server::start(&database, &[]);
        let books = AccountantServiceClient::new(connect(&server.url, &books).await);
        Self { dir, database, server, books }
    }

    pub fn world(&self) -> std::path::PathBuf {
        self.dir.path().join("world")
    }

    /// The books folder, and the chart of accounts beside it.
    pub fn files(&self) -> Files {
        let mut files = Files::new();
        below(&self.world().join("books"), "", &mut files);
        files.insert("chart.csv".into(), fs::read(self.world().join("tariff/chart.csv")).unwrap());
        files
    }

    /// What the command says of the same.
    pub fn told(&self, more: &[&str]) -> Value {
        let (books, tariff) = (self.world().join("books"), self.world().join("tariff"));
        let mut reconcile = command();
        reconcile.arg("reconcile").arg(books).arg("--tariff").arg(tariff);
        reconcile.args(["--database", &self.database, "--format", "json"]).args(more);
        let said = reconcile.output().unwrap();
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        serde_json::from_slice(&said.stdout).unwrap()
    }
}

pub fn below(dir: &Path, prefix: &str, into: &mut Files) {
    for entry in fs::read_dir(dir).unwrap().map(Result::unwrap) {
        let name = format!("{prefix}{}", entry.file_name().into_string().unwrap());
        if entry.path().is_dir() {
            below(&entry.path(), &format!("{name}/"), into);
        } else {
            into.insert(name, fs::read(entry.path()).unwrap());
        }
    }
}

/// The files in small pieces.
fn pieces(files: &Files) -> impl Iterator<Item = pb::BooksPiece> {
    files.iter().flat_map(|(name, content)| {
        let first = pb::BooksPiece { name: name.clone(), content: Vec::new() };
        let rest = content
            .chunks(1000)
            .map(|content| pb::BooksPiece { name: String::new(), content: content.into() });
        [first].into_iter().chain(rest)
    })
}

pub fn reconcile(scope: pb::ReconcileScope, files: &Files) -> Vec<pb::ReconcileRequest> {
    let first = pb::ReconcileRequest { scope: Some(scope), piece: None };
    let rest = pieces(files).map(|piece| pb::ReconcileRequest { scope: None, piece: Some(piece) });
    [first].into_iter().chain(rest).collect()
}

pub fn month(month: &str) -> pb::ReconcileScope {
    pb::ReconcileScope { month: month.into(), ..pb::ReconcileScope::default() }
}

pub async fn parts(books: &mut Books, asked: Vec<pb::ReconcileRequest>) -> Result<Vec<Part>, Status> {
    let mut answers = books.reconcile(tokio_stream::iter(asked)).await?.into_inner();
    let mut parts = Vec::new();
    while let Some(answer) = answers.message().await? {
        parts.push(answer.part.unwrap());
    }
    Ok(parts)
}

pub async fn closed(
    books: &mut Books,
    scope: pb::CloseScope,
    files: &Files,
) -> Result<(pb::ClosedMonth, Vec<u8>), Status> {
    let first = pb::CloseMonthRequest { scope: Some(scope), piece: None };
    let rest = pieces(files).map(|piece| pb::CloseMonthRequest { scope: None, piece: Some(piece) });
    let asked: Vec<_> = [first].into_iter().chain(rest).collect();
    let mut answers = books.close_month(tokio_stream::iter(asked)).await?.into_inner();
    let (mut head, mut file) = (None, Vec::new());
    while let Some(answer) = answers.message().await? {
        assert_eq!(answer.closed.is_some(), head.is_none(), "the first says what it is");
        head = head.or(answer.closed);
        file.extend(answer.content);
    }
    Ok((head.unwrap(), file))
}
