//! What changed under closed months, one list of it for all who tell it.

use std::borrow::Cow;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::changed::{Altered, Changed, Corrected, How};
use crate::chart::Role;
use crate::difference::Paper;
use crate::journal::Event;
use crate::kept::{KeptPaper, Said};
use crate::month::Month;
use crate::restated::Restated;

/// A paper of a closed month, or what is posted of it, that is not what it was when the month was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change<'b> {
    /// Gone, different or late, or that it follows from another change.
    pub how: How,
    /// What it is.
    pub what: What,
    /// Its number.
    pub number: &'b str,
    /// A partner, customer or courier; of an invoice that is not ours who sells.
    pub party: Option<&'b str>,
    /// The day of the document.
    pub day: NaiveDate,
    /// The closed month that has it, or that it belongs to.
    pub closed: Month,
    /// The day it counts for.
    pub posted: NaiveDate,
    /// What it was and is, in amounts.
    pub parts: Vec<Part>,
    /// What else of it was and is another.
    pub altered: Cow<'b, [Altered]>,
}

/// What it is that changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// What happened, as in the journal.
    Posted(Event),
    /// A paper that nothing is posted of.
    Kept(Paper),
}

impl What {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Posted(event) => event.word(),
            Self::Kept(paper) => paper.word(),
        }
    }
}

/// An amount of a change, in minor units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// What it is an amount of.
    pub of: Of,
    /// Of the amounts.
    pub currency: Currency,
    /// What it was.
    pub was_minor: i64,
    /// What it is.
    pub is_minor: i64,
}

/// What an amount is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// An account, by its part: a debit above nothing.
    Account(Role),
    /// What a paper says, before VAT.
    Net,
    /// What a paper says, with VAT.
    Gross,
}

impl Of {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Account(role) => role.word(),
            Self::Net => "net",
            Self::Gross => "gross",
        }
    }
}

impl Part {
    /// By how much it changed.
    ///
    /// # Errors
    /// [`Overflow`] beyond what an amount may be.
    pub fn by_minor(&self) -> Result<i64, Overflow> {
        self.is_minor.checked_sub(self.was_minor).ok_or(Overflow)
    }
}

impl<'b> Change<'b> {
    fn posted(one: &'b Changed, books: Currency) -> Self {
        let in_books = |sum: &Corrected| {
            let same = sum.before_minor == sum.now_minor || sum.currency == books;
            match same {
                true => (books, sum.before_base_minor, sum.now_base_minor),
                false => (sum.currency, sum.before_minor, sum.now_minor),
            }
        };
        let parts = one.sums.iter().map(|sum| {
            let (currency, was_minor, is_minor) = in_books(sum);
            Part { of: Of::Account(sum.role), currency, was_minor, is_minor }
        });
        Self {
            how: one.how,
            what: What::Posted(one.source.event),
            number: &one.source.document,
            party: one.source.party.as_deref(),
            day: one.day,
            closed: Month::of(one.before.unwrap_or(one.day)),
            posted: one.posted,
            parts: parts.collect(),
            altered: Cow::Borrowed(&one.altered),
        }
    }

    fn restated(one: &'b Restated) -> Self {
        let KeptPaper { paper, seller, number, quote, day, said } = &one.is;
        let was = one.was.as_ref().and_then(|was| was.said.as_ref());
        let mut parts: Vec<Part> = Vec::new();
        let both = was.map(|was| (was, false)).into_iter().chain(said.as_ref().map(|is| (is, true)));
        for (&Said { currency, net_minor, gross_minor, .. }, is_now) in both {
            for (of, minor) in [(Of::Net, net_minor), (Of::Gross, gross_minor)] {
                let (was_minor, is_minor) = if is_now { (0, minor) } else { (minor, 0) };
                match parts.iter_mut().find(|part| (part.of, part.currency) == (of, currency)) {
                    Some(part) => part.is_minor = minor,
                    None => parts.push(Part { of, currency, was_minor, is_minor }),
                }
            }
        }
        parts.retain(|part| part.was_minor != part.is_minor);
        let event = one.is.event();
        let party = match paper {
            Paper::WorkDone => quote.as_deref(),
            Paper::CourierBill => Some(&**seller),
            // Seller or account holder are we.
            _ if event.is_some() => None,
            _ => Some(&**seller),
        };
        Self {
            how: one.how,
            what: event.map_or(What::Kept(*paper), What::Posted),
            number,
            party,
            day: *day,
            closed: one.closed.unwrap_or(Month::of(*day)),
            posted: one.posted,
            parts,
            altered: one.altered().into(),
        }
    }
}

/// Everything that changed under closed months, posted or not: by how it changed, then by the days it counts for.
/// Amounts are of the books' currency where the document's is the same as it was.
pub fn changes<'b>(changed: &'b [Changed], restated: &'b [Restated], books: Currency) -> Vec<Change<'b>> {
    let posted = changed.iter().map(|one| Change::posted(one, books));
    let mut all: Vec<Change<'b>> = posted.chain(restated.iter().map(Change::restated)).collect();
    all.sort_by_key(|one| (one.how, one.posted));
    all
}
