//! What an audit finds.

use std::fmt;

use chrono::{DateTime, Utc};

use crate::digest::Digest;
use crate::number::Number;
use crate::refused::StoreError;

/// A place in the chain, noted down somewhere else: a chain that was cut off or written anew does not
/// go through it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Anchor {
    /// The sequence of an event.
    pub sequence: u64,
    /// Its hash.
    pub hash: Digest,
}

/// What was found in a store that is as it was written down.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Audited {
    /// How many events.
    pub events: u64,
    /// How many quotes, revisions and opposite entries.
    pub entries: u64,
    /// How many invoices and credit notes.
    pub invoices: u64,
    /// How many tariff editions.
    pub editions: u64,
    /// How many callers, with those withdrawn.
    pub callers: u64,
    /// The last number of each series and year; all before it are there.
    pub numbers: Vec<Number>,
    /// Events that are dated long before the one before them. Nothing was changed there, and their order is that of the
    /// sequence.
    pub set_back: Vec<SetBack>,
    /// The last event; none in an empty store. Noted down elsewhere, it is the anchor of a later audit.
    pub head: Option<Anchor>,
}

/// An event dated before the one before it: until then a clock was far ahead, or is behind since.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetBack {
    /// The sequence of the event.
    pub sequence: u64,
    /// When it was written down, by the clock that counted then.
    pub recorded: DateTime<Utc>,
    /// The same of the event before it, which is later.
    pub before: DateTime<Utc>,
}

/// What is checked of a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Link {
    /// It can be read.
    Readable,
    /// It comes next in the sequence.
    Sequence,
    /// It names the hash of the event before it.
    Previous,
    /// Its own hash is that of its fields.
    Hash,
    /// What was kept along with it has the digest that it names.
    Content,
    /// It was not written before the event before it, unless a clock was far ahead.
    Time,
    /// No event before it has its request id.
    RequestId,
    /// Its number is the next of its series and year.
    Number,
    /// It could happen as things stood.
    Rules,
    /// The caller's own check.
    Document,
    /// Every row belongs to an event.
    Stray,
    /// It is the event that was noted down.
    Anchor,
}

/// The first link of a chain that does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("event {sequence}: {link}: found {found}, expected {expected}")]
pub struct Broken {
    /// The sequence of the event.
    pub sequence: u64,
    /// What does not hold.
    pub link: Link,
    /// What is there.
    pub found: String,
    /// What should be.
    pub expected: String,
}

/// Why an audit did not come to a good end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AuditError {
    /// Something was changed.
    #[error(transparent)]
    Broken(#[from] Broken),
    /// The store does not answer.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl fmt::Display for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Readable => "it cannot be read",
            Self::Sequence => "it does not come next",
            Self::Previous => "it does not name the hash of the event before it",
            Self::Hash => "its hash is not that of its fields",
            Self::Content => "what was kept along with it is another thing",
            Self::Time => "it was written before the event before it",
            Self::RequestId => "its request id is that of an earlier event",
            Self::Number => "its number is not the next",
            Self::Rules => "it could not happen",
            Self::Document => "its document does not hold",
            Self::Stray => "something is there that no event knows",
            Self::Anchor => "it is not the event that was noted down",
        })
    }
}
