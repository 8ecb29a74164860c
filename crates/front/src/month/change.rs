//! What changed under closed months, one list of it for all who tell it.

use std::borrow::Cow;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};
use evenfare_reconcile::changed::{Altered, Changed, How};
use evenfare_reconcile::difference::Paper;
use evenfare_reconcile::journal::Event;
use evenfare_reconcile::kept::{KeptPaper, Said};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::restated::Restated;

use super::done::Done;

/// A paper of a closed month, or what is posted of it, that is not what it was when the month was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change<'d> {
    /// Gone, different or late, or that it follows from another change.
    pub how: How,
    /// What it is, in a word: what happened, as in the journal; of what is not posted the paper.
    pub what: &'static str,
    /// Its number.
    pub number: &'d str,
    /// A partner, customer or courier; of an invoice that is not ours who sells.
    pub party: Option<&'d str>,
    /// The day of the document.
    pub day: NaiveDate,
    /// The closed month that has it, or that it belongs to.
    pub closed: Month,
    /// The day it counts for.
    pub posted: NaiveDate,
    /// What it was and is, in amounts.
    pub parts: Vec<Part<'d>>,
    /// What else of it was and is another.
    pub altered: Cow<'d, [Altered]>,
}

/// An amount of it, in minor units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part<'d> {
    /// The part of the account in words; of what is not posted `net` or `gross`.
    pub name: &'d str,
    /// Of the amounts.
    pub currency: Currency,
    /// What it was.
    pub was_minor: i64,
    /// What it is.
    pub is_minor: i64,
}

impl Part<'_> {
    /// By how much it changed.
    ///
    /// # Errors
    /// [`Overflow`] beyond what an amount may be.
    pub fn by_minor(&self) -> Result<i64, Overflow> {
        self.is_minor.checked_sub(self.was_minor).ok_or(Overflow)
    }
}

impl<'d> Change<'d> {
    fn posted(one: &'d Changed, books: Currency) -> Self {
        let in_books = |sum: &evenfare_reconcile::changed::Corrected| {
            let same = sum.before_minor == sum.now_minor || sum.currency == books;
            match same {
                true => (books, sum.before_base_minor, sum.now_base_minor),
                false => (sum.currency, sum.before_minor, sum.now_minor),
            }
        };
        let parts = one.sums.iter().map(|sum| {
            let (currency, was_minor, is_minor) = in_books(sum);
            Part { name: sum.role.word(), currency, was_minor, is_minor }
        });
        Self {
            how: one.how,
            what: one.source.event.word(),
            number: &one.source.document,
            party: one.source.party.as_deref(),
            day: one.day,
            closed: Month::of(one.before.unwrap_or(one.day)),
            posted: one.posted,
            parts: parts.collect(),
            altered: Cow::Borrowed(&one.altered),
        }
    }

    fn restated(one: &'d Restated) -> Self {
        let KeptPaper { paper, seller, number, quote, day, said } = &one.is;
        let was = one.was.as_ref().and_then(|was| was.said.as_ref());
        let mut parts: Vec<Part<'_>> = Vec::new();
        let both = was.map(|was| (was, false)).into_iter().chain(said.as_ref().map(|is| (is, true)));
        for (&Said { currency, net_minor, gross_minor, .. }, is_now) in both {
            for (name, minor) in [("net", net_minor), ("gross", gross_minor)] {
                let (was_minor, is_minor) = if is_now { (0, minor) } else { (minor, 0) };
                match parts.iter_mut().find(|part| (part.name, part.currency) == (name, currency)) {
                    Some(part) => part.is_minor = minor,
                    None => parts.push(Part { name, currency, was_minor, is_minor }),
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
            what: event.map_or(paper.word(), Event::word),
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

/// Differences of one earlier month in one currency that are open still.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Earlier {
    /// The month that they count for.
    pub month: Month,
    /// Of the sum.
    pub currency: Currency,
    /// How many there are.
    pub count: usize,
    /// What they come to, what was found less what was agreed.
    pub minor: i64,
}

impl Done {
    /// What changed under closed months and counts for what is shown, or is of the closed month that is shown: by how it
    /// changed, then by the days it counts for.
    pub fn changes(&self) -> Vec<Change<'_>> {
        let posted = self.books.changed.iter().map(|one| Change::posted(one, self.currency));
        let restated = self.books.restated.iter().map(Change::restated);
        let mut all: Vec<Change<'_>> = posted
            .chain(restated)
            .filter(|one| self.shows(one.posted) || self.month == Some(one.closed))
            .collect();
        all.sort_by_key(|one| (one.how, one.posted));
        all
    }

    /// Differences of months before the one that is shown that are open still, by month and currency.
    ///
    /// # Errors
    /// [`Overflow`] beyond what an amount may be.
    pub fn earlier(&self) -> Result<Vec<Earlier>, Overflow> {
        let Some(shown) = self.month else { return Ok(Vec::new()) };
        let mut earlier: Vec<Earlier> = Vec::new();
        for found in &self.books.differences {
            let (month, currency) = (Month::of(found.posted), found.difference.currency);
            if month >= shown {
                continue;
            }
            let minor = found.difference.amount_minor;
            match earlier.iter_mut().find(|one| (one.month, one.currency) == (month, currency)) {
                Some(one) => {
                    one.count = one.count.saturating_add(1);
                    one.minor = one.minor.checked_add(minor).ok_or(Overflow)?;
                }
                None => earlier.push(Earlier { month, currency, count: 1, minor }),
            }
        }
        earlier.sort_by_key(|one| (one.month, one.currency));
        Ok(earlier)
    }
}
