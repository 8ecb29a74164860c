//! How many documents are made at once, and quotes tried.

use std::num::NonZero;
use std::sync::Arc;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use super::refusal::Refusal;

/// So many documents wait or are made; more are refused.
const TAKEN_ON: usize = 64;

/// Room for documents that are made. Setting pages keeps a processor busy for tens of milliseconds, and one is
/// left to those who only want a price.
pub(super) struct Desks {
    taken_on: Arc<Semaphore>,
    made: Arc<Semaphore>,
}

/// A place at a desk, until it is dropped.
pub(super) struct Desk {
    _taken_on: Option<OwnedSemaphorePermit>,
    _made: OwnedSemaphorePermit,
}

impl Desks {
    pub(super) fn new() -> Self {
        let processors = std::thread::available_parallelism().map_or(1, NonZero::get);
        let made = processors.saturating_sub(1).max(1);
        Self { taken_on: Arc::new(Semaphore::new(TAKEN_ON)), made: Arc::new(Semaphore::new(made)) }
    }

    /// Waits for a place; who finds too many before him is refused at once.
    pub(super) async fn place(&self) -> Result<Desk, Refusal> {
        let taken_on = Arc::clone(&self.taken_on).try_acquire_owned().map_err(|_| too_many())?;
        let made = Arc::clone(&self.made).acquire_owned().await.map_err(|_| too_many())?;
        Ok(Desk { _taken_on: Some(taken_on), _made: made })
    }

    /// Waits for a place as long as it takes: for what is done in many short pieces, of which each lets the
    /// documents before it pass.
    pub(super) async fn turn(&self) -> Result<Desk, Refusal> {
        let made = Arc::clone(&self.made).acquire_owned().await.map_err(|_| too_many())?;
        Ok(Desk { _taken_on: None, _made: made })
    }
}

fn too_many() -> Refusal {
    Refusal::TooMany("documents under way")
}
