//! Why a month cannot be reconciled at all.

use std::fmt;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Net, Overflow};

use crate::input::{Balance, Place, Slip, Statement};
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
    /// Statements of one account do not follow one another: all places where they do not.
    #[error("{}", lines(untied))]
    StatementsUntied {
        /// By account, and in the order of days.
        untied: Vec<Untied>,
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
    #[error(
        "the closing of {month} does not have the digest it was closed with: put back what was written then"
    )]
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
    #[error(
        "the closing of {month} follows another closing of {} than the one that is there: put back the one that it was \
         closed on",
        month.previous()
    )]
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
    /// A closed month is looked at up to a day before its last: its books are those of the whole month.
    #[error("{until} is inside {month}, which is closed as a whole: look at its last day, {}, or at a day after it", month.last_day())]
    InsideClosed {
        /// The month.
        month: Month,
        /// The last day that was to be looked at.
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
            Self::StatementsUntied { .. } => "statements_untied",
            Self::NoRate { .. } => "no_currency_rate",
            Self::ClosingChanged { .. } => "closing_changed",
            Self::ClosingMissing { .. } => "closing_missing",
            Self::ClosingUnlinked { .. } => "closing_unlinked",
            Self::ClosingOutOfOrder { .. } => "closing_out_of_order",
            Self::MonthNotOver { .. } => "month_not_over",
            Self::InsideClosed { .. } => "inside_closed_month",
            Self::Undecidable(_) => "undecidable",
            Self::Overflow(_) => "too_large",
        }
    }
}

/// Two statements of one account of which the later does not follow the earlier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untied {
    /// The account, as the earlier names it.
    pub account: Box<str>,
    /// Of the account.
    pub currency: Currency,
    /// What is wrong between them.
    pub how: How,
    /// The one that begins first, or ends first where both begin on one day.
    pub earlier: Stated,
    /// The other.
    pub later: Stated,
}

/// What is wrong between two statements of one account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum How {
    /// The later opens with another balance than the earlier closed with.
    Apart,
    /// The later tells of days that the earlier has told of.
    Overlap,
}

/// A statement, as far as another has to follow it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stated {
    /// Where it was read.
    pub place: Place,
    /// The bank's name for it.
    pub id: Box<str>,
    /// What the account held at its beginning.
    pub opening: Balance,
    /// What it held at its end.
    pub closing: Balance,
}

impl Untied {
    pub(crate) fn apart(earlier: &Statement, later: &Statement) -> Self {
        Self::new(How::Apart, earlier, later)
    }

    pub(crate) fn overlap(earlier: &Statement, later: &Statement) -> Self {
        Self::new(How::Overlap, earlier, later)
    }

    fn new(how: How, earlier: &Statement, later: &Statement) -> Self {
        let stated = |one: &Statement| Stated {
            place: one.place.clone(),
            id: one.id.clone(),
            opening: one.opening,
            closing: one.closing,
        };
        let (account, currency) = (earlier.account.clone(), earlier.currency);
        Self { account, currency, how, earlier: stated(earlier), later: stated(later) }
    }
}

impl fmt::Display for Untied {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { account, currency, how, earlier, later } = self;
        let at = |one: &Stated| format!("statement `{}` at {}:{}", one.id, one.place.file, one.place.line);
        let (first, second) = (at(earlier), at(later));
        write!(f, "account {account}: ")?;
        match how {
            How::Apart => {
                let balance = |Balance { day, minor }: Balance| {
                    let amount = Net::from_minor(minor).map(|amount| amount.in_major_units(*currency));
                    format!(
                        "{} {currency} on {day}",
                        amount.unwrap_or_else(|_| format!("{minor} minor units of"))
                    )
                };
                let (held, opens) = (balance(earlier.closing), balance(later.opening));
                write!(
                    f,
                    "{first} closes with {held}, {second} opens with {opens}: one between them is missing, "
                )?;
                f.write_str("or one was changed")
            }
            How::Overlap => {
                let days = |one: &Stated| format!("{} to {}", one.opening.day, one.closing.day);
                write!(f, "{second} is of {}, but {first} is of {}: ", days(later), days(earlier))?;
                f.write_str("the days of both count twice")
            }
        }
    }
}

fn lines(all: &[Untied]) -> String {
    all.iter().map(Untied::to_string).collect::<Vec<_>>().join("\n")
}
