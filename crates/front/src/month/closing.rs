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
    /// Another one is the first that is open.
    #[error("{month} cannot be closed now: the first month that is open is {first}")]
    OutOfOrder {
        /// The month.
        month: Month,
        /// The first that is open.
        first: Month,
    },
    /// Their answers would count for it.
    #[error("{}", open_questions(*.0))]
    QuestionsOpen(usize),
}

impl NotClosed {
    /// A stable code.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Unreconciled(error) => error.code(),
            Self::OutOfOrder { .. } => "closing_out_of_order",
            Self::QuestionsOpen(_) => "questions_open",
        }
    }
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
        let closing = match (self.books.close(month), self.books.first_open()) {
            (Err(Unreconciled::ClosingOutOfOrder { month }), Some(first)) => {
                return Err(NotClosed::OutOfOrder { month, first });
            }
            (closing, _) => closing?,
        };
        match self.books.undecided.len() {
            open if open > 0 && !with_open_questions => Err(NotClosed::QuestionsOpen(open)),
            _ => Ok(closing),
        }
    }
}
