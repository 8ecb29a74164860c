//! The one rounding.

/// A sum left the range in which every digit is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a sum is too large to be kept exactly")]
pub struct Overflow;

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
    if denominator <= 0 {
        return Err(Overflow);
    }
    let magnitude = numerator.unsigned_abs();
    let divisor = denominator.unsigned_abs();
    let (quotient, remainder) = div_rem(magnitude, divisor).ok_or(Overflow)?;
    let up = remainder >= divisor.saturating_sub(remainder);
    let rounded = quotient.checked_add(u128::from(up)).ok_or(Overflow)?;
    let rounded = i64::try_from(rounded).map_err(|_| Overflow)?;
    if numerator < 0 { rounded.checked_neg().ok_or(Overflow) } else { Ok(rounded) }
}

/// Quotient and remainder; none where the divisor is zero.
pub(super) fn div_rem(dividend: u128, divisor: u128) -> Option<(u128, u128)> {
    // Most sums fit 64 bits, where a division costs a tenth.
    match (u64::try_from(dividend), u64::try_from(divisor)) {
        (Ok(n), Ok(d)) => Some((u128::from(n.checked_div(d)?), u128::from(n.checked_rem(d)?))),
        _ => Some((dividend.checked_div(divisor)?, dividend.checked_rem(divisor)?)),
    }
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
