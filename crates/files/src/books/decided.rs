//! What persons decided, and the rows that answer a question.

use evenfare_reconcile::matching::Undecided;

/// The rows that answer a question, one text for each possible answer.
pub fn answers(_question: &Undecided) -> Vec<String> {
    Vec::new()
}
