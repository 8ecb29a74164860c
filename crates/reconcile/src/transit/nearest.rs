//! Sides of one amount in one currency, by when they were booked.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::side::Moved;

/// How far two sides are apart in days, and does what arrives stand before what leaves? The least goes together first.
type Apart = Reverse<(i64, bool, usize, usize)>;

/// Pairs of those that leave and those that arrive, of sides in the order of days: the nearest in time go together
/// first, and of two as near what left before it arrived. Those that are as good then are of one day, so whichever is
/// taken, the same is told.
///
/// The two that are nearest stand side by side among those that are left, so only neighbours are looked at: n log n.
pub(super) fn nearest(line: &[Moved]) -> Vec<(u32, u32)> {
    let mut left: BTreeMap<usize, &Moved> = line.iter().enumerate().collect();
    let neighbours = left.iter().zip(left.iter().skip(1));
    let mut near: BinaryHeap<Apart> = neighbours.filter_map(|(a, b)| apart(a, b)).collect();
    let mut pairs = Vec::new();
    while let Some(Reverse((.., before, after))) = near.pop() {
        if !left.contains_key(&before) || !left.contains_key(&after) {
            continue;
        }
        let both = left.remove(&before).zip(left.remove(&after));
        pairs.extend(both.map(|(a, b)| (a.place, b.place)));
        let around = left.range(..before).next_back().zip(left.range(after..).next());
        near.extend(around.and_then(|(a, b)| apart(a, b)));
    }
    pairs
}

fn apart((before, a): (&usize, &&Moved), (after, b): (&usize, &&Moved)) -> Option<Apart> {
    let days = b.booked.signed_duration_since(a.booked).num_days();
    (a.leaves() != b.leaves()).then_some(Reverse((days, b.leaves() && days > 0, *before, *after)))
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::transit::Side;

    /// Sides by the days of June; below nothing leave. Pairs by their places.
    fn check(line: &[i32], expect: &[(u32, u32)]) {
        let side = |(place, on): (u32, &i32)| {
            let booked = NaiveDate::from_ymd_opt(2026, 6, on.unsigned_abs())?;
            let minor = i64::from(on.signum()) * 500;
            let side = Side { currency: "EUR".parse().ok()?, minor, base_minor: minor };
            Some(Moved { place, booked, is_reversal: false, accounts: (0, 1), reference: None, side })
        };
        let line: Vec<Moved> = (0..).zip(line).filter_map(side).collect();
        let mut pairs = nearest(&line);
        pairs.sort_unstable();
        assert_eq!(pairs, expect);
    }

    #[test]
    fn the_nearest_that_are_left_go_together() {
        check(&[-1, 2, -3, 10], &[(0, 1), (2, 3)]);
        check(&[-1, 2, -4, 5, -9], &[(0, 1), (2, 3)]);
        // What stood between two is gone.
        check(&[-1, -3, 4, 9], &[(0, 3), (1, 2)]);
        check(&[1, -3, 4, -9], &[(0, 3), (1, 2)]);
        // Of two as near what left before it arrived; of one day in their order.
        check(&[3, -4, 5], &[(1, 2)]);
        check(&[4, -4, 4], &[(0, 1)]);
    }
}
