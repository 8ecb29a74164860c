//! Events: all that was ever written down, in one chain.

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::text::{Code, Text};

use crate::caller::Caller;
use crate::digest::Digest;
use crate::entry::{Entry, KeptEdition};

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
    /// When it was written down, to the microsecond; never before the event before it.
    pub recorded: DateTime<Utc>,
    /// Who asked for it.
    pub caller: Code,
    /// By which request.
    pub request_id: Code,
    /// The digest of the whole request, to know it again by.
    pub fingerprint: Digest,
    /// The quote's number, the edition's or the caller's name.
    pub subject: String,
    /// The revision it happened to; none where it is not about a quote.
    pub revision: Option<u32>,
    /// The offer that was accepted.
    pub offer: Option<Code>,
    /// The day of acceptance or refusal by the customer.
    pub settled: Option<NaiveDate>,
    /// Why, in the words of who asked for it.
    pub reason: Text,
    /// The digest of what was kept along with it: the entry, the edition or the caller, field by field.
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
    /// A tariff edition.
    Edition(Box<KeptEdition>),
    /// A caller.
    Caller(Box<Caller>),
}
