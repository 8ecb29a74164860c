//! Jobs, both ways.

mod units;
mod read;
mod write;

use evenfare_engine::Refused;
use evenfare_engine::problem::Problem;

#[cfg(feature = "serve")]
pub(crate) use read::{job, taken_over};

/// A message that is no job: everything that is wrong with it.
///
/// Each mistake names its place as the engine does: `units[0].findings[2].code`. What is found here
/// is wrong with the message as such; what is wrong with the job by a tariff, the engine finds later.
/// Of very many mistakes the first thousand are kept, and the rest is counted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the job has {} mistake(s)", .problems.len())]
pub struct InvalidJob {
    problems: Vec<Problem>,
}

impl InvalidJob {
    /// Every mistake, one at least, from the top of the message to its end.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }
}

/// To whoever asks for a quote it is all one where the mistake was found.
impl From<InvalidJob> for Refused {
    fn from(invalid: InvalidJob) -> Self {
        Self::Job(invalid.problems)
    }
}
