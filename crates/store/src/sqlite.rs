//! The store in one SQLite file.
//!
//! One thread writes, in batches; readers have connections of their own and never see what is not
//! committed. Other processes may have the file open at the same time.

mod tables;
mod connection;
mod readers;
mod checkpoints;
mod writer;
mod backup;

use std::ops::RangeInclusive;
use std::path::Path;

use async_trait::async_trait;
use chrono::{DateTime, Utc};
use evenfare_engine::text::Code;
use tokio::sync::watch;

use crate::caller::Caller;
use crate::clock::Clock;
use crate::command::Request;
use crate::entry::{Entry, KeptEdition};
use crate::event::{Event, Record};
use crate::invoice::Invoice;
use crate::number::Number;
use crate::queue::Queue;
use crate::reads;
use crate::refused::StoreError;
use crate::store::{InvoiceListing, InvoicePage, Listing, Page, Sight, Store};
use readers::Readers;

pub use backup::BackupError;

/// A store in one SQLite file.
pub struct Sqlite {
    queue: Queue,
    readers: Readers,
}

impl Sqlite {
    /// Opens the file, makes it where there is none, and brings an older one up to date. Waits for the disk,
    /// and up to 5 seconds for another process that writes.
    ///
    /// # Errors
    /// [`StoreError::Newer`] where a later version has written there, [`StoreError::Corrupt`] where it is
    /// something else, [`StoreError::Unavailable`] where it cannot be opened or written.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, StoreError> {
        Self::open_by(path, Clock::default())
    }

    /// The same by a clock of one's own.
    ///
    /// # Errors
    /// As [`open`](Self::open).
    pub fn open_by(path: impl AsRef<Path>, clock: Clock) -> Result<Self, StoreError> {
        let path = path.as_ref().to_owned();
        let connection = connection::prepared(&path)?;
        let last = tables::ready(reads::last(&tables::Open(&connection)))?;
        let (queue, intake) = Queue::new(last);
        writer::start(path.clone(), connection, intake, clock)?;
        Ok(Self { readers: Readers::new(path), queue })
    }

    /// How many transactions it has committed since it was opened; each may hold many requests.
    pub fn transactions(&self) -> u64 {
        self.queue.transactions()
    }
}

#[async_trait]
impl Store for Sqlite {
    async fn write(&self, request: Request) -> Result<Record, StoreError> {
        self.queue.write(request).await
    }

    async fn answered(&self, id: &Code) -> Result<Option<Record>, StoreError> {
        let id = id.clone();
        self.readers.read(move |tables| tables::ready(reads::answered(tables, &id))).await
    }

    async fn entry(
        &self,
        number: &Number,
        which: Option<(u32, bool)>,
        sight: &Sight,
    ) -> Result<Option<Entry>, StoreError> {
        let (number, sight) = (number.clone(), sight.clone());
        self.readers.read(move |tables| tables::ready(reads::entry(tables, &number, which, &sight))).await
    }

    async fn list(&self, listing: &Listing) -> Result<Page, StoreError> {
        let listing = listing.clone();
        self.readers.read(move |tables| tables::ready(reads::list(tables, &listing))).await
    }

    async fn invoice(&self, number: &Number, sight: &Sight) -> Result<Option<Invoice>, StoreError> {
        let (number, sight) = (number.clone(), sight.clone());
        self.readers.read(move |tables| tables::ready(reads::invoice(tables, &number, &sight))).await
    }

    async fn invoices(&self, listing: &InvoiceListing) -> Result<InvoicePage, StoreError> {
        let listing = listing.clone();
        self.readers.read(move |tables| tables::ready(reads::invoices(tables, &listing))).await
    }

    async fn events(&self, after: u64, limit: u32) -> Result<Vec<Event>, StoreError> {
        self.readers.read(move |tables| tables::ready(reads::events(tables, after, limit))).await
    }

    async fn records(&self, after: u64, limit: u32) -> Result<Vec<Record>, StoreError> {
        self.readers.read(move |tables| tables::ready(reads::records(tables, after, limit))).await
    }

    async fn between(
        &self,
        begin: DateTime<Utc>,
        end: DateTime<Utc>,
    ) -> Result<Option<(u64, u64)>, StoreError> {
        self.readers.read(move |tables| tables::ready(reads::between(tables, begin, end))).await
    }

    async fn last_recorded(&self) -> Result<Option<DateTime<Utc>>, StoreError> {
        self.readers.read(|tables| tables::ready(reads::last_recorded(tables))).await
    }

    async fn last(&self) -> Result<u64, StoreError> {
        self.readers.read(|tables| tables::ready(reads::last(tables))).await
    }

    async fn settings(&self) -> Result<u64, StoreError> {
        self.readers.read(|tables| tables::ready(reads::settings(tables))).await
    }

    async fn editions(&self) -> Result<Vec<KeptEdition>, StoreError> {
        self.readers.read(|tables| tables::ready(reads::editions(tables))).await
    }

    async fn callers(&self) -> Result<Vec<Result<Caller, StoreError>>, StoreError> {
        self.readers.read(|tables| tables::ready(reads::callers(tables))).await
    }

    async fn stray(&self, events: RangeInclusive<i64>) -> Result<Option<(u64, String)>, StoreError> {
        self.readers.read(move |tables| tables::ready(reads::stray(tables, &events))).await
    }

    async fn can_write(&self) -> Result<(), StoreError> {
        self.queue.can_write().await
    }

    fn breaks_off(&self) -> bool {
        true
    }

    fn news(&self) -> watch::Receiver<u64> {
        self.queue.news()
    }

    async fn close(&self) {
        self.queue.close().await;
        self.readers.close();
    }
}
