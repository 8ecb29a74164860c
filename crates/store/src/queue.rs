//! What waits to be written down, for the one writer of either database.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::{OwnedSemaphorePermit, Semaphore, mpsc, oneshot, watch};
use tokio::time::timeout;

use crate::clock::Clock;
use crate::command::Request;
use crate::event::Record;
use crate::head::{Asked, Head};
use crate::ledger::apply;
use crate::refused::StoreError;
use crate::tables::{Fault, Tables};

/// How many requests may wait; the next is told that the store is busy.
const WAITING: usize = 1024;
/// How many KiB all of them may take, or a disk that hangs would have a thousand of the longest documents in memory.
const WAITING_KIB: usize = 64 << 10;
/// How many go into one transaction at most,
const BATCH: usize = 256;
/// of about this many bytes.
const BATCH_BYTES: usize = 8 << 20;

/// How long the end of the writer is waited for. A disk that hangs or a database that is gone keeps nobody from ending:
/// whoever still waits was told nothing, and what may be written after all is found by its id.
const CLOSING: Duration = Duration::from_secs(30);

/// While the writer waits for company it looks that often.
const GLANCE: Duration = Duration::from_micros(20);

/// What is answered to a request.
pub(crate) type Answer = Result<Record, StoreError>;

/// A request with who waits for its answer.
pub(crate) struct Waiting {
    asked: Asked,
    answer: oneshot::Sender<Answer>,
    _room: OwnedSemaphorePermit,
}

/// Who waits to hear whether anything can be written.
type Trial = oneshot::Sender<Result<(), StoreError>>;

/// What comes into the queue.
#[allow(clippy::large_enum_variant, reason = "nearly all are the large one")]
enum Wanted {
    Write(Waiting),
    Trial(Trial),
}

/// What goes into one transaction.
#[derive(Default)]
pub(crate) struct Batch {
    /// The requests, in their order.
    pub(crate) waiting: Vec<Waiting>,
    trials: Vec<Trial>,
}

/// The end at which requests come in.
pub(crate) struct Queue {
    sender: Mutex<Option<mpsc::Sender<Wanted>>>,
    news: watch::Sender<u64>,
    ended: watch::Sender<bool>,
    transactions: Arc<AtomicU64>,
    closing: Duration,
    /// In KiB.
    room: Arc<Semaphore>,
}

/// The end at which the writer takes them out.
pub(crate) struct Intake {
    receiver: mpsc::Receiver<Wanted>,
    news: watch::Sender<u64>,
    ended: watch::Sender<bool>,
    transactions: Arc<AtomicU64>,
}

impl Batch {
    /// Does somebody wait to hear whether anything can be written?
    pub(crate) fn is_a_trial(&self) -> bool {
        !self.trials.is_empty()
    }

    /// About how much it takes in the database, in bytes.
    pub(crate) fn weight(&self) -> usize {
        self.waiting.iter().map(|waiting| waiting.asked.weight()).fold(0, usize::saturating_add)
    }

    /// All its requests inside a transaction that begins at that head; what is answered to each once it is committed.
    pub(crate) async fn apply(
        &self,
        tables: &impl Tables,
        head: &mut Head,
        clock: &Clock,
    ) -> Result<Vec<Answer>, Fault> {
        let mut answers = Vec::with_capacity(self.waiting.len());
        for waiting in &self.waiting {
            match apply(tables, head, &waiting.asked, clock.now()).await {
                Ok(record) => {
                    if record.event.sequence > head.sequence {
                        *head = Head::after(&record.event);
                    }
                    answers.push(Ok(record));
                }
                Err(fault @ Fault::Whole { .. }) => return Err(fault),
                Err(fault) => answers.push(Err(fault.into())),
            }
        }
        Ok(answers)
    }

    /// It was committed. Whoever waited may be gone; what was written stays.
    pub(crate) fn answer(self, answers: Vec<Answer>) {
        for (waiting, answer) in self.waiting.into_iter().zip(answers) {
            let _ = waiting.answer.send(answer);
        }
        for trial in self.trials {
            let _ = trial.send(Ok(()));
        }
    }

    /// It was not, and why.
    pub(crate) fn fail(self, error: &StoreError) {
        for waiting in self.waiting {
            let _ = waiting.answer.send(Err(error.clone()));
        }
        for trial in self.trials {
            let _ = trial.send(Err(error.clone()));
        }
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
        let sender = Mutex::new(Some(sender));
        let room = Arc::new(Semaphore::new(WAITING_KIB));
        (Self { sender, news, ended, transactions, closing: CLOSING, room }, intake)
    }

    pub(crate) async fn write(&self, request: Request) -> Answer {
        // Digests are taken here, beside the writer and not by it.
        let asked = Asked::new(request);
        let (answer, answered) = oneshot::channel();
        let room = self.room_for(&asked)?;
        self.send(Wanted::Write(Waiting { asked, answer, _room: room }))?;
        answered.await.unwrap_or_else(|_| Err(stopped()))
    }

    /// Room in memory until it is answered. One that is longer than there is room for has all of it.
    fn room_for(&self, asked: &Asked) -> Result<OwnedSemaphorePermit, StoreError> {
        let kib = asked.weight().div_ceil(1 << 10).min(WAITING_KIB);
        let kib = u32::try_from(kib).unwrap_or(u32::MAX);
        Arc::clone(&self.room).try_acquire_many_owned(kib).map_err(|_| StoreError::Busy)
    }

    /// Has the writer try whether anything can be written.
    pub(crate) async fn can_write(&self) -> Result<(), StoreError> {
        let (answer, answered) = oneshot::channel();
        self.send(Wanted::Trial(answer))?;
        answered.await.unwrap_or_else(|_| Err(stopped()))
    }

    fn send(&self, wanted: Wanted) -> Result<(), StoreError> {
        let sender = self.sender.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(sender) = sender.as_ref() else { return Err(StoreError::Closed) };
        sender.try_send(wanted).map_err(|error| match error {
            mpsc::error::TrySendError::Full(_) => StoreError::Busy,
            // Nobody has told it to.
            mpsc::error::TrySendError::Closed(_) => stopped(),
        })
    }

    /// How many transactions were committed.
    pub(crate) fn transactions(&self) -> u64 {
        self.transactions.load(Ordering::Relaxed)
    }

    pub(crate) fn news(&self) -> watch::Receiver<u64> {
        self.news.subscribe()
    }

    /// Takes nothing more on, and waits until the writer has ended, or for so long.
    pub(crate) async fn close(&self) {
        drop(self.sender.lock().unwrap_or_else(PoisonError::into_inner).take());
        let mut ended = self.ended.subscribe();
        let _ = timeout(self.closing, ended.wait_for(|ended| *ended)).await;
    }
}

impl Intake {
    /// Whatever waits, as soon as something does; none when the queue is closed and empty.
    pub(crate) async fn next(&mut self) -> Option<Batch> {
        let first = self.receiver.recv().await?;
        Some(self.and_what_waits(first))
    }

    /// As [`next`](Self::next), for a thread. Those who have just been answered mostly come back at once; a
    /// transaction that begins with the first of them leaves the others to the one after it. So it waits
    /// until `expected` are there, but no longer than `patience`.
    pub(crate) fn next_blocking(&mut self, expected: usize, patience: Duration) -> Option<Batch> {
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

    fn and_what_waits(&mut self, first: Wanted) -> Batch {
        let mut batch = Batch::default();
        let mut bytes = 0_usize;
        let mut next = Some(first);
        while let Some(wanted) = next {
            match wanted {
                Wanted::Write(waiting) => {
                    bytes = bytes.saturating_add(waiting.asked.weight());
                    batch.waiting.push(waiting);
                }
                Wanted::Trial(trial) => batch.trials.push(trial),
            }
            let has_room = batch.waiting.len() < BATCH && bytes < BATCH_BYTES;
            next = if has_room { self.receiver.try_recv().ok() } else { None };
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

fn stopped() -> StoreError {
    StoreError::Unavailable("the writer has stopped".to_owned())
}

impl Drop for Intake {
    fn drop(&mut self) {
        self.ended.send_replace(true);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::command::Command;
    use crate::digest::Digest;

    /// What takes that many KiB.
    fn request(kib: usize) -> Request {
        let command = Command::Publish {
            code: "E1".parse().unwrap(),
            from: NaiveDate::default(),
            until: None,
            currency: "EUR".parse().unwrap(),
            archive: vec![0; (kib - 1) << 10],
        };
        let (id, caller) = ("r-1".parse().unwrap(), "office".parse().unwrap());
        Request { id, fingerprint: Digest::ZERO, caller, command }
    }

    /// A thousand that are short may wait, and a few that are long.
    #[tokio::test]
    async fn what_waits_has_so_much_room_and_no_more() {
        let (queue, mut intake) = Queue::new(0);
        let queue = Queue { room: Arc::new(Semaphore::new(64)), ..queue };
        let mut waiting: Vec<_> = [30, 30, 1].map(|kib| Box::pin(queue.write(request(kib)))).into();
        for one in &mut waiting {
            assert!(timeout(Duration::from_millis(20), one).await.is_err());
        }
        let more = timeout(Duration::from_secs(20), queue.write(request(30))).await;
        assert_eq!(more.unwrap(), Err(StoreError::Busy));
        intake.next().await.unwrap().fail(&StoreError::Closed);
        for one in waiting {
            assert_eq!(one.await, Err(StoreError::Closed));
        }
        assert_eq!(queue.room.available_permits(), 64);
    }

    /// What was closed is about to end and says so; a defect has to be seen by whoever looks after the server.
    #[tokio::test]
    async fn a_writer_that_is_gone_is_no_store_that_was_closed() {
        let (queue, intake) = Queue::new(0);
        drop(intake);
        assert_eq!(queue.can_write().await, Err(stopped()));
        queue.close().await;
        assert_eq!(queue.can_write().await, Err(StoreError::Closed));
    }

    #[tokio::test]
    async fn a_writer_that_does_not_come_back_is_not_waited_for() {
        let (queue, _hangs) = Queue::new(0);
        let queue = Queue { closing: Duration::from_millis(50), ..queue };
        timeout(Duration::from_secs(20), queue.close()).await.unwrap();
        assert_eq!(queue.can_write().await, Err(StoreError::Closed));
    }
}
