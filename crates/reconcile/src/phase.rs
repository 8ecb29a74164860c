//! How far month end is, for somebody who looks on.

/// A part of the work, in the order in which they are done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// Papers are read together and held against what was agreed.
    Papers,
    /// Payments are matched to invoices.
    Payments,
    /// All of it is posted.
    Postings,
    /// Closings are held against it, and accounts added up.
    Accounts,
}

impl Phase {
    /// All of them, in their order.
    pub const ALL: [Self; 4] = [Self::Papers, Self::Payments, Self::Postings, Self::Accounts];

    /// What is done, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Papers => "holding papers against what was agreed",
            Self::Payments => "matching payments",
            Self::Postings => "posting",
            Self::Accounts => "adding up accounts",
        }
    }

    /// How many are done before it.
    pub fn before(self) -> usize {
        Self::ALL.iter().take_while(|one| **one < self).count()
    }
}
