//! What events are dated by, and which moment may follow which.

use std::fmt;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};

/// The clocks of servers may differ by so much without anybody being told.
pub const TOLERANCE: TimeDelta = TimeDelta::minutes(5);

/// What says how late it is.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>);

impl Clock {
    /// One of one's own, for whoever wants to know beforehand what it will say.
    pub fn new(now: impl Fn() -> DateTime<Utc> + Send + Sync + 'static) -> Self {
        Self(Arc::new(now))
    }

    /// To the microsecond, as it is kept.
    pub(crate) fn now(&self) -> DateTime<Utc> {
        let now = (self.0)();
        DateTime::from_timestamp_micros(now.timestamp_micros()).unwrap_or(now)
    }
}

/// The clock of the machine.
impl Default for Clock {
    fn default() -> Self {
        Self::new(Utc::now)
    }
}

impl fmt::Debug for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Clock")
    }
}

/// The moment of what is written down at `now`, after an event of the moment `before`. Where clocks differ a little,
/// time stands still rather than go back. A clock that was far ahead is not followed: what it dated stays as it
/// is, and what comes after has the time that it is.
pub(crate) fn moment_after(before: DateTime<Utc>, now: DateTime<Utc>) -> DateTime<Utc> {
    if may_follow(before, now) { now } else { before }
}

/// May an event of that moment come after one of `before`?
pub(crate) fn may_follow(before: DateTime<Utc>, moment: DateTime<Utc>) -> bool {
    moment >= before || before.signed_duration_since(moment) > TOLERANCE
}
