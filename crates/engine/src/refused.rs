//! Why a job has no quote.

use crate::money::Overflow;
use crate::period::OutOfCalendar;
use crate::problem::{Problem, listed};
use crate::quote::Unsealed;
use crate::route::{RouteError, UnderTheFloor};

/// Why a job has no quote, in order of precedence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The job has mistakes; all of them, each with its place.
    #[error("the job has mistakes: {}", listed(.0))]
    Job(Vec<Problem>),
    /// A sum left the range in which every digit is kept.
    #[error("a sum is too large to be kept exactly")]
    TooLarge,
    /// A date left the calendar.
    #[error("a date lies outside the calendar")]
    OutOfCalendar,
    /// The shares of the route would push the workshop under its floor, and an agreement on it
    /// says that such a quote is refused.
    #[error(
        "the shares of the route are {} and the floor leaves {} minor units; the agreement with {} refuses the quote",
        .0.shares.minor(), .0.available.minor(), .0.refused_by
    )]
    UnderTheFloor(Box<UnderTheFloor>),
    /// A sum did not hold when the quote was closed: a defect of this crate.
    #[error("the quote could not be sealed")]
    Unsealed(#[source] Unsealed),
}

impl Refused {
    /// A stable name for programs.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Job(_) => "invalid_job",
            Self::TooLarge => "too_large",
            Self::OutOfCalendar => "out_of_calendar",
            Self::UnderTheFloor(_) => "under_the_floor",
            Self::Unsealed(_) => "unsealed",
        }
    }
}

impl From<Vec<Problem>> for Refused {
    fn from(problems: Vec<Problem>) -> Self {
        Self::Job(problems)
    }
}

impl From<Overflow> for Refused {
    fn from(_: Overflow) -> Self {
        Self::TooLarge
    }
}

impl From<RouteError> for Refused {
    fn from(error: RouteError) -> Self {
        match error {
            RouteError::Overflow(_) => Self::TooLarge,
            RouteError::Refused(refused) => Self::UnderTheFloor(Box::new(refused)),
        }
    }
}

impl From<OutOfCalendar> for Refused {
    fn from(_: OutOfCalendar) -> Self {
        Self::OutOfCalendar
    }
}

impl From<Unsealed> for Refused {
    fn from(error: Unsealed) -> Self {
        Self::Unsealed(error)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::money::{Net, Share};

    #[test]
    fn each_refusal_has_a_name_and_words() {
        let check = |refused: Refused, code: &str, text: &str| {
            assert_eq!((refused.code(), refused.to_string().as_str()), (code, text));
        };
        check(Vec::<Problem>::new().into(), "invalid_job", "the job has mistakes: ");
        check(Overflow.into(), "too_large", "a sum is too large to be kept exactly");
        check(OutOfCalendar.into(), "out_of_calendar", "a date lies outside the calendar");
        check(Unsealed::Overflow(Overflow).into(), "unsealed", "the quote could not be sealed");
        let floor = UnderTheFloor {
            offer: "main".into(),
            end_net: Net::ZERO,
            shares: Share::from_minor(40).unwrap_or_default(),
            available: Net::from_minor(20).unwrap_or_default(),
            refused_by: "P-1".parse().unwrap_or_else(|_| unreachable!()),
        };
        let text = "the shares of the route are 40 and the floor leaves 20 minor units; the agreement with P-1 \
                    refuses the quote";
        check(RouteError::Refused(floor).into(), "under_the_floor", text);
    }
}
