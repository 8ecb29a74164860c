//! What counts for what is shown, of what changed under closed months; and what is open of months before.

use std::collections::BTreeMap;

use evenfare_reconcile::change::{Change, changes};
use evenfare_reconcile::month::Month;

use super::done::Done;

impl Done {
    /// What changed under closed months and counts for what is shown, or is of a closed month that is shown: by how it
    /// changed, then by the days it counts for.
    pub fn changes(&self) -> Vec<Change<'_>> {
        let mut all = changes(&self.books.changed, &self.books.restated, self.currency);
        all.retain(|one| self.shows(one.posted) || self.month.is_none_or(|month| month == one.closed));
        all
    }

    /// How many differences of each month before the one that is shown are open still. What is owed and what is owed back
    /// is not one sum, so none is made.
    pub fn earlier(&self) -> BTreeMap<Month, usize> {
        let mut earlier = BTreeMap::new();
        let Some(shown) = self.month else { return earlier };
        let months = self.books.differences.iter().map(|found| Month::of(found.posted));
        for month in months.filter(|month| *month < shown) {
            let count: &mut usize = earlier.entry(month).or_default();
            *count = count.saturating_add(1);
        }
        earlier
    }
}
