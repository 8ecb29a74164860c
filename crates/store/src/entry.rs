//! Entries: what is kept of a quote, a revision or an opposite entry.

use bytes::Bytes;
use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::money::Currency;
use evenfare_engine::text::{Code, Text};

use crate::digest::Digest;
use crate::number::Number;

/// What an entry holds. It is made outside the store and kept as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Content {
    /// 1 for the first quote of a number, then one more for each correction.
    pub revision: u32,
    /// Is it the opposite entry of that revision?
    pub reversal: bool,
    /// The job's reference.
    pub reference: Code,
    /// The end customer's name.
    pub customer: Text,
    /// The tariff edition it was priced by.
    pub edition: Code,
    /// Of its amounts.
    pub currency: Currency,
    /// The day of the quote. The year of a first revision's is that of its number.
    pub quoted: NaiveDate,
    /// The last day on which it can be accepted.
    pub valid_until: NaiveDate,
    /// What the end customer pays for the job itself before VAT, in minor units.
    pub end_net_minor: i64,
    /// The offers of which one can be accepted; `main` first.
    pub offers: Vec<Offered>,
    /// The partners on its route; they may see it.
    pub partners: Vec<Code>,
    /// The sealed quote and its job, in a form that the store does not look into. Copies share it.
    pub document: Bytes,
}

/// An offer that can be accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offered {
    /// Its id.
    pub id: Code,
    /// What the end customer pays for it before VAT, in minor units, so that a list need not open the document; none
    /// where an earlier version has written the entry.
    pub net_minor: Option<i64>,
}

/// What became of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum State {
    /// Neither accepted nor declined so far.
    Open,
    /// One of its offers was accepted.
    Accepted,
    /// It was declined.
    Declined,
    /// Taken back: this is the last state, of an entry and of its opposite.
    Reversed,
    /// A later revision stands in its place.
    Superseded,
}

/// An entry with what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number.
    pub number: Number,
    /// What it holds.
    pub content: Content,
    /// When it was written down.
    pub recorded: DateTime<Utc>,
    /// What became of it.
    pub state: State,
    /// The offer that was accepted, while that is its state.
    pub accepted: Option<Code>,
    /// The day of acceptance or refusal by the customer, while one of these is its state.
    pub settled: Option<NaiveDate>,
    /// The hash of the last event of its number: a change has to name it.
    pub etag: Digest,
}

/// An entry in a list: as [`Entry`], without its document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Summary {
    /// Its number.
    pub number: Number,
    /// 1 for the first quote of a number, then one more for each correction.
    pub revision: u32,
    /// What became of it.
    pub state: State,
    /// The job's reference.
    pub reference: Code,
    /// The end customer's name.
    pub customer: Text,
    /// The day of the quote.
    pub quoted: NaiveDate,
    /// The last day on which it can be accepted.
    pub valid_until: NaiveDate,
    /// Of its amount, by its code; a later version may know more of them.
    pub currency: String,
    /// What the end customer pays for the job itself before VAT, in minor units.
    pub end_net_minor: i64,
    /// When it was written down.
    pub recorded: DateTime<Utc>,
    /// The offer that was accepted.
    pub accepted: Option<Code>,
    /// What the end customer pays for that before VAT, in minor units; none also where it is an alternative whose amount
    /// was not kept.
    pub accepted_net_minor: Option<i64>,
}

/// A tariff edition as it is kept: whole, and never changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptEdition {
    /// Its name.
    pub code: Code,
    /// The first day of receipt that it prices; where that cannot be read, the first that it may price.
    pub from: NaiveDate,
    /// The last day that it prices, as its files say; none where it is open, and where that cannot be read.
    pub until: Option<NaiveDate>,
    /// Why its name, its days, its currency or its files cannot be read, where one of them cannot: nobody prices by it then.
    pub unread: Option<String>,
    /// The currency of its amounts, by its code; a later version may know more of them.
    pub currency: String,
    /// Its files, in a form that the store does not look into.
    pub archive: Vec<u8>,
    /// When it was published; none where that cannot be read.
    pub published: Option<DateTime<Utc>>,
    /// Who published it, by his name as it stands there; empty where that cannot be read.
    pub publisher: String,
}

impl State {
    /// All there are.
    pub const ALL: [Self; 5] = [Self::Open, Self::Accepted, Self::Declined, Self::Reversed, Self::Superseded];

    /// Its stable name.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Accepted => "accepted",
            Self::Declined => "declined",
            Self::Reversed => "reversed",
            Self::Superseded => "superseded",
        }
    }
}

impl std::fmt::Display for State {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code())
    }
}
