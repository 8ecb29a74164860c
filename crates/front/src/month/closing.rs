//! Closing a month: when it may be.

use chrono::NaiveDate;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Closing;

use super::done::Done;

/// Why a month is not closed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotClosed {
    /// Not that one, or not yet.
    #[error(transparent)]
    Unreconciled(#[from] Unreconciled),
    /// Their answers would count for it.
    #[error("{}", open_questions(*.0))]
    QuestionsOpen(usize),
}

fn open_questions(number: usize) -> String {
    match number {
        1 => String::from("1 question is open, and its answer would count for this month"),
        number => format!("{number} questions are open, and their answers would count for this month"),
    }
}

/// Is the month over?
///
/// # Errors
/// [`Unreconciled::MonthNotOver`] until its last day has passed.
pub fn over(month: Month, today: NaiveDate) -> Result<(), Unreconciled> {
    if today > month.last_day() { Ok(()) } else { Err(Unreconciled::MonthNotOver { month, until: today }) }
}

impl Done {
    /// Closes a month that was reconciled to its end; over open questions only where that is asked for.
    ///
    /// # Errors
    /// [`NotClosed`] says why it is not closed.
    pub fn closed(&self, month: Month, with_open_questions: bool) -> Result<Closing, NotClosed> {
        let closing = self.books.close(month)?;
        match self.books.undecided.len() {
            open if open > 0 && !with_open_questions => Err(NotClosed::QuestionsOpen(open)),
            _ => Ok(closing),
        }
    }
}
