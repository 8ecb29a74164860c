//! Lists that are in order.

use std::cmp::Ordering;

/// Those that a comparison calls equal, of a list that is in its order.
pub(crate) fn run_of<T>(sorted: &[T], compared: impl Fn(&T) -> Ordering) -> &[T] {
    let from = sorted.partition_point(|one| compared(one).is_lt());
    let own = sorted.get(from..).unwrap_or_default();
    own.get(..own.partition_point(|one| compared(one).is_eq())).unwrap_or_default()
}
