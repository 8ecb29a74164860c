//! What is not right where something was read.

use std::fmt;

use super::Place;

/// One thing that a person has to mend or to look at in what was read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slip {
    /// Where it stands.
    pub place: Place,
    /// A stable name for programs: `unknown_payment`.
    pub code: &'static str,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { place, found, expected, .. } = self;
        write!(f, "{}:{}: found `{found}`, expected {expected}", place.file, place.line)
    }
}
