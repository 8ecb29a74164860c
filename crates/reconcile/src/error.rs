//! Why a month cannot be reconciled at all.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::input::Place;
use crate::month::Month;

/// What stops a reconciliation. A difference never does: it is what one is for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreconciled {
    /// Two records have one name and say different things, so that neither can be left out.
    #[error(
        "{what} `{name}` stands at {}:{} and, with other contents, at {}:{}",
        first.file, first.line, second.file, second.line
    )]
    SaidTwice {
        /// What they are: `invoice`, `statement`.
        what: &'static str,
        /// The name they have in common.
        name: String,
        /// Where one was read.
        first: Place,
        /// Where the other was read.
        second: Place,
    },
    /// Two accepted quotes have one number and one revision, and differ.
    #[error("quote `{number}` was accepted in two ways as revision {revision}")]
    AgreedTwice {
        /// Its number.
        number: String,
        /// Its revision.
        revision: u32,
    },
    /// There is no dated rate to convert by.
    #[error("there is no reference rate of {currency} on {day} or before")]
    NoRate {
        /// The currency.
        currency: Currency,
        /// The day.
        day: NaiveDate,
    },
    /// A closing is not what it was when the month was closed.
    #[error("the closing of {month} does not have the digest it was closed with")]
    ClosingChanged {
        /// The month.
        month: Month,
    },
    /// A closing is missing that another one follows.
    #[error("the closing of {month} is missing: that of {next} follows it")]
    ClosingMissing {
        /// The month of which it is missing.
        month: Month,
        /// The month of the one that follows it.
        next: Month,
    },
    /// A closing follows another one than the one that is there.
    #[error("the closing of {month} does not follow the one before it")]
    ClosingUnlinked {
        /// The month.
        month: Month,
    },
    /// A month is to be closed that is not the first open one.
    #[error("{month} is not the first month that is open")]
    ClosingOutOfOrder {
        /// The month.
        month: Month,
    },
    /// A month is to be closed of which not every day was looked at.
    #[error("{month} cannot be closed before its last day, {}, has passed", month.last_day())]
    MonthNotOver {
        /// The month.
        month: Month,
        /// The last day that was looked at.
        until: NaiveDate,
    },
    /// A decision does not fit what it is about.
    #[error("the decision about `{about}` {problem}")]
    Undecidable {
        /// The payment or the invoice.
        about: String,
        /// What does not fit.
        problem: &'static str,
    },
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

impl Unreconciled {
    /// A stable code.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::SaidTwice { .. } => "said_twice",
            Self::AgreedTwice { .. } => "agreed_twice",
            Self::NoRate { .. } => "no_currency_rate",
            Self::ClosingChanged { .. } => "closing_changed",
            Self::ClosingMissing { .. } => "closing_missing",
            Self::ClosingUnlinked { .. } => "closing_unlinked",
            Self::ClosingOutOfOrder { .. } => "closing_out_of_order",
            Self::MonthNotOver { .. } => "month_not_over",
            Self::Undecidable { .. } => "undecidable",
            Self::Overflow(_) => "too_large",
        }
    }
}
