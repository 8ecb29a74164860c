//! The one rounding.

use super::{Overflow, kernel};

/// `numerator / denominator` to the nearest integer, a half going away from zero.
///
/// Half up on the magnitude is what EN 16931 asks of VAT amounts (BR-CO-17 and the worked examples
/// of CEN/TC 434), and it makes a credit the mirror of its charge: the rounding is odd.
/// The error is at most half a unit, and a larger value never rounds to a smaller one.
///
/// # Errors
/// [`Overflow`] where the denominator is not positive or the result does not fit 64 bits.
///
/// # Examples
/// ```
/// use evenfare_engine::money::round_half_up;
/// assert_eq!(round_half_up(5, 10), Ok(1));
/// assert_eq!(round_half_up(-5, 10), Ok(-1));
/// assert_eq!(round_half_up(4, 10), Ok(0));
/// ```
pub fn round_half_up(numerator: i128, denominator: i128) -> Result<i64, Overflow> {
    let rounded = kernel::round_half_up(&numerator, &denominator)?;
    i64::try_from(rounded).map_err(|_| Overflow)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(numerator: i128, denominator: i128, expect: i64) {
        assert_eq!(round_half_up(numerator, denominator), Ok(expect));
        assert_eq!(round_half_up(-numerator, denominator), Ok(-expect));
    }

    #[test]
    fn a_half_goes_away_from_zero() {
        check(0, 1, 0);
        check(49, 100, 0);
        check(50, 100, 1);
        check(149, 100, 1);
        check(150, 100, 2);
        check(1, 3, 0);
        check(2, 3, 1);
        check(i128::from(i64::MAX) * 1_000, 1_000, i64::MAX);
    }

    #[test]
    fn what_does_not_fit_is_an_error() {
        assert_eq!(round_half_up(1, 0), Err(Overflow));
        assert_eq!(round_half_up(1, -1), Err(Overflow));
        assert_eq!(round_half_up(i128::MAX, 1), Err(Overflow));
        assert_eq!(round_half_up(i128::MIN, 1), Err(Overflow));
    }
}
