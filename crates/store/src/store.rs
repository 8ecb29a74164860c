//! The store: one trait for two databases.

use std::ops::RangeInclusive;

use async_trait::async_trait;
use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::text::Code;
use tokio::sync::watch;

use crate::caller::Caller;
use crate::command::Request;
use crate::entry::{Entry, KeptEdition, State, Summary};
use crate::event::{Event, Record};
use crate::invoice::Invoice;
use crate::number::{Number, Series};
use crate::refused::StoreError;

/// Whose quotes or invoices are looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sight {
    /// All of them.
    All,
    /// Those with that partner on their route, and invoices of what the workshop sold to him; others are as if they
    /// were not there.
    Partner(Code),
}

impl Sight {
    /// The partner whose eyes it is seen by.
    pub(crate) fn partner(&self) -> Option<&Code> {
        match self {
            Self::All => None,
            Self::Partner(partner) => Some(partner),
        }
    }
}

/// Which quotes to list; what is not said does not narrow the list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filter {
    /// The series of the number.
    pub series: Option<Series>,
    /// The job's reference.
    pub reference: Option<Code>,
    /// Any of these states.
    pub states: Vec<State>,
    /// Quoted on that day or later.
    pub quoted_from: Option<NaiveDate>,
    /// Quoted on that day or earlier.
    pub quoted_until: Option<NaiveDate>,
}

/// A page of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listing {
    /// Whose quotes.
    pub sight: Sight,
    /// Which of them.
    pub filter: Filter,
    /// Those whose numbers were issued before that one; the newest where it is none.
    pub before: Option<Number>,
    /// At most this many, and at least one.
    pub limit: u32,
}

/// A page of quotes, one line a number: its last entry, or the last that the reader may see.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Page {
    /// The number issued last stands first. One that cannot be read says nothing of the others.
    pub summaries: Vec<Result<Summary, StoreError>>,
    /// The last number on the page, where there are more; none on the last page.
    pub next: Option<Number>,
}

/// Which invoices and credit notes to list; what is not said does not narrow the list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InvoiceFilter {
    /// The series of the number.
    pub series: Option<Series>,
    /// Of that quote, whichever revision.
    pub quote: Option<Number>,
    /// Issued on that day or later.
    pub issued_from: Option<NaiveDate>,
    /// Issued on that day or earlier.
    pub issued_until: Option<NaiveDate>,
}

/// A page of a list of invoices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InvoiceListing {
    /// Whose invoices.
    pub sight: Sight,
    /// Which of them.
    pub filter: InvoiceFilter,
    /// Those written down before that one; the newest where it is none.
    pub before: Option<Number>,
    /// At most this many, and at least one.
    pub limit: u32,
}

/// A page of invoices and credit notes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InvoicePage {
    /// What was written down last stands first.
    pub invoices: Vec<Invoice>,
    /// The last number on the page, where there are more; none on the last page.
    pub next: Option<Number>,
}

/// Where everything is kept.
///
/// Cancelling a call never undoes half of it: a write that was taken on is finished whether or not
/// anybody still waits for the answer.
#[async_trait]
pub trait Store: Send + Sync + 'static {
    /// Writes one thing down and answers with its record, after it is safe on disk. A request that was
    /// answered before is answered the same.
    ///
    /// # Errors
    /// [`StoreError::Refused`] says why nothing was written down. After [`StoreError::Unavailable`] it is
    /// not known: send it again, with the same id.
    async fn write(&self, request: Request) -> Result<Record, StoreError>;

    /// The record of a request that was answered before, as it was.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn answered(&self, id: &Code) -> Result<Option<Record>, StoreError>;

    /// One entry of a number, with what became of it; of `revision` none, the last one that the reader
    /// may see, the opposite entry where there is one.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn entry(
        &self,
        number: &Number,
        which: Option<(u32, bool)>,
        sight: &Sight,
    ) -> Result<Option<Entry>, StoreError>;

    /// A page of quotes.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn list(&self, listing: &Listing) -> Result<Page, StoreError>;

    /// An invoice or a credit note, with what became of it.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn invoice(&self, number: &Number, sight: &Sight) -> Result<Option<Invoice>, StoreError>;

    /// A page of invoices and credit notes.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn invoices(&self, listing: &InvoiceListing) -> Result<InvoicePage, StoreError>;

    /// What happened after the event of that sequence, in order, at most this many events, without what was kept along
    /// with them.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn events(&self, after: u64, limit: u32) -> Result<Vec<Event>, StoreError>;

    /// What was written down after the event of that sequence, in order, at most this many records: fewer where they are
    /// long, and none only where there is none.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn records(&self, after: u64, limit: u32) -> Result<Vec<Record>, StoreError>;

    /// The sequences of the first and the last event written down from one moment on and before another; none where
    /// there is no such event. Where a clock was set back, events of other moments may stand between them.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn between(
        &self,
        begin: DateTime<Utc>,
        end: DateTime<Utc>,
    ) -> Result<Option<(u64, u64)>, StoreError>;

    /// When the last event of all was written down, by the clock of the server that wrote it; none where there is no
    /// event.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn last_recorded(&self) -> Result<Option<DateTime<Utc>>, StoreError>;

    /// The sequence of the last event of all; 0 where there is none.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn last(&self) -> Result<u64, StoreError>;

    /// The sequence of the last event about an edition or a caller: while it stays the same, so do
    /// [`editions`](Self::editions) and [`callers`](Self::callers).
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn settings(&self) -> Result<u64, StoreError>;

    /// All editions, the earliest first. One that cannot be read says why; where its days cannot, it has all that may be
    /// its own.
    ///
    /// # Errors
    /// [`StoreError`] where they cannot be looked up.
    async fn editions(&self) -> Result<Vec<KeptEdition>, StoreError>;

    /// All callers, also those withdrawn, in the order in which they were added; of one who cannot be read, why.
    ///
    /// # Errors
    /// [`StoreError`] where they cannot be looked up.
    async fn callers(&self) -> Result<Vec<Result<Caller, StoreError>>, StoreError>;

    /// The first row that belongs to no event, of those that name one of these sequences: by it, and what it is. There is
    /// none where nobody has written past the store; [`audit`](crate::audit::audit) asks for it.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be looked up.
    async fn stray(&self, events: RangeInclusive<i64>) -> Result<Option<(u64, String)>, StoreError>;

    /// Can anything be written? Brings something to the disk that is not kept, behind what waits to be written down; what
    /// was written down meanwhile tells it as well.
    ///
    /// # Errors
    /// [`StoreError`] says why not; [`StoreError::Busy`] that too much waits to know.
    async fn can_write(&self) -> Result<(), StoreError>;

    /// Is a question broken off when nobody waits for its answer any more? Otherwise it is read to its end.
    fn breaks_off(&self) -> bool;

    /// The sequence of the last event that was written down through this very store, for those who wait
    /// for news. What others write into the same database does not show here.
    fn news(&self) -> watch::Receiver<u64>;

    /// Takes no more writes on, and waits for those taken on to be finished, but for no more than half a minute: a
    /// database that does not answer keeps nobody from ending. It asks for a runtime with timers.
    async fn close(&self);
}
