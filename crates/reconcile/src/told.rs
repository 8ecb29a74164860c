//! What a party may see of the differences that month end found.

use crate::difference::{Difference, Document, Paper};
use crate::month::Month;
use crate::period::Found;

/// The differences that one party is told; what concerns somebody else is not in it.
///
/// # Examples
/// ```
/// use evenfare_reconcile::told::Told;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// assert!(Told::to("P-BRZEG", "2026-10".parse()?, &[]).is_empty());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, Default)]
pub struct Told<'a>(Vec<&'a Difference>);

impl<'a> Told<'a> {
    /// Of all that was found, what concerns that party and counts for the month or an earlier one.
    pub fn to(party: &str, month: Month, found: &'a [Found]) -> Self {
        let last = month.last_day();
        let told = found.iter().filter(|found| &*found.difference.party == party && found.posted <= last);
        Self(told.map(|found| &found.difference).collect())
    }

    /// One after the other, as they were found.
    pub fn iter(&self) -> impl Iterator<Item = &'a Difference> + use<'a, '_> {
        self.0.iter().copied()
    }

    /// Is there nothing to tell?
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A document's number as a party is told it: a payment without our account.
pub fn number_told(document: &Document) -> &str {
    match document.paper {
        Paper::Payment => payment_told(&document.number),
        _ => &document.number,
    }
}

/// A payment's name as a party is told it: the statement and the place in it, without our account before them.
pub fn payment_told(name: &str) -> &str {
    name.split_once('/').map_or(name, |(_, place)| place)
}
