//! The few steps that every amount goes through, written over any numbers.
//!
//! The engine runs them on 128-bit integers, and on 64 where all fits there. The same lines run on the terms of a
//! solver in `crates/proof`, which proves there what is said of them here, for all values at once.

/// A sum left the range in which every digit is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a sum is too large to be kept exactly")]
pub struct Overflow;

/// Numbers that the kernel computes with.
///
/// No step loses a digit: it is exact, or an [`Overflow`].
pub trait Number: Clone {
    /// Whether something holds of numbers.
    type Truth: Clone;

    /// That number.
    fn of(number: i64) -> Self;

    /// The sum.
    ///
    /// # Errors
    /// [`Overflow`] where it does not fit.
    fn plus(&self, other: &Self) -> Result<Self, Overflow>;

    /// The product.
    ///
    /// # Errors
    /// [`Overflow`] where it does not fit.
    fn times(&self, other: &Self) -> Result<Self, Overflow>;

    /// The opposite.
    ///
    /// # Errors
    /// [`Overflow`] where it does not fit.
    fn negated(&self) -> Result<Self, Overflow>;

    /// Quotient, towards minus infinity, and remainder: `self = quotient x divisor + remainder`, and
    /// the remainder is from nothing to below the divisor.
    ///
    /// # Errors
    /// [`Overflow`] where the divisor is not positive.
    fn div_rem_floor(&self, divisor: &Self) -> Result<(Self, Self), Overflow>;

    /// Is it below the other?
    fn less(&self, other: &Self) -> Self::Truth;

    /// Do both hold?
    fn both(one: Self::Truth, other: Self::Truth) -> Self::Truth;

    /// Does it not hold?
    fn not(truth: Self::Truth) -> Self::Truth;

    /// One of two.
    fn choose(if_so: &Self::Truth, then: Self, otherwise: Self) -> Self;

    /// Of `keys`, no two of which are equal, the one that stands at `rank` (1 is first) where larger
    /// numbers stand first and, among equal ones, lower places. Of rank 0, `before_all`.
    ///
    /// # Errors
    /// [`Overflow`] where there is no such rank.
    fn at_rank(keys: &[Key<Self>], rank: &Self, before_all: Key<Self>) -> Result<Key<Self>, Overflow>;

    /// The difference.
    ///
    /// # Errors
    /// [`Overflow`] where it does not fit.
    fn minus(&self, other: &Self) -> Result<Self, Overflow> {
        self.plus(&other.negated()?)
    }
}

/// What remainders are ranked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key<N> {
    /// What is left after whole units; the larger stands first.
    pub remainder: N,
    /// Among equal ones, the lower stands first.
    pub place: N,
}

impl<N: Number> Key<N> {
    /// Does it stand before the other, or is it the other?
    pub fn not_after(&self, other: &Self) -> N::Truth {
        let larger = other.remainder.less(&self.remainder);
        let smaller = self.remainder.less(&other.remainder);
        let lower_or_same = N::not(other.place.less(&self.place));
        // Larger, or equal and not behind.
        N::not(N::both(N::not(larger), N::not(N::both(N::not(smaller), lower_or_same))))
    }
}

/// `numerator / denominator`, which is positive, to the nearest integer, a half going away from zero.
///
/// Proved: the error is at most half a unit; a larger value never rounds to a smaller one; the
/// opposite rounds to the opposite.
///
/// # Errors
/// [`Overflow`] where the denominator is not positive.
pub fn round_half_up<N: Number>(numerator: &N, denominator: &N) -> Result<N, Overflow> {
    let below = numerator.less(&N::of(0));
    let magnitude = N::choose(&below, numerator.negated()?, numerator.clone());
    let (whole, remainder) = magnitude.div_rem_floor(denominator)?;
    let down = remainder.less(&denominator.minus(&remainder)?);
    let rounded = N::choose(&down, whole.clone(), whole.plus(&N::of(1))?);
    Ok(N::choose(&below, rounded.negated()?, rounded))
}

/// Shares `total` out in proportion to `weights`, whose sum is not zero, by largest remainder; where two
/// remainders are equal, the lower of `places` goes first.
///
/// Proved: the parts add up to the total; each is less than a unit from its exact quota; the largest remainders,
/// and among equal ones the lower places, get what whole quotas leave; the opposite total gives the opposite parts.
///
/// # Errors
/// [`Overflow`] where a product does not fit, or the weights add up to nothing.
pub fn split<N: Number>(total: &N, weights: &[N], places: &[N]) -> Result<Vec<N>, Overflow> {
    let zero = N::of(0);
    let sum = sum(weights)?;
    let (turned, mirrored) = (sum.less(&zero), total.less(&zero));
    let divisor = N::choose(&turned, sum.negated()?, sum.clone());
    let magnitude = N::choose(&mirrored, total.negated()?, total.clone());
    let mut left = magnitude.clone();
    let mut quotas = Vec::with_capacity(weights.len());
    let mut keys = Vec::with_capacity(weights.len());
    for (weight, place) in weights.iter().zip(places) {
        let weight = N::choose(&turned, weight.negated()?, weight.clone());
        let (quota, remainder) = weight.times(&magnitude)?.div_rem_floor(&divisor)?;
        left = left.minus(&quota)?;
        quotas.push(quota);
        keys.push(Key { remainder, place: place.clone() });
    }
    // Every remainder is below the divisor, so that key stands before all others.
    let last = N::at_rank(&keys, &left, Key { remainder: divisor, place: zero.clone() })?;
    let mut parts = Vec::with_capacity(weights.len());
    for (quota, key) in quotas.iter().zip(&keys) {
        let part = N::choose(&key.not_after(&last), quota.plus(&N::of(1))?, quota.clone());
        parts.push(N::choose(&mirrored, part.negated()?, part));
    }
    Ok(parts)
}

/// The sum of all.
///
/// # Errors
/// [`Overflow`] where it does not fit.
pub fn sum<N: Number>(numbers: &[N]) -> Result<N, Overflow> {
    numbers.iter().try_fold(N::of(0), |sum, number| sum.plus(number))
}

/// The sum of products: of each net amount, this many millionths.
///
/// # Errors
/// [`Overflow`] where it does not fit.
pub fn millionths<N: Number>(of: impl IntoIterator<Item = (N, N)>) -> Result<N, Overflow> {
    of.into_iter().try_fold(N::of(0), |sum, (net, millionths)| sum.plus(&net.times(&millionths)?))
}

/// A partner's share as agreed: a discount, rounded before, and fixed credits; never below nothing.
///
/// # Errors
/// [`Overflow`] where it does not fit.
pub fn share<N: Number>(discount: &N, credits: &N) -> Result<N, Overflow> {
    let share = discount.plus(credits)?;
    Ok(N::choose(&share.less(&N::of(0)), N::of(0), share))
}

/// What each party sells at, from the workshop outward, where the end customer pays `end` and the partners,
/// nearest to the workshop first, keep `shares`. The first is what the workshop keeps.
///
/// Proved: it and the shares add up to the end price, which stands last.
///
/// # Errors
/// [`Overflow`] where a difference does not fit.
pub fn walk_back<N: Number>(end: &N, shares: &[N]) -> Result<Vec<N>, Overflow> {
    let mut sales = Vec::with_capacity(shares.len().saturating_add(1));
    sales.push(end.clone());
    let mut sold_at = end.clone();
    for share in shares.iter().rev() {
        sold_at = sold_at.minus(share)?;
        sales.push(sold_at.clone());
    }
    sales.reverse();
    Ok(sales)
}

/// The whole multiple of `step`, which is positive, that is not above `sum` and `bias` together.
///
/// With a bias of nothing the multiple below, of `step - 1` the one above.
///
/// # Errors
/// [`Overflow`] where the step is not positive.
pub fn multiple_below<N: Number>(sum: &N, bias: &N, step: &N) -> Result<N, Overflow> {
    let (whole, _) = sum.plus(bias)?.div_rem_floor(step)?;
    whole.times(step)
}

/// Integers of the machine: what does not fit is an overflow.
macro_rules! integers {
    ($($integer:ty, $div_rem:ident;)*) => { $(
        impl Number for $integer {
            type Truth = bool;

            fn of(number: i64) -> Self {
                Self::from(number)
            }

            fn plus(&self, other: &Self) -> Result<Self, Overflow> {
                self.checked_add(*other).ok_or(Overflow)
            }

            fn minus(&self, other: &Self) -> Result<Self, Overflow> {
                self.checked_sub(*other).ok_or(Overflow)
            }

            fn times(&self, other: &Self) -> Result<Self, Overflow> {
                self.checked_mul(*other).ok_or(Overflow)
            }

            fn negated(&self) -> Result<Self, Overflow> {
                self.checked_neg().ok_or(Overflow)
            }

            fn div_rem_floor(&self, divisor: &Self) -> Result<(Self, Self), Overflow> {
                if *divisor <= 0 {
                    return Err(Overflow);
                }
                $div_rem(*self, *divisor).ok_or(Overflow)
            }

            fn less(&self, other: &Self) -> bool {
                self < other
            }

            fn both(one: bool, other: bool) -> bool {
                one && other
            }

            fn not(truth: bool) -> bool {
                !truth
            }

            fn choose(if_so: &bool, then: Self, otherwise: Self) -> Self {
                if *if_so { then } else { otherwise }
            }

            fn at_rank(keys: &[Key<Self>], rank: &Self, before_all: Key<Self>) -> Result<Key<Self>, Overflow> {
                let rank = usize::try_from(*rank).map_err(|_| Overflow)?;
                let Some(index) = rank.checked_sub(1) else { return Ok(before_all) };
                if rank > keys.len() {
                    return Err(Overflow);
                }
                let mut keys = keys.to_vec();
                let order = |a: &Key<Self>, b: &Key<Self>| b.remainder.cmp(&a.remainder).then(a.place.cmp(&b.place));
                Ok(*keys.select_nth_unstable_by(index, order).1)
            }
        }
    )* };
}

integers! {
    i64, div_rem;
    i128, div_rem_wide;
}

fn div_rem(dividend: i64, divisor: i64) -> Option<(i64, i64)> {
    dividend.checked_div_euclid(divisor).zip(dividend.checked_rem_euclid(divisor))
}

fn div_rem_wide(dividend: i128, divisor: i128) -> Option<(i128, i128)> {
    // Most sums fit 64 bits, where a division costs a tenth.
    match (i64::try_from(dividend), i64::try_from(divisor)) {
        (Ok(n), Ok(d)) => div_rem(n, d).map(|(quotient, rest)| (quotient.into(), rest.into())),
        _ => dividend.checked_div_euclid(divisor).zip(dividend.checked_rem_euclid(divisor)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn larger_remainders_stand_first_and_no_rank_is_past_the_last() {
        let key = |remainder, place| Key { remainder, place };
        let (keys, before_all) = ([key(3_i128, 0), key(5, 1), key(3, 2)], key(9, 0));
        let at = |rank: i128| i128::at_rank(&keys, &rank, before_all);
        assert_eq!(at(0), Ok(before_all));
        assert_eq!([at(1), at(2), at(3)], [Ok(key(5, 1)), Ok(key(3, 0)), Ok(key(3, 2))]);
        assert_eq!((at(4), at(-1)), (Err(Overflow), Err(Overflow)));
    }

    #[test]
    fn sales_go_back_from_the_end_price_by_what_each_partner_keeps() {
        // The nearest to the workshop keeps 10, the one who sells to the end customer 25.
        assert_eq!(walk_back(&100_i128, &[10, 25]), Ok(vec![65, 75, 100]));
        assert_eq!(walk_back(&100_i128, &[]), Ok(vec![100]));
    }
}
