//! Commits whose answer is never seen: the connection breaks under them, or the whole server ends.

use std::collections::HashSet;
use std::hash::{BuildHasher as _, Hasher as _, RandomState};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::Duration;

use evenfare_store::Store;
use evenfare_store::postgres::Postgres;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

use crate::crowd::issue_at_once;
use crate::postgres::Cluster;
use crate::world::run;

/// Fewer than a batch is tried: none may run out of tries.
const CUTS: u32 = 10;

/// What became of the commits that were cut off.
#[derive(Default)]
struct Cuts {
    all: AtomicU32,
    /// The database has committed, and told nobody.
    committed: AtomicU32,
}

impl Cuts {
    /// One in three, until there were enough.
    fn falls(&self) -> bool {
        let one_more = |all: u32| (all < CUTS).then_some(all + 1);
        chance(3) == 0 && self.all.fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_more).is_ok()
    }
}

fn chance(of: u64) -> u64 {
    RandomState::new().build_hasher().finish() % of
}

/// Stands between store and database; the port on which it listens.
async fn stand_between(database: u16, cuts: Arc<Cuts>) -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
    let port = listener.local_addr().unwrap().port();
    tokio::spawn(async move {
        while let Ok((store, _)) = listener.accept().await {
            let database = TcpStream::connect(("127.0.0.1", database)).await.unwrap();
            tokio::spawn(carry(store, database, Arc::clone(&cuts)));
        }
    });
    port
}

/// Carries messages to the database and its answers back. Where a cut falls, a COMMIT is the last message that
/// gets through, or does not get through either; nothing is answered any more.
async fn carry(store: TcpStream, database: TcpStream, cuts: Arc<Cuts>) {
    let (mut from_store, mut to_store) = store.into_split();
    let (mut from_database, mut to_database) = database.into_split();
    let silent = Arc::new(AtomicBool::new(false));
    let answers = {
        let (silent, cuts) = (Arc::clone(&silent), Arc::clone(&cuts));
        async move {
            let (mut swallowed, mut bytes) = (Vec::new(), vec![0; 4096]);
            while let Ok(count @ 1..) = from_database.read(&mut bytes).await {
                if silent.load(Ordering::Acquire) {
                    swallowed.extend_from_slice(&bytes[..count]);
                } else if to_store.write_all(&bytes[..count]).await.is_err() {
                    break;
                }
            }
            if swallowed.windows(7).any(|word| word == b"COMMIT\0") {
                cuts.committed.fetch_add(1, Ordering::Relaxed);
            }
        }
    };
    tokio::spawn(answers);
    let mut commits = Commits::default();
    let (mut waiting, mut bytes) = (Vec::new(), vec![0; 4096]);
    while let Ok(count @ 1..) = from_store.read(&mut bytes).await {
        waiting.extend_from_slice(&bytes[..count]);
        let mut through = 0;
        while let Some(length) = commits.message(&waiting[through..]) {
            let is_commit = commits.is_commit(&waiting[through..through + length]);
            if is_commit && cuts.falls() {
                silent.store(true, Ordering::Release);
                let kept_back = chance(3) == 0;
                let last = if kept_back { through } else { through + length };
                let _ = to_database.write_all(&waiting[..last]).await;
                // Both ends go, and with them both connections.
                return;
            }
            through += length;
        }
        if to_database.write_all(&waiting[..through]).await.is_err() {
            return;
        }
        waiting.drain(..through);
    }
}

/// Tells which messages commit. Statements are prepared under a name, and run by it later.
#[derive(Default)]
struct Commits {
    begun: bool,
    names: HashSet<Vec<u8>>,
    bound: bool,
}

impl Commits {
    /// The length of the message that the bytes begin with; none until all of it is there.
    fn message(&self, bytes: &[u8]) -> Option<usize> {
        // The first message of a connection has no letter before its length.
        let letter = usize::from(self.begun);
        let length = bytes.get(letter..letter + 4)?;
        let length = letter + u32::from_be_bytes(length.try_into().unwrap()) as usize;
        (bytes.len() >= length).then_some(length)
    }

    /// Is it the message that has a COMMIT carried out?
    fn is_commit(&mut self, message: &[u8]) -> bool {
        if !self.begun {
            self.begun = true;
            return false;
        }
        let mut texts = message[5..].split(|byte| *byte == 0);
        match message[0] {
            b'P' => {
                let (name, sql) = (texts.next().unwrap(), texts.next().unwrap());
                if sql == b"COMMIT" {
                    self.names.insert(name.to_owned());
                }
                false
            }
            b'B' => {
                self.bound = self.names.contains(texts.nth(1).unwrap());
                false
            }
            // A bound statement runs by "execute", and a transaction ends by the "sync" behind it.
            b'S' => std::mem::take(&mut self.bound),
            _ => false,
        }
    }
}

#[test]
fn commits_that_are_cut_off_before_their_answer_are_done_once() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    run(async {
        let cuts = Arc::<Cuts>::default();
        let port = stand_between(cluster.port(), Arc::clone(&cuts)).await;
        let url = url.replace(&format!(":{}/", cluster.port()), &format!(":{port}/")) + "?sslmode=disable";
        let one = Postgres::connect(&url).await.unwrap();
        let two = Postgres::connect(&url).await.unwrap();
        assert_eq!(issue_at_once(&[Arc::new(one), Arc::new(two)]).await, 0);
        let (all, committed) = (cuts.all.load(Ordering::Relaxed), cuts.committed.load(Ordering::Relaxed));
        assert_eq!(all, CUTS);
        assert!((1..=all).contains(&committed), "{committed} of {all} were committed");
    });
}

#[test]
fn a_server_that_is_killed_and_started_again_has_lost_and_doubled_nothing() {
    let Some(mut cluster) = Cluster::start() else { return };
    let url = cluster.database();
    run(async {
        let one: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        let two: Arc<dyn Store> = Arc::new(Postgres::connect(&url).await.unwrap());
        let (mut news, mut others) = (one.news(), two.news());
        let crashes = tokio::spawn(async move {
            for event in [40, 100, 160] {
                // Others follow at once: it ends in the middle of one of them.
                tokio::select! {
                    Ok(_) = news.wait_for(|last| *last >= event) => {}
                    Ok(_) = others.wait_for(|last| *last >= event) => {}
                    else => panic!("neither has written event {event}"),
                }
                tokio::time::sleep(Duration::from_micros(chance(10_000))).await;
                cluster.kill();
                cluster.start_again();
            }
            cluster
        });
        // Whoever is told that it is not known asks again.
        issue_at_once(&[one, two]).await;
        crashes.await.unwrap();
    });
}
