//! What waits to be written down, for the one writer of either database.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::{mpsc, oneshot, watch};

use crate::command::Request;
use crate::event::Record;
use crate::head::Asked;
use crate::refused::StoreError;

/// So many requests may wait; the next is told that the store is busy.
const WAITING: usize = 1024;
/// So many go into one transaction at most,
const BATCH: usize = 256;
/// of about so many bytes.
const BATCH_BYTES: usize = 8 << 20;

/// While the writer waits for company it looks that often.
const GLANCE: Duration = Duration::from_micros(20);

/// What is answered to a request.
pub(crate) type Answer = Result<Record, StoreError>;

/// A request with who waits for its answer.
pub(crate) struct Waiting {
    pub(crate) asked: Asked,
    answer: oneshot::Sender<Answer>,
}

/// The end at which requests come in.
pub(crate) struct Queue {
    sender: Mutex<Option<mpsc::Sender<Waiting>>>,
    news: watch::Sender<u64>,
    ended: watch::Sender<bool>,
    transactions: Arc<AtomicU64>,
}

/// The end at which the writer takes them out.
pub(crate) struct Intake {
    receiver: mpsc::Receiver<Waiting>,
    news: watch::Sender<u64>,
    ended: watch::Sender<bool>,
    transactions: Arc<AtomicU64>,
}

impl Waiting {
    /// Whoever waited may be gone; what was written stays.
    pub(crate) fn answer(self, answer: Answer) {
        let _ = self.answer.send(answer);
    }
}

impl Queue {
    /// Both ends, where the last event is that one.
    pub(crate) fn new(last: u64) -> (Self, Intake) {
        let (sender, receiver) = mpsc::channel(WAITING);
        let (news, _) = watch::channel(last);
        let (ended, _) = watch::channel(false);
        let transactions = Arc::default();
        let intake = Intake {
            receiver,
            news: news.clone(),
            ended: ended.clone(),
            transactions: Arc::clone(&transactions),
        };
        (Self { sender: Mutex::new(Some(sender)), news, ended, transactions }, intake)
    }

    pub(crate) async fn write(&self, request: Request) -> Answer {
        // Digests are taken here, beside the writer and not by it.
        let asked = Asked::new(request);
        let (answer, answered) = oneshot::channel();
        {
            let sender = self.sender.lock().unwrap_or_else(PoisonError::into_inner);
            let Some(sender) = sender.as_ref() else { return Err(StoreError::Closed) };
            sender.try_send(Waiting { asked, answer }).map_err(|error| match error {
                mpsc::error::TrySendError::Full(_) => StoreError::Busy,
                mpsc::error::TrySendError::Closed(_) => StoreError::Closed,
            })?;
        }
        answered.await.unwrap_or_else(|_| Err(StoreError::Unavailable("the writer has stopped".to_owned())))
    }

    /// How many transactions were committed.
    pub(crate) fn transactions(&self) -> u64 {
        self.transactions.load(Ordering::Relaxed)
    }

    pub(crate) fn news(&self) -> watch::Receiver<u64> {
        self.news.subscribe()
    }

    /// Takes nothing more on, and waits until the writer has ended.
    pub(crate) async fn close(&self) {
        drop(self.sender.lock().unwrap_or_else(PoisonError::into_inner).take());
        // Fails only when the writer is gone.
        let _ = self.ended.subscribe().wait_for(|ended| *ended).await;
    }
}

impl Intake {
    /// Whatever waits, as soon as something does; none when the queue is closed and empty.
    pub(crate) async fn next(&mut self) -> Option<Vec<Waiting>> {
        let first = self.receiver.recv().await?;
        Some(self.and_what_waits(first))
    }

    /// As [`next`](Self::next), for a thread. Those who have just been answered mostly come back at once; a
    /// transaction that begins with the first of them leaves the others to the one after it. So it waits
    /// until `expected` are there, but no longer than `patience`.
    pub(crate) fn next_blocking(&mut self, expected: usize, patience: Duration) -> Option<Vec<Waiting>> {
        let first = self.receiver.blocking_recv()?;
        let begun = Instant::now();
        while self.receiver.len().saturating_add(1) < expected.min(BATCH) && begun.elapsed() < patience {
            std::thread::sleep(GLANCE);
        }
        Some(self.and_what_waits(first))
    }

    /// How many wait now.
    pub(crate) fn waiting(&self) -> usize {
        self.receiver.len()
    }

    fn and_what_waits(&mut self, first: Waiting) -> Vec<Waiting> {
        let mut bytes = first.asked.weight();
        let mut batch = vec![first];
        while batch.len() < BATCH && bytes < BATCH_BYTES {
            let Ok(waiting) = self.receiver.try_recv() else { break };
            bytes = bytes.saturating_add(waiting.asked.weight());
            batch.push(waiting);
        }
        batch
    }

    /// A transaction was committed: everything up to that event is safe on disk.
    pub(crate) fn written(&self, last: u64) {
        self.transactions.fetch_add(1, Ordering::Relaxed);
        self.news.send_if_modified(|news| {
            let newer = last > *news;
            *news = last.max(*news);
            newer
        });
    }
}

impl Drop for Intake {
    fn drop(&mut self) {
        self.ended.send_replace(true);
    }
}
