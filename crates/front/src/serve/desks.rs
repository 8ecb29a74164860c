//! How many documents are made, large jobs priced, quotes tried and books reconciled at once.

use std::num::NonZero;
use std::sync::Arc;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use super::callers::{DOCUMENTS_OF_A_PARTNER, LARGE_JOBS_OF_A_PARTNER};
use super::refusal::Refusal;

/// How many documents wait or are made, those of partners apart; more are refused. One partner has a quarter of them at
/// most.
const DOCUMENTS: usize = 4 * DOCUMENTS_OF_A_PARTNER;
/// How many large jobs and tariffs wait or are worked on, those of partners apart; more are refused. One partner has a
/// quarter of them at most.
const JOBS: usize = 4 * LARGE_JOBS_OF_A_PARTNER;
/// How many books folders are in memory at once; more are refused.
const BOOKS: usize = 2;

/// Room for what keeps a processor busy for longer than a price takes: setting the pages of documents, tens of
/// milliseconds each, and reconciling books, seconds. One processor is left to those who only want a price.
pub(super) struct Desks {
    taken_on: Arc<Semaphore>,
    made: Arc<Semaphore>,
    what: &'static str,
}

/// One who was taken on: he has room for what he brings, and it counts as his where his own is bounded.
pub(super) struct TakenOn {
    _room: OwnedSemaphorePermit,
    _own: Option<OwnedSemaphorePermit>,
}

/// A place at a desk, until it is dropped.
pub(super) struct Desk {
    _taken_on: Option<TakenOn>,
    _made: OwnedSemaphorePermit,
}

impl Desk {
    /// Works on a thread that may be kept waiting. The place is taken until the work has ended, also where nobody
    /// waits for it any more.
    pub(super) async fn work<T: Send + 'static>(
        self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, Refusal> {
        Ok(self.work_on(work).await?.1)
    }

    /// The same, and the place is kept for what comes next.
    pub(super) async fn work_on<T: Send + 'static>(
        self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<(Self, T), Refusal> {
        let worked = tokio::task::spawn_blocking(move || {
            let done = work();
            (self, done)
        });
        worked.await.map_err(|error| Refusal::Internal(error.to_string()))
    }
}

impl Desks {
    /// For documents, and for those of partners: they wait apart for the same places.
    pub(super) fn of_documents() -> [Self; 2] {
        let processors = std::thread::available_parallelism().map_or(1, NonZero::get);
        let made = Arc::new(Semaphore::new(processors.saturating_sub(1).max(1)));
        [(); 2].map(|()| Self {
            taken_on: Arc::new(Semaphore::new(DOCUMENTS)),
            made: Arc::clone(&made),
            what: "documents under way",
        })
    }

    /// For jobs that ask for much, and for tariffs that are read, one after the other.
    pub(super) fn of_jobs() -> Self {
        Self::new(JOBS, 1, "large jobs under way")
    }

    /// For books, one after the other.
    pub(super) fn of_books() -> Self {
        Self::new(BOOKS, 1, "books under way")
    }

    fn new(taken_on: usize, made: usize, what: &'static str) -> Self {
        Self { taken_on: Arc::new(Semaphore::new(taken_on)), made: Arc::new(Semaphore::new(made)), what }
    }

    /// Takes somebody on; who finds too many before him is refused at once.
    pub(super) fn take_on(&self) -> Result<TakenOn, Refusal> {
        let room = Arc::clone(&self.taken_on).try_acquire_owned();
        room.map(|_room| TakenOn { _room, _own: None }).map_err(|_| Refusal::TooMany(self.what))
    }

    /// The same for one who has so much room of his own, as long as he is at it: he cannot take all places.
    pub(super) fn take_on_of(&self, own: &Arc<Semaphore>, what: &'static str) -> Result<TakenOn, Refusal> {
        let own = Arc::clone(own).try_acquire_owned().map_err(|_| Refusal::TooMany(what))?;
        Ok(TakenOn { _own: Some(own), ..self.take_on()? })
    }

    /// Waits for a place for one who was taken on.
    pub(super) async fn seat(&self, taken_on: TakenOn) -> Result<Desk, Refusal> {
        Ok(Desk { _taken_on: Some(taken_on), ..self.turn().await? })
    }

    /// Waits for a place.
    pub(super) async fn place(&self) -> Result<Desk, Refusal> {
        self.seat(self.take_on()?).await
    }

    /// Waits for a place as long as it takes: for what is done in many short pieces, of which each lets the
    /// documents before it pass.
    pub(super) async fn turn(&self) -> Result<Desk, Refusal> {
        let made = Arc::clone(&self.made).acquire_owned().await.map_err(|_| Refusal::TooMany(self.what))?;
        Ok(Desk { _taken_on: None, _made: made })
    }
}
