//! Quotes: out to whoever reads them, and back from where they are kept.

mod write;
mod read;

use evenfare_engine::problem::Problem;
use evenfare_engine::quote::Unsealed;
use evenfare_engine::view::View;

use super::backwards::Backwards;
use super::written::WrittenQuote;

/// What a reader sees of a quote, as its message.
impl From<&View> for WrittenQuote {
    fn from(view: &View) -> Self {
        Self(Backwards::written(|message| write::quote(message, view)))
    }
}

/// A message that is no quote, or not the whole of one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InvalidQuote {
    /// Fields that are missing, damaged, or contradict others: all of them, each with its place.
    #[error("the quote has {} mistake(s)", .0.len())]
    Fields(Vec<Problem>),
    /// Every field can be read, but the sums do not hold.
    #[error("the quote cannot be sealed")]
    Unsealed(#[source] Unsealed),
}

impl InvalidQuote {
    /// What is wrong with which fields, from the top of the message to its end; nothing where it is
    /// the sums that do not hold.
    pub fn problems(&self) -> &[Problem] {
        match self {
            Self::Fields(problems) => problems,
            Self::Unsealed(_) => &[],
        }
    }
}
