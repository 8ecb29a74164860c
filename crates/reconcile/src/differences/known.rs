//! Differences as they are known, before they are held against those that months were closed with.

use crate::difference::Difference;

/// A difference that is not told, or not all of it, while a question is open.
pub(crate) struct InQuestion {
    /// As it is where the answer leaves it alone.
    pub(crate) whole: Difference,
    /// What there is of it whatever the answer is, of the sign of the whole; nothing, where the answer may be all of it.
    pub(crate) told_minor: i64,
}

/// What is a difference, and what may be none.
#[derive(Default)]
pub(crate) struct Known {
    pub(crate) told: Vec<Difference>,
    pub(crate) in_question: Vec<InQuestion>,
}

impl Known {
    pub(super) fn push(&mut self, difference: Difference) {
        self.told.push(difference);
    }

    pub(super) fn extend(&mut self, differences: impl IntoIterator<Item = Difference>) {
        self.told.extend(differences);
    }

    /// Takes in what was found elsewhere, after what is here.
    pub(crate) fn append(&mut self, mut other: Self) {
        self.told.append(&mut other.told);
        self.in_question.append(&mut other.in_question);
    }

    /// A question is open that may be the answer to all of it but so much.
    pub(super) fn ask(&mut self, whole: Difference, told_minor: i64) {
        self.in_question.push(InQuestion { whole, told_minor });
    }
}
