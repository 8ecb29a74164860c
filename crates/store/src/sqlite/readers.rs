//! Connections that only read, a few of them.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use rusqlite::Connection;
use tokio::sync::Semaphore;

use super::connection;
use super::tables::{Open, unavailable};
use crate::refused::StoreError;
use crate::tables::{Ask, Fault, Row, Tables};

/// How many read at the same time.
const READERS: usize = 4;
/// After this many steps of SQLite's machine it is checked whether somebody waits.
const LOOK: i32 = 1_000;

pub(super) struct Readers {
    path: Arc<PathBuf>,
    idle: Arc<Mutex<Vec<Connection>>>,
    permits: Arc<Semaphore>,
}

/// Who waits for a question. Gone, the thread that works on it is let go. That is a state and no event: what is
/// broken off by an event runs to its end where it had not begun.
struct Waiting(Arc<AtomicBool>);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// A connection that somebody waits for, or nobody any more.
pub(super) struct Awaited<'a> {
    open: Open<'a>,
    gone: &'a AtomicBool,
}

impl Tables for Awaited<'_> {
    /// Many short questions are broken off between two of them: none is long enough to be looked at while it runs.
    async fn read(&self, asks: &[Ask<'_>]) -> Result<Vec<Vec<Row>>, Fault> {
        let mut answers = Vec::with_capacity(asks.len());
        for ask in asks {
            if self.gone.load(Ordering::Relaxed) {
                return Err(given_up());
            }
            answers.append(&mut self.open.read(std::slice::from_ref(ask)).await?);
        }
        Ok(answers)
    }

    async fn keep(&self, asks: &[Ask<'_>]) -> Result<(), Fault> {
        self.open.keep(asks).await
    }
}

impl Readers {
    pub(super) fn new(path: PathBuf) -> Self {
        Self { path: Arc::new(path), idle: Arc::default(), permits: Arc::new(Semaphore::new(READERS)) }
    }

    /// Reads on a thread that may wait for the disk. It has its place until it has ended: where nobody waits for it any
    /// more it is broken off. So there are never more threads at work than readers.
    pub(super) async fn read<T: Send + 'static>(
        &self,
        question: impl FnOnce(&Awaited<'_>) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, StoreError> {
        let permit = Arc::clone(&self.permits).acquire_owned().await.map_err(|_| StoreError::Closed)?;
        let (path, idle) = (Arc::clone(&self.path), Arc::clone(&self.idle));
        let gone = Arc::new(AtomicBool::new(false));
        let _waiting = Waiting(Arc::clone(&gone));
        let reading = tokio::task::spawn_blocking(move || {
            let _permit = permit;
            let taken = idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let mut connection = taken.map_or_else(|| connection::to_read(&path), Ok)?;
            let seen = Arc::clone(&gone);
            watched(&mut connection, Some(move || seen.load(Ordering::Relaxed)))?;
            let answer = question(&Awaited { open: Open(&connection), gone: &gone });
            watched(&mut connection, None::<fn() -> bool>)?;
            // One that has failed is not used again.
            if !matches!(answer, Err(Fault::Whole { .. })) {
                idle.lock().unwrap_or_else(PoisonError::into_inner).push(connection);
            }
            answer.map_err(StoreError::from)
        });
        reading.await.unwrap_or_else(|error| Err(StoreError::Unavailable(error.to_string())))
    }

    pub(super) fn close(&self) {
        self.permits.close();
        self.idle.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }
}

/// Whatever runs is broken off as soon as that is so.
fn watched<F: FnMut() -> bool + Send + 'static>(
    connection: &mut Connection,
    gone: Option<F>,
) -> Result<(), StoreError> {
    connection.progress_handler(LOOK, gone).map_err(|error| unavailable(&error))
}

/// Nobody hears it.
fn given_up() -> Fault {
    Fault::Alone(StoreError::Unavailable("nobody waited for the answer".to_owned()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use std::sync::atomic::AtomicUsize;
    use std::time::Duration;

    use tokio::time::timeout;

    use super::*;
    use crate::reads;
    use crate::sqlite::tables::ready;
    use crate::tables::ask;

    /// What takes many seconds.
    const LONG: &str = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n LIMIT 10000000) \
         SELECT count(*) FROM n";

    #[tokio::test]
    async fn what_nobody_waits_for_is_broken_off() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        drop(connection::prepared(&path).unwrap());
        let readers = Readers::new(path);
        // At work now, at once at most, and broken off.
        let counts: [Arc<AtomicUsize>; 3] = Default::default();
        let [_, most, broken_off] = counts.clone();
        let mut begun = 0;
        for _ in 0..3 * READERS {
            let [now, most, broken_off] = counts.clone();
            let read = readers.read(move |tables| {
                most.fetch_max(now.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                let answer = ready(ask(tables, Ask::new(LONG, Vec::new()))).map(drop);
                broken_off.fetch_add(usize::from(answer.is_err()), Ordering::SeqCst);
                now.fetch_sub(1, Ordering::SeqCst);
                answer
            });
            begun += usize::from(timeout(Duration::from_millis(50), read).await.is_err());
        }
        assert_eq!(begun, 3 * READERS, "each took too long");
        let all = u32::try_from(READERS).unwrap();
        drop(timeout(Duration::from_secs(10), readers.permits.acquire_many(all)).await.unwrap().unwrap());
        let (most, broken_off) = (most.load(Ordering::SeqCst), broken_off.load(Ordering::SeqCst));
        assert!((1..=READERS).contains(&most), "{most} at once");
        assert!((1..=begun).contains(&broken_off), "{broken_off} broken off");
        // Whoever waits has an answer, also over a connection that was broken off.
        for _ in 0..=READERS {
            assert_eq!(readers.read(|tables| ready(reads::last(tables))).await, Ok(0));
        }
    }

    /// Between the beginning of a read and its first step, and between two short steps.
    #[tokio::test]
    async fn what_is_given_up_before_its_first_step_is_broken_off() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        drop(connection::prepared(&path).unwrap());
        let readers = Readers::new(path);
        let (begins, begun) = tokio::sync::oneshot::channel();
        let (gives_up, given_up) = std::sync::mpsc::channel();
        let (tells, told) = tokio::sync::oneshot::channel();
        let read = readers.read(move |tables| {
            begins.send(()).unwrap();
            given_up.recv().unwrap();
            let long = ready(ask(&tables.open, Ask::new(LONG, Vec::new()))).is_err();
            let short = ready(ask(tables, Ask::new("SELECT 1", Vec::new()))).is_err();
            tells.send([long, short]).unwrap();
            Ok(())
        });
        tokio::select! {
            answer = read => panic!("{answer:?} before it was asked"),
            begun = begun => begun.unwrap(),
        }
        // Nobody waits any more.
        gives_up.send(()).unwrap();
        assert_eq!(told.await, Ok([true, true]));
        assert_eq!(readers.read(|tables| ready(reads::last(tables))).await, Ok(0));
    }
}
