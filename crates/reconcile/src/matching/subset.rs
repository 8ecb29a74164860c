//! Which of some amounts add up to a given one?

/// More amounts than this are not tried: two halves of 2^12 sums each are what one search takes.
pub(crate) const MOST: usize = 24;
/// Solutions that are told.
pub(crate) const TOLD: usize = 4;

/// Every way in which some of the amounts add up to the target, at most a few of them, each by the places
/// of its amounts. The amounts and the target are above nothing; there are at most [`MOST`] of them.
///
/// Meets in the middle: the sums of each half, sorted, are walked towards each other, so n amounts take
/// 2^(n/2) sums and not 2^n.
pub(crate) fn subsets(amounts: &[i64], target: i64) -> Vec<Vec<usize>> {
    if amounts.len() > MOST {
        return Vec::new();
    }
    let (left, right) = amounts.split_at(amounts.len() / 2);
    let low = sums(left);
    let high = sums(right);
    let mut found = Vec::new();
    let mut high = high.iter().rev().peekable();
    for &(sum, low_mask) in &low {
        let wanted = target.saturating_sub(sum);
        while high.next_if(|(other, _)| *other > wanted).is_some() {}
        // Equal sums of the lower half meet the same sums of the upper one.
        for &(_, high_mask) in high.clone().take_while(|(other, _)| *other == wanted) {
            if found.len() == TOLD {
                return found;
            }
            let places = places(low_mask, 0).chain(places(high_mask, left.len()));
            found.push(places.collect());
        }
    }
    found
}

/// Every sum of some of the amounts, with which they are; rising.
fn sums(amounts: &[i64]) -> Vec<(i64, u32)> {
    let mut sums = vec![(0_i64, 0_u32)];
    for (place, amount) in (0_u32..).zip(amounts) {
        let with = |&(sum, mask): &(i64, u32)| (amount.saturating_add(sum), mask | 1_u32.rotate_left(place));
        let more: Vec<_> = sums.iter().map(with).collect();
        sums.extend(more);
    }
    sums.sort_unstable();
    sums
}

fn places(mask: u32, from: usize) -> impl Iterator<Item = usize> {
    (0..MOST).filter(move |place| (mask >> place) & 1 == 1).map(move |place| place.saturating_add(from))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(amounts: &[i64], target: i64, expect: &[&[usize]]) {
        let mut found = subsets(amounts, target);
        found.sort();
        assert_eq!(found, expect, "{target} of {amounts:?}");
    }

    #[test]
    fn every_way_is_found_and_no_other() {
        check(&[100, 250, 70], 170, &[&[0, 2]]);
        check(&[100, 250, 70], 420, &[&[0, 1, 2]]);
        check(&[100, 250, 70], 171, &[]);
        check(&[], 1, &[]);
        check(&[5, 5, 10], 10, &[&[0, 1], &[2]]);
        check(&[1; MOST + 1], 1, &[]);
    }

    #[test]
    fn it_agrees_with_trying_them_all() {
        let mut seed = 7_u64;
        for _ in 0..300 {
            let mut next = |below: u64| {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                i64::try_from((seed >> 33) % below).unwrap_or_default()
            };
            let amounts: Vec<i64> = (0..next(9)).map(|_| next(40).saturating_add(1)).collect();
            let target = next(90).saturating_add(1);
            let all = (0_u32..1 << amounts.len()).filter(|mask| {
                let some = amounts.iter().enumerate().filter(|(place, _)| (mask >> place) & 1 == 1);
                some.map(|(_, amount)| amount).sum::<i64>() == target
            });
            assert_eq!(subsets(&amounts, target).len(), all.count().min(TOLD));
        }
    }
}
