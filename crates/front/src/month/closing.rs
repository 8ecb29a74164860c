//! Closing a month: when it may be.

use chrono::NaiveDate;
use evenfare_files::closing_file;
use evenfare_reconcile::error::Unreconciled;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Closing;

use super::done::Done;
use super::found::document;

/// How many open questions are named.
const NAMED: usize = 3;

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
    /// It has its closing.
    #[error("{month} is closed already ({})", closing_file(*month))]
    ClosedAlready {
        /// The month.
        month: Month,
    },
    /// The books begin later, if they begin at all.
    #[error("{month} cannot be closed: nothing was posted by its end")]
    NothingPosted {
        /// The month.
        month: Month,
    },
    /// Their answers would count for it; the papers that they are about.
    #[error("{}", open_questions(.0))]
    QuestionsOpen(Vec<String>),
}

impl NotClosed {
    /// A stable code.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unreconciled(error) => error.code(),
            Self::OutOfOrder { .. } | Self::NothingPosted { .. } => "closing_out_of_order",
            Self::ClosedAlready { .. } => "closed_already",
            Self::QuestionsOpen(_) => "questions_open",
        }
    }
}

fn open_questions(about: &[String]) -> String {
    let named = about.get(..NAMED).unwrap_or(about).join("; ");
    match (about.len(), about.len().saturating_sub(NAMED)) {
        (1, _) => format!("1 question is open, and its answer would count for this month: {named}"),
        (all, 0) => {
            format!("{all} questions are open, and their answers would count for this month: {named}")
        }
        (all, more) => format!(
            "{all} questions are open, and their answers would count for this month: {named}; and {more} more"
        ),
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
        let closing = self.books.close(month).map_err(|error| match (error, self.books.first_open()) {
            (Unreconciled::ClosingOutOfOrder { .. }, _) if self.is_closed(month) => {
                NotClosed::ClosedAlready { month }
            }
            (Unreconciled::ClosingOutOfOrder { .. }, Some(first)) => NotClosed::OutOfOrder { month, first },
            (Unreconciled::ClosingOutOfOrder { .. }, None) => NotClosed::NothingPosted { month },
            (error, _) => error.into(),
        })?;
        let open = &self.books.undecided;
        if !open.is_empty() && !with_open_questions {
            return Err(NotClosed::QuestionsOpen(open.iter().map(|one| document(&one.subject)).collect()));
        }
        Ok(closing)
    }
}
