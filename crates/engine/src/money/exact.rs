//! Exact values between two roundings.

use std::cmp::Ordering;
use std::fmt::{self, Write as _};

use super::amount::{Amount, AmountKind};
use super::{Currency, Overflow, Percent, Quantity, UnitPrice, round_half_up};

/// An exact number of minor units: a fraction of two 128-bit integers.
///
/// A fraction, because labour is charged by the minute of an hourly rate and currencies are
/// crossed by division: neither ends after any number of decimals. No operation rounds; one that
/// would not fit is an [`Overflow`].
///
/// Obeys `no_digit_is_lost`.
///
/// # Examples
/// ```
/// use evenfare_engine::money::{Currency, Exact, Net, UnitPrice};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let eur: Currency = "EUR".parse()?;
/// let rate: UnitPrice = "70.00".parse()?;
/// let twenty_minutes = Exact::from_unit_price(rate, eur).times_ratio(20, 60)?;
/// assert_eq!(twenty_minutes.to_string(), "2333.333… (7000/3)");
/// assert_eq!(twenty_minutes.round::<evenfare_engine::money::kind::Net>()?, Net::from_minor(2333)?);
/// # Ok(()) }
/// ```
#[derive(Clone, Copy)]
pub struct Exact {
    numerator: i128,
    /// Always positive.
    denominator: i128,
}

impl Exact {
    /// Nothing.
    pub const ZERO: Self = Self { numerator: 0, denominator: 1 };

    /// Whole minor units.
    pub const fn from_minor(minor: i64) -> Self {
        Self { numerator: minor as i128, denominator: 1 }
    }

    /// A price of one unit, in minor units of the currency.
    pub fn from_unit_price(price: UnitPrice, currency: Currency) -> Self {
        // 10^13 x 10^4 at the most.
        let numerator = i128::from(price.scaled()).saturating_mul(i128::from(currency.minor_per_major()));
        Self { numerator, denominator: 10_000 }
    }

    /// `numerator / denominator`.
    ///
    /// # Errors
    /// [`Overflow`] where the denominator is zero or cannot be made positive.
    pub fn ratio(numerator: i128, denominator: i128) -> Result<Self, Overflow> {
        match denominator.cmp(&0) {
            Ordering::Greater => Ok(Self { numerator, denominator }),
            Ordering::Equal => Err(Overflow),
            Ordering::Less => Ok(Self {
                numerator: numerator.checked_neg().ok_or(Overflow)?,
                denominator: denominator.checked_neg().ok_or(Overflow)?,
            }),
        }
    }

    /// The fraction in lowest terms: numerator and positive denominator.
    pub fn lowest_terms(self) -> (i128, i128) {
        let reduced = self.reduced();
        (reduced.numerator, reduced.denominator)
    }

    fn reduced(self) -> Self {
        let divisor = gcd(self.numerator.unsigned_abs(), self.denominator.unsigned_abs());
        match i128::try_from(divisor) {
            Ok(divisor) => Self {
                numerator: self.numerator.checked_div(divisor).unwrap_or(self.numerator),
                denominator: self.denominator.checked_div(divisor).unwrap_or(self.denominator),
            },
            Err(_) => self,
        }
    }

    /// Times `numerator / denominator`.
    ///
    /// # Errors
    /// [`Overflow`] where the result would not fit, or the denominator is not positive.
    pub fn times_ratio(self, numerator: i64, denominator: i64) -> Result<Self, Overflow> {
        if denominator <= 0 {
            return Err(Overflow);
        }
        let (n, d) = (i128::from(numerator), i128::from(denominator));
        let times = |value: Self| {
            Some(Self {
                numerator: value.numerator.checked_mul(n)?,
                denominator: value.denominator.checked_mul(d)?,
            })
        };
        times(self).or_else(|| times(self.reduced())).ok_or(Overflow)
    }

    /// Times a quantity.
    ///
    /// # Errors
    /// [`Overflow`] where the result would not fit.
    pub fn times_quantity(self, quantity: Quantity) -> Result<Self, Overflow> {
        self.times_ratio(quantity.scaled(), 1_000)
    }

    /// That percentage of it.
    ///
    /// # Errors
    /// [`Overflow`] where the result would not fit.
    pub fn percent(self, percent: Percent) -> Result<Self, Overflow> {
        self.times_ratio(percent.scaled(), 1_000_000)
    }

    /// It and that percentage more.
    ///
    /// # Errors
    /// [`Overflow`] where the result would not fit.
    pub fn plus_percent(self, percent: Percent) -> Result<Self, Overflow> {
        self.times_ratio(percent.scaled().saturating_add(1_000_000), 1_000_000)
    }

    /// The sum.
    ///
    /// # Errors
    /// [`Overflow`] where it would not fit.
    pub fn plus(self, other: Self) -> Result<Self, Overflow> {
        add(self, other).or_else(|| add(self.reduced(), other.reduced())).ok_or(Overflow)
    }

    /// The opposite.
    ///
    /// # Errors
    /// [`Overflow`] at the very edge of the range.
    pub fn negated(self) -> Result<Self, Overflow> {
        Ok(Self { numerator: self.numerator.checked_neg().ok_or(Overflow)?, ..self })
    }

    /// Which of the two is larger.
    ///
    /// # Errors
    /// [`Overflow`] where they cannot be brought to one denominator.
    pub fn compare(self, other: Self) -> Result<Ordering, Overflow> {
        if self.denominator == other.denominator {
            return Ok(self.numerator.cmp(&other.numerator));
        }
        let cross = |a: Self, b: Self| {
            let left = a.numerator.checked_mul(b.denominator)?;
            let right = b.numerator.checked_mul(a.denominator)?;
            Some(left.cmp(&right))
        };
        cross(self, other).or_else(|| cross(self.reduced(), other.reduced())).ok_or(Overflow)
    }

    /// The larger of the two.
    ///
    /// # Errors
    /// [`Overflow`] where they cannot be brought to one denominator.
    pub fn max(self, other: Self) -> Result<Self, Overflow> {
        Ok(if self.compare(other)? == Ordering::Less { other } else { self })
    }

    /// Rounds half up on the magnitude to whole minor units: the one way from an exact value to
    /// an amount.
    ///
    /// # Errors
    /// [`Overflow`] where the amount would pass [`Amount::MAX_MINOR`].
    pub fn round<K: AmountKind>(self) -> Result<Amount<K>, Overflow> {
        Amount::from_minor(round_half_up(self.numerator, self.denominator)?)
    }
}

fn add(a: Exact, b: Exact) -> Option<Exact> {
    if a.denominator == b.denominator {
        let numerator = a.numerator.checked_add(b.numerator)?;
        return Some(Exact { numerator, denominator: a.denominator });
    }
    let divisor = i128::try_from(gcd(a.denominator.unsigned_abs(), b.denominator.unsigned_abs())).ok()?;
    let by_b = b.denominator.checked_div(divisor)?;
    let by_a = a.denominator.checked_div(divisor)?;
    let numerator = a.numerator.checked_mul(by_b)?.checked_add(b.numerator.checked_mul(by_a)?)?;
    Some(Exact { numerator, denominator: a.denominator.checked_mul(by_b)? })
}

/// Quotient and remainder; none where the divisor is zero.
fn div_rem(dividend: u128, divisor: u128) -> Option<(u128, u128)> {
    // Most sums fit 64 bits, where a division costs a tenth.
    match (u64::try_from(dividend), u64::try_from(divisor)) {
        (Ok(n), Ok(d)) => Some((u128::from(n.checked_div(d)?), u128::from(n.checked_rem(d)?))),
        _ => Some((dividend.checked_div(divisor)?, dividend.checked_rem(divisor)?)),
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, div_rem(a, b).map_or(0, |(_, rest)| rest));
    }
    a.max(1)
}

impl PartialEq for Exact {
    fn eq(&self, other: &Self) -> bool {
        self.lowest_terms() == other.lowest_terms()
    }
}

impl Eq for Exact {}

impl fmt::Display for Exact {
    /// All decimals where they end; else three of them and the fraction.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (numerator, denominator) = self.lowest_terms();
        let magnitude = numerator.unsigned_abs();
        let denominator = denominator.unsigned_abs();
        let (whole, mut rest) = div_rem(magnitude, denominator).unwrap_or_default();
        let mut text = String::with_capacity(48);
        let sign = if numerator < 0 { "-" } else { "" };
        write!(text, "{sign}{whole}.")?;
        let point = text.len();
        let mut decimals = 0_usize;
        while rest != 0 && decimals < 28 {
            // A denominator past 10^37 cannot be written out digit by digit in 128 bits.
            let Some(tenfold) = rest.checked_mul(10) else { break };
            let (digit, left) = div_rem(tenfold, denominator).unwrap_or_default();
            rest = left;
            decimals = decimals.saturating_add(1);
            text.extend(u32::try_from(digit).ok().and_then(|digit| char::from_digit(digit, 10)));
        }
        if rest != 0 {
            text.truncate(point.saturating_add(decimals.min(3)));
            write!(text, "… ({numerator}/{denominator})")?;
        } else if decimals == 0 {
            text.pop();
        }
        f.pad(&text)
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(value: Result<Exact, Overflow>, expect: &str) {
        assert_eq!(value.map(|v| v.to_string()), Ok(expect.to_owned()));
    }

    #[test]
    fn fractions_are_kept_and_shown_in_full() {
        check(Exact::ratio(1, 8), "0.125");
        check(Exact::ratio(-7, 3), "-2.333… (-7/3)");
        check(Exact::ratio(7, -14), "-0.5");
        check(Exact::ratio(1, 3).and_then(|third| third.plus(Exact::ratio(1, 6)?)), "0.5");
    }

    #[test]
    fn decimals_are_written_out_as_far_as_28() {
        check(Ok(Exact::ZERO), "0");
        check(Exact::ratio(1, 1 << 28), "0.0000000037252902984619140625");
        check(Exact::ratio(1, 1 << 29), "0.000… (1/536870912)");
        assert_eq!(format!("{:?}", Exact::from_minor(-5)), "-5");
    }

    #[test]
    fn fractions_are_compared_by_what_they_are_worth() -> Result<(), Overflow> {
        let (half, two_fifths) = (Exact::ratio(1, 2)?, Exact::ratio(2, 5)?);
        assert_eq!(half.compare(two_fifths), Ok(Ordering::Greater));
        assert_eq!(two_fifths.compare(half), Ok(Ordering::Less));
        assert_eq!(half.compare(Exact::ratio(2, 4)?), Ok(Ordering::Equal));
        assert_eq!((half.max(two_fifths)?, two_fifths.max(half)?), (half, half));
        assert!(half == Exact::ratio(2, 4)? && half != two_fifths);
        assert_eq!(half.negated(), Exact::ratio(-1, 2));
        // Of one denominator, they need not be brought to another that would not fit.
        let huge = |numerator| Exact::ratio(numerator, i128::MAX);
        assert_eq!(huge(i128::MAX - 2)?.compare(huge(i128::MAX - 3)?), Ok(Ordering::Greater));
        Ok(())
    }

    #[test]
    fn past_the_range_is_an_error_not_a_digit_less() {
        let huge = Exact::ratio(i128::MAX, 3);
        assert_eq!(huge.and_then(|h| h.times_ratio(2, 1)), Err(Overflow));
        assert_eq!(huge.and_then(|h| h.plus(h)), Err(Overflow));
        assert_eq!(Exact::ratio(1, 0), Err(Overflow));
        let even = Exact::ratio(i128::MAX - 1, 2);
        check(even.and_then(|e| e.times_ratio(2, 1)), &(i128::MAX - 1).to_string());
    }
}
