//! What counts for what is shown, of what changed under closed months; and what is open of months before.

use evenfare_engine::money::{Currency, Overflow};
use evenfare_reconcile::change::{Change, changes};
use evenfare_reconcile::month::Month;

use super::done::Done;

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
    /// What changed under closed months and counts for what is shown, or is of a closed month that is shown: by how it
    /// changed, then by the days it counts for.
    pub fn changes(&self) -> Vec<Change<'_>> {
        let mut all = changes(&self.books.changed, &self.books.restated, self.currency);
        all.retain(|one| self.shows(one.posted) || self.month.is_none_or(|month| month == one.closed));
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
