//! Connections that only read, a few of them.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rusqlite::{Connection, InterruptHandle};
use tokio::sync::Semaphore;

use super::connection;
use super::tables::Open;
use crate::refused::StoreError;
use crate::tables::Fault;

/// So many read at the same time.
const READERS: usize = 4;

pub(super) struct Readers {
    path: Arc<PathBuf>,
    idle: Arc<Mutex<Vec<Connection>>>,
    permits: Arc<Semaphore>,
}

/// A question that somebody waits for, or nobody any more.
#[derive(Default)]
struct Waited(Mutex<Asked>);

#[derive(Default)]
enum Asked {
    /// It has no thread so far, or has its answer.
    #[default]
    Idle,
    /// What breaks it off.
    Running(InterruptHandle),
    /// Nobody waits for it.
    GivenUp,
}

impl Waited {
    fn lock(&self) -> MutexGuard<'_, Asked> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// From here on it is broken off when it is given up; not begun where it was before.
    fn begin(&self, connection: &Connection) -> bool {
        let mut asked = self.lock();
        let waited_for = !matches!(*asked, Asked::GivenUp);
        if waited_for {
            *asked = Asked::Running(connection.get_interrupt_handle());
        }
        waited_for
    }

    /// From here on its connection is another's.
    fn end(&self) {
        *self.lock() = Asked::Idle;
    }
}

/// Who waits for a question. Gone, the thread that works on it is let go.
struct Waiting(Arc<Waited>);

impl Drop for Waiting {
    fn drop(&mut self) {
        let mut asked = self.0.lock();
        if let Asked::Running(handle) = std::mem::replace(&mut *asked, Asked::GivenUp) {
            handle.interrupt();
        }
    }
}

impl Readers {
    pub(super) fn new(path: PathBuf) -> Self {
        Self { path: Arc::new(path), idle: Arc::default(), permits: Arc::new(Semaphore::new(READERS)) }
    }

    /// Reads on a thread that may wait for the disk. It has its place until it has ended: where nobody waits for it any
    /// more it is broken off, and so many threads and no more are at work.
    pub(super) async fn read<T: Send + 'static>(
        &self,
        question: impl FnOnce(&Open<'_>) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, StoreError> {
        let permit = Arc::clone(&self.permits).acquire_owned().await.map_err(|_| StoreError::Closed)?;
        let (path, idle) = (Arc::clone(&self.path), Arc::clone(&self.idle));
        let waiting = Waiting(Arc::default());
        let waited = Arc::clone(&waiting.0);
        let reading = tokio::task::spawn_blocking(move || {
            let _permit = permit;
            let taken = idle.lock().unwrap_or_else(PoisonError::into_inner).pop();
            let connection = taken.map_or_else(|| connection::to_read(&path), Ok)?;
            let answer =
                if waited.begin(&connection) { question(&Open(&connection)) } else { Err(given_up()) };
            waited.end();
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

/// Nobody hears it.
fn given_up() -> Fault {
    Fault::Alone(StoreError::Unavailable("nobody waited for the answer".to_owned()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    use tokio::time::timeout;

    use super::*;
    use crate::reads;
    use crate::sqlite::tables::ready;
    use crate::tables::{Ask, ask};

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
}
