//! Arithmetic to hold the engine against: rationals of any size, and nothing of the engine.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, Zero};

pub type Q = BigRational;

pub fn whole(n: impl Into<BigInt>) -> Q {
    Q::from_integer(n.into())
}

pub fn ratio(numerator: impl Into<BigInt>, denominator: impl Into<BigInt>) -> Q {
    Q::new(numerator.into(), denominator.into())
}

/// To the nearest whole number, a half away from zero.
pub fn half_up(exact: &Q) -> BigInt {
    let magnitude: BigInt = (exact.numer().abs() * 2 + exact.denom()) / (exact.denom() * 2);
    if exact.is_negative() { -magnitude } else { magnitude }
}

/// `total` by `weights`: every quota rounded down, then one each to the largest remainders; where
/// two are equal to the first, or to the last. The weights add up to more than nothing.
pub fn split(total: &BigInt, weights: &[BigInt], last_first: bool) -> Vec<BigInt> {
    let sum: BigInt = weights.iter().sum();
    let quotas: Vec<Q> = weights.iter().map(|w| ratio(w * total, sum.clone())).collect();
    let mut parts: Vec<BigInt> = quotas.iter().map(|quota| quota.floor().to_integer()).collect();
    let mut left: BigInt = total - parts.iter().sum::<BigInt>();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    if last_first {
        order.reverse();
    }
    let rest = |index: usize| &quotas[index] - quotas[index].floor();
    // A stable sort keeps the order of those that are equal.
    order.sort_by_key(|&index| std::cmp::Reverse(rest(index)));
    for index in order {
        if left.is_zero() {
            break;
        }
        parts[index] += 1;
        left -= 1;
    }
    parts
}

pub fn sum<'a>(amounts: impl IntoIterator<Item = &'a BigInt>) -> BigInt {
    amounts.into_iter().sum()
}

/// What is shown in full is the value itself: `-2.125`, or `2.333… (7/3)`.
pub fn read(text: &str) -> Q {
    if let Some((_, fraction)) = text.split_once('(') {
        let (n, d) = fraction.trim_end_matches(')').split_once('/').unwrap();
        return ratio(n.parse::<BigInt>().unwrap(), d.parse::<BigInt>().unwrap());
    }
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let ten = BigInt::from(10).pow(u32::try_from(decimals.len()).unwrap());
    ratio(format!("{whole}{decimals}").parse::<BigInt>().unwrap(), ten)
}

#[test]
fn halves_go_away_from_zero() {
    let check =
        |n: i64, d: i64, expect: i64| assert_eq!(half_up(&ratio(n, d)), BigInt::from(expect), "{n}/{d}");
    check(5, 10, 1);
    check(-5, 10, -1);
    check(49, 100, 0);
    check(-149, 100, -1);
    check(7, 2, 4);
    check(0, 3, 0);
}
