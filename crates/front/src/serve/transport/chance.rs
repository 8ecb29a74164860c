//! Numbers that differ from one another and from those of another process. They guard no secret.

use std::hash::{BuildHasher, RandomState};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// A keyed hash of a counter; the key is drawn once.
#[derive(Debug, Default)]
pub(super) struct Chance {
    key: RandomState,
    drawn: AtomicU64,
}

impl Chance {
    pub(super) fn draw(&self) -> u64 {
        self.key.hash_one(self.drawn.fetch_add(1, Ordering::Relaxed))
    }

    /// The duration, less up to a tenth of it.
    pub(super) fn shorten(&self, duration: Duration) -> Duration {
        let tenth = u64::try_from(duration.as_nanos() / 10).unwrap_or(u64::MAX);
        let less = self.draw().checked_rem(tenth).unwrap_or_default();
        duration.saturating_sub(Duration::from_nanos(less))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn numbers_differ_within_and_between() {
        let (one, other) = (Chance::default(), Chance::default());
        let drawn: HashSet<u64> = (0..1000).flat_map(|_| [one.draw(), other.draw()]).collect();
        assert_eq!(drawn.len(), 2000);
    }

    #[test]
    fn a_duration_is_shortened_by_less_than_a_tenth() {
        let chance = Chance::default();
        let all: HashSet<Duration> = (0..100).map(|_| chance.shorten(Duration::from_secs(100))).collect();
        assert!(all.len() > 90, "{all:?}");
        assert!(all.iter().all(|one| (90..=100).contains(&one.as_secs())), "{all:?}");
        assert_eq!(chance.shorten(Duration::ZERO), Duration::ZERO);
    }
}
