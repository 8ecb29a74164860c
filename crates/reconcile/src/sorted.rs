//! Lists that are in order.

use std::cmp::Ordering;

/// Those that a comparison calls equal, of a list that is in its order.
pub(crate) fn run_of<T>(sorted: &[T], compared: impl Fn(&T) -> Ordering) -> &[T] {
    let from = sorted.partition_point(|one| compared(one).is_lt());
    let own = sorted.get(from..).unwrap_or_default();
    own.get(..own.partition_point(|one| compared(one).is_eq())).unwrap_or_default()
}

/// Where something stands in a list that is in its order, looked for from a place on: in steps that double, then between
/// the last two. What is near is found at once; what is far, in twice the steps of a binary search.
pub(crate) fn found_near<T: Ord>(sorted: &[T], wanted: &T, near: usize) -> Option<usize> {
    let is_before = |place: usize| sorted.get(place).is_some_and(|one| one < wanted);
    let (mut from, mut to, mut step) = (0, sorted.len(), 1_usize);
    let mut at = near;
    if is_before(near) {
        while is_before(at) {
            from = at.saturating_add(1);
            at = from.saturating_add(step);
            step = step.saturating_mul(2);
        }
        to = to.min(at);
    } else {
        while !is_before(at) {
            to = to.min(at);
            let Some(before) = at.checked_sub(step) else { break };
            at = before;
            step = step.saturating_mul(2);
        }
        from = if is_before(at) { at.saturating_add(1) } else { 0 };
    }
    let between = sorted.get(from..to)?;
    let place = from.saturating_add(between.partition_point(|one| one < wanted));
    (sorted.get(place)? == wanted).then_some(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_is_found_from_anywhere_and_nothing_else_is() {
        for length in 0..20_u32 {
            let sorted: Vec<u32> = (0..length).map(|one| 2 * one + 1).collect();
            for near in 0..25 {
                for wanted in 0..=2 * length + 2 {
                    let expect = sorted.iter().position(|one| *one == wanted);
                    assert_eq!(
                        found_near(&sorted, &wanted, near),
                        expect,
                        "{wanted} of {length} from {near}"
                    );
                }
            }
        }
    }
}
