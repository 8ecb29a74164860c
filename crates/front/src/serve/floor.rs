//! Jobs of partners that the floor refuses. Each refusal tells a little of what a repair costs the workshop, for what a
//! partner asks is his to vary: so they are counted, and a partner who has had many in a day is told no more of them.

use std::collections::{HashMap, HashSet};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use evenfare_engine::text::Code;

/// How long they are counted, from the first on.
const DAY: Duration = Duration::from_secs(24 * 60 * 60);

/// What the floor has refused, by partner, whatever credentials he has.
pub(super) struct Floor {
    /// How many of the offers that it refuses a partner is told of in a day; of the others not which they are.
    told: u32,
    days: Mutex<HashMap<Code, Day>>,
}

/// A partner's day.
struct Day {
    began: Instant,
    /// Offers refused, with those of the call that was one too many.
    refused: u32,
    /// What kinds of units they were about.
    families: HashSet<Code>,
}

impl Floor {
    pub(super) fn new(told: u32) -> Self {
        Self { told, days: Mutex::default() }
    }

    /// How long jobs with units of these families are for the office alone; none where this partner is told what the floor
    /// refuses. It goes by what he was told before and by nothing that he can vary: so it tells him nothing.
    pub(super) fn withheld(&self, partner: &Code, families: &[&Code], now: Instant) -> Option<Duration> {
        let days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        days.get(partner)?.withheld(self.told, families, now)
    }

    /// Such a job was priced, and this many of its offers were refused: how many that makes in his day, where he may be
    /// told as many.
    ///
    /// # Errors
    /// How long such jobs are withheld, this one with them: more was refused than is left of his day, or another call
    /// was faster.
    pub(super) fn counted(
        &self,
        partner: &Code,
        families: &[&Code],
        offers: usize,
        now: Instant,
    ) -> Result<u32, Duration> {
        let mut days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        if days.get(partner).is_some_and(|day| day.left(now).is_zero()) {
            days.remove(partner);
        }
        if let Some(left) = days.get(partner).and_then(|day| day.withheld(self.told, families, now)) {
            return Err(left);
        }
        if offers == 0 {
            return Ok(days.get(partner).map_or(0, |day| day.refused));
        }
        let begins = || Day { began: now, refused: 0, families: HashSet::new() };
        let day = days.entry(partner.clone()).or_insert_with(begins);
        day.refused = day.refused.saturating_add(u32::try_from(offers).unwrap_or(u32::MAX));
        day.families.extend(families.iter().copied().cloned());
        if day.refused > self.told { Err(day.left(now)) } else { Ok(day.refused) }
    }
}

impl Day {
    fn left(&self, now: Instant) -> Duration {
        DAY.saturating_sub(now.saturating_duration_since(self.began))
    }

    fn withheld(&self, told: u32, families: &[&Code], now: Instant) -> Option<Duration> {
        let left = self.left(now);
        let of_these = families.iter().any(|family| self.families.contains(*family));
        (!left.is_zero() && self.refused >= told && of_these).then_some(left)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn code(text: &str) -> Code {
        text.parse().unwrap()
    }

    #[test]
    fn who_was_told_often_is_told_no_more_of_what_it_was_about() {
        let (floor, begin) = (Floor::new(3), Instant::now());
        let (one, other) = (code("P-1"), code("P-2"));
        let [oven, proofer, belt] = ["OVEN", "PROOFER", "BELT"].map(code);
        let hour = |hours: u64| begin + Duration::from_secs(hours * 3_600);
        assert_eq!(floor.counted(&one, &[&oven], 1, hour(0)), Ok(1));
        assert_eq!(floor.counted(&one, &[&oven], 0, hour(1)), Ok(1));
        // An alternative is a price of its own.
        assert_eq!(floor.counted(&one, &[&oven, &proofer], 2, hour(2)), Ok(3));
        assert_eq!(floor.withheld(&one, &[&oven], hour(3)), Some(hour(24) - hour(3)));
        assert_eq!(floor.withheld(&one, &[&belt], hour(3)), None);
        assert_eq!(floor.withheld(&one, &[&oven], hour(24)), None);
        // Refused or not, the answer is the same, and counts no more.
        for offers in [0, 1, 20] {
            assert_eq!(floor.counted(&one, &[&oven], offers, hour(3)), Err(hour(24) - hour(3)));
            assert_eq!(floor.counted(&one, &[&belt, &proofer], offers, hour(3)), Err(hour(24) - hour(3)));
        }
        // Other kinds of units go on, until one of them is refused as well; and so does everybody else.
        assert_eq!(floor.counted(&one, &[&belt], 0, hour(3)), Ok(3));
        assert_eq!(floor.counted(&other, &[&oven], 0, hour(3)), Ok(0));
        for offers in [1, 0] {
            assert_eq!(floor.counted(&one, &[&belt], offers, hour(4)), Err(hour(24) - hour(4)));
        }
        // A day after the first it begins anew.
        assert_eq!(floor.counted(&one, &[&oven], 1, hour(24)), Ok(1));
        assert_eq!(floor.counted(&one, &[&belt], 0, hour(24)), Ok(1));
    }

    /// A job with many alternatives asks for many prices in one call.
    #[test]
    fn a_call_that_is_refused_more_than_is_left_is_told_of_none() {
        let (floor, now, one) = (Floor::new(3), Instant::now(), code("P-1"));
        let (oven, belt) = (code("OVEN"), code("BELT"));
        assert_eq!(floor.counted(&one, &[&oven], 2, now), Ok(2));
        assert_eq!(floor.withheld(&one, &[&oven], now), None);
        assert_eq!(floor.counted(&one, &[&oven], 2, now), Err(DAY));
        // What it took is not given back: a smaller one would tell how many they were.
        assert_eq!(floor.withheld(&one, &[&oven], now), Some(DAY));
        assert_eq!(floor.counted(&one, &[&belt], 1, now), Err(DAY));
    }

    #[test]
    fn who_is_never_to_be_told_is_told_of_none() {
        let (floor, now, one) = (Floor::new(0), Instant::now(), code("P-1"));
        let (oven, belt) = (code("OVEN"), code("BELT"));
        assert_eq!(floor.counted(&one, &[&oven], 0, now), Ok(0));
        assert_eq!(floor.counted(&one, &[&oven], 1, now), Err(DAY));
        assert_eq!(floor.counted(&one, &[&oven], 0, now), Err(DAY));
        assert_eq!(floor.counted(&one, &[&belt], 0, now), Ok(1));
    }
}
