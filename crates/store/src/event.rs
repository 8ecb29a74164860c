//! Events: all that was ever written down, in one chain.

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::text::{Code, Text};

use crate::caller::Caller;
use crate::digest::Digest;
use crate::entry::{Entry, KeptEdition};
use crate::invoice::Invoice;

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A quote was issued.
    Issued,
    /// A revision took its place.
    Revised,
    /// An opposite entry took it back.
    Reversed,
    /// The customer accepted it.
    Accepted,
    /// The customer declined it.
    Declined,
    /// What was accepted was invoiced.
    Invoiced,
    /// A credit note took an invoice back.
    Credited,
    /// A tariff edition was published.
    Published,
    /// A caller was added.
    CallerAdded,
    /// A caller was withdrawn.
    CallerWithdrawn,
}

/// Something that happened, as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// 1, 2, 3 without a gap.
    pub sequence: u64,
    /// What happened.
    pub kind: Kind,
    /// When it was written down, to the microsecond, by the clock of the server that wrote it. Not before the event
    /// before it, unless that one was dated by a clock that was far ahead.
    pub recorded: DateTime<Utc>,
    /// Who asked for it.
    pub caller: Code,
    /// By which request.
    pub request_id: Code,
    /// The digest of the whole request, to know it again by.
    pub fingerprint: Digest,
    /// The number of the quote or the invoice, or the name of the edition or the caller.
    pub subject: String,
    /// The revision it happened to; none where it is not about a quote.
    pub revision: Option<u32>,
    /// The offer that was accepted.
    pub offer: Option<Code>,
    /// The day of acceptance or refusal by the customer.
    pub settled: Option<NaiveDate>,
    /// Why, in the words of who asked for it.
    pub reason: Text,
    /// The digest of what was kept along with it, field by field: the entry, the invoice, the edition or the
    /// caller.
    pub content: Option<Digest>,
    /// The hash of the event before.
    pub previous: Digest,
    /// Its own hash: the digest of all the other fields.
    pub hash: Digest,
}

/// An event with what was kept along with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// What happened.
    pub event: Event,
    /// What it happened to.
    pub kept: Kept,
}

/// What an event is about, as it stood right after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kept {
    /// A quote: the entry that was written, accepted or declined.
    Entry(Box<Entry>),
    /// An invoice or a credit note.
    Invoice(Box<Invoice>),
    /// A tariff edition.
    Edition(Box<KeptEdition>),
    /// A caller.
    Caller(Box<Caller>),
    /// A caller or an edition that cannot be read, and why: a later version may know more roles. It is no part of any
    /// sum, so whoever adds up goes on without it; an audit does not.
    Unread(String),
}

impl Kind {
    const ALL: [Self; 10] = [
        Self::Issued,
        Self::Revised,
        Self::Reversed,
        Self::Accepted,
        Self::Declined,
        Self::Invoiced,
        Self::Credited,
        Self::Published,
        Self::CallerAdded,
        Self::CallerWithdrawn,
    ];

    /// Its stable name.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Issued => "issued",
            Self::Revised => "revised",
            Self::Reversed => "reversed",
            Self::Accepted => "accepted",
            Self::Declined => "declined",
            Self::Invoiced => "invoiced",
            Self::Credited => "credited",
            Self::Published => "published",
            Self::CallerAdded => "caller_added",
            Self::CallerWithdrawn => "caller_withdrawn",
        }
    }

    /// The kind of that name.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code())
    }
}
