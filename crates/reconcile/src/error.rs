//! Why a month cannot be reconciled at all.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};

use crate::input::Slip;
use crate::month::Month;

/// What stops a reconciliation. A difference never does: it is what one is for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreconciled {
    /// Records have one name and say different things, so that neither can be left out: all that do, in the
    /// order of their places.
    #[error("{}", listed(.0))]
    SaidTwice(Vec<Slip>),
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
    /// Closings do not follow one another.
    #[error("the closing of {month} does not follow the one before it")]
    ClosingOutOfOrder {
        /// The month.
        month: Month,
    },
    /// A month is to be closed of which not every day was looked at.
    #[error("{month} was looked at up to {until} only")]
    MonthNotOver {
        /// The month.
        month: Month,
        /// The last day that was looked at.
        until: NaiveDate,
    },
    /// Decisions do not fit what they are about: all that do not, in the order of their places.
    #[error("{}", listed(.0))]
    Undecidable(Vec<Slip>),
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

fn listed(slips: &[Slip]) -> String {
    slips.iter().map(Slip::to_string).collect::<Vec<_>>().join("\n")
}

impl Unreconciled {
    /// What is to be mended in files, where it is that.
    pub fn slips(&self) -> &[Slip] {
        match self {
            Self::SaidTwice(slips) | Self::Undecidable(slips) => slips,
            _ => &[],
        }
    }

    /// A stable code.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::SaidTwice(_) => "said_twice",
            Self::AgreedTwice { .. } => "agreed_twice",
            Self::NoRate { .. } => "no_currency_rate",
            Self::ClosingChanged { .. } => "closing_changed",
            Self::ClosingOutOfOrder { .. } => "closing_out_of_order",
            Self::MonthNotOver { .. } => "month_not_over",
            Self::Undecidable(_) => "undecidable",
            Self::Overflow(_) => "too_large",
        }
    }
}
