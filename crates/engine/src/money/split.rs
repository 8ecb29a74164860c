//! Sharing out an amount to the last minor unit.

use super::Overflow;

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
    let sum: i128 = weights.iter().map(|&w| i128::from(w)).sum();
    if sum == 0 {
        return match total {
            // Nothing of nothing; and a sale at the full price is its own lines.
            0 => Ok(weights.to_vec()),
            _ => Err(SplitError::NoWeight),
        };
    }
    let mirrored = total < 0;
    let magnitude = i128::from(total.unsigned_abs());
    let divisor = i128::try_from(sum.unsigned_abs()).map_err(|_| Overflow)?;
    let mut parts = Vec::with_capacity(weights.len());
    let mut remainders = Vec::with_capacity(weights.len());
    let mut left = magnitude;
    for (index, &weight) in weights.iter().enumerate() {
        let weight = if sum < 0 { i128::from(weight).checked_neg() } else { Some(i128::from(weight)) };
        let product = weight.and_then(|w| w.checked_mul(magnitude)).ok_or(Overflow)?;
        let (quota, remainder) = div_rem_floor(product, divisor).ok_or(Overflow)?;
        left = left.checked_sub(quota).ok_or(Overflow)?;
        parts.push(quota);
        remainders.push((remainder, index));
    }
    if left > 0 {
        remainders.sort_unstable_by(|a, b| {
            let by_place = match ties {
                Ties::First => a.1.cmp(&b.1),
                Ties::Last => b.1.cmp(&a.1),
            };
            b.0.cmp(&a.0).then(by_place)
        });
        // Fewer units are left than there are weights: each remainder is below one unit.
        for &(_, index) in remainders.iter().take(usize::try_from(left).map_err(|_| Overflow)?) {
            if let Some(part) = parts.get_mut(index) {
                *part = part.checked_add(1).ok_or(Overflow)?;
            }
        }
    }
    parts
        .into_iter()
        .map(|part| {
            let part = i64::try_from(part).map_err(|_| Overflow)?;
            if mirrored { part.checked_neg().ok_or(Overflow) } else { Ok(part) }
        })
        .collect::<Result<_, _>>()
        .map_err(SplitError::Overflow)
}

/// Quotient and remainder, the quotient towards minus infinity; the divisor is positive.
fn div_rem_floor(dividend: i128, divisor: i128) -> Option<(i128, i128)> {
    // Most sums fit 64 bits, where a division costs a tenth.
    if let (Ok(dividend), Ok(divisor)) = (i64::try_from(dividend), i64::try_from(divisor)) {
        let quotient = dividend.checked_div_euclid(divisor)?;
        let remainder = dividend.checked_rem_euclid(divisor)?;
        return Some((i128::from(quotient), i128::from(remainder)));
    }
    Some((dividend.checked_div_euclid(divisor)?, dividend.checked_rem_euclid(divisor)?))
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
    fn nothing_to_share_by_is_an_error() {
        assert_eq!(split(1, &[], Ties::First), Err(SplitError::NoWeight));
        assert_eq!(split(1, &[5, -5], Ties::First), Err(SplitError::NoWeight));
    }
}
