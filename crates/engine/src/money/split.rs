//! Sharing out an amount to the last minor unit.

use super::Overflow;
use super::kernel::{self, Number};

/// Who gets the next unit where two remainders are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ties {
    /// The one that stands first.
    First,
    /// The one that stands last.
    Last,
}

/// Why an amount cannot be shared out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SplitError {
    /// The weights add up to nothing, but there is something to share.
    #[error("there is no weight to share the amount by")]
    NoWeight,
    /// A product left the exact range.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

/// Shares `total` out in proportion to `weights` by largest remainder.
///
/// Every part is its exact quota rounded down, and the units left over go one each to the largest
/// remainders, so the parts add up to `total` and none is a whole unit from its quota. Also known
/// as Hamilton's method, by which the seats of the United States House were first shared out.
/// Weights may be negative where lines are; a negative total gives the mirror image.
///
/// Obeys `split_of_minus_is_minus_split`.
///
/// # Errors
/// [`SplitError::NoWeight`] where the weights add up to zero and the total does not.
///
/// # Examples
/// ```
/// use evenfare_engine::money::{split, Ties};
/// assert_eq!(split(100, &[1, 1, 1], Ties::First), Ok(vec![34, 33, 33]));
/// assert_eq!(split(-100, &[1, 1, 1], Ties::Last), Ok(vec![-33, -33, -34]));
/// ```
pub fn split(total: i64, weights: &[i64], ties: Ties) -> Result<Vec<i64>, SplitError> {
    let places = 0..i64::try_from(weights.len()).map_err(|_| Overflow)?;
    let places: Vec<i64> = match ties {
        Ties::First => places.collect(),
        Ties::Last => places.rev().collect(),
    };
    // Most products fit 64 bits, where the same steps cost half.
    match by_weight(&total, weights, &places) {
        Err(SplitError::Overflow(_)) => {
            let wide = |numbers: &[i64]| numbers.iter().copied().map(i128::from).collect::<Vec<_>>();
            let parts = by_weight(&i128::from(total), &wide(weights), &wide(&places))?;
            Ok(parts.into_iter().map(i64::try_from).collect::<Result<_, _>>().map_err(|_| Overflow)?)
        }
        parts => parts,
    }
}

fn by_weight<N: Number + PartialEq>(total: &N, weights: &[N], places: &[N]) -> Result<Vec<N>, SplitError> {
    let nothing = N::of(0);
    if kernel::sum(weights)? != nothing {
        return Ok(kernel::split(total, weights, places)?);
    }
    // Nothing of nothing; and a sale at the full price is its own lines.
    if *total == nothing { Ok(weights.to_vec()) } else { Err(SplitError::NoWeight) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(total: i64, weights: &[i64], expect: &[i64]) {
        assert_eq!(split(total, weights, Ties::First).as_deref(), Ok(expect));
    }

    #[test]
    fn the_united_states_house_of_1790() {
        // Census of 1790, 60 seats by Hamilton's method: VA, MA, PA, NC, NY, MD, CT, SC, NJ, NH,
        // VT, GA, KY, RI, DE.
        check(
            60,
            &[
                630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236, 179_570, 141_822,
                85_533, 70_835, 68_705, 68_446, 55_540,
            ],
            &[11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1],
        );
    }

    #[test]
    fn negative_lines_keep_their_sign_and_the_sum_holds() {
        check(50, &[101, -1], &[51, -1]);
        check(-50, &[101, -1], &[-51, 1]);
        check(50, &[-101, 1], &[51, -1]);
        check(0, &[5, -5], &[5, -5]);
        check(0, &[5, 7], &[0, 0]);
        check(0, &[], &[]);
    }

    #[test]
    fn past_64_bits_the_same_is_shared_out() {
        check(1_000_000_000_001, &[1_000_000_000_000; 2], &[500_000_000_001, 500_000_000_000]);
        check(-3, &[i64::MAX; 2], &[-2, -1]);
        assert_eq!(split(1, &[i64::MAX, -i64::MAX], Ties::First), Err(SplitError::NoWeight));
    }

    #[test]
    fn nothing_to_share_by_is_an_error() {
        assert_eq!(split(1, &[], Ties::First), Err(SplitError::NoWeight));
        assert_eq!(split(1, &[5, -5], Ties::First), Err(SplitError::NoWeight));
    }
}
