//! What was measured in a minute.

use std::sync::Mutex;
use std::time::Duration;

/// How long each took, the shortest first.
pub struct Seen(Vec<Duration>);

impl Seen {
    /// Takes away what was written down so far.
    pub fn of(took: &Mutex<Vec<Duration>>) -> Self {
        let mut took = std::mem::take(&mut *took.lock().unwrap());
        took.sort_unstable();
        Self(took)
    }

    /// So many of a hundred took at most that long.
    pub fn ms(&self, part: usize) -> f64 {
        let last = self.0.len().saturating_sub(1);
        self.0.get(last * part / 100).map_or(0.0, |took| took.as_secs_f64() * 1e3)
    }
}
