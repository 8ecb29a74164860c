//! What the workshop did itself.

use chrono::NaiveDate;
use evenfare_engine::category::Work;

use super::Place;

/// A piece of work on site that the workshop's own records say it did.
///
/// A partner who was credited for it was credited for nothing. Courier legs need no such record: the
/// courier's bill says who had them carried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkDone {
    /// Where it was read.
    pub place: Place,
    /// The quote, as the record has it. With the work it is known again: loaded twice, it counts once.
    pub quote: Box<str>,
    /// What was done.
    pub work: Work,
    /// The day.
    pub done: NaiveDate,
}
