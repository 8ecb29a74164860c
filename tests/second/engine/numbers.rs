//! Numbers as they are: fractions of any size, and the two ways to whole minor units.

use std::ops::Deref;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, Zero};
use serde::Deserialize;

pub type Q = BigRational;

/// A decimal of a file.
#[derive(Clone, Debug, Deserialize)]
#[serde(try_from = "String")]
pub struct Dec(Q);

impl TryFrom<String> for Dec {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let (whole, rest) = text.split_once('.').unwrap_or((&text, ""));
        let digits: BigInt = format!("{whole}{rest}").parse().map_err(|_| format!("no decimal: {text}"))?;
        Ok(Self(Q::new(digits, BigInt::from(10).pow(rest.len() as u32))))
    }
}

impl Deref for Dec {
    type Target = Q;

    fn deref(&self) -> &Q {
        &self.0
    }
}

pub fn whole(number: impl Into<BigInt>) -> Q {
    Q::from_integer(number.into())
}

/// `percent` as a factor: 19 is 19/100.
pub fn percent(percent: &Q) -> Q {
    percent / whole(100)
}

/// To the nearest whole number, a half away from zero.
pub fn half_up(exact: &Q) -> BigInt {
    let magnitude = (exact.abs() + Q::new(1.into(), 2.into())).floor().to_integer();
    if exact.is_negative() { -magnitude } else { magnitude }
}

/// Who gets the unit left over, of those with the same remainder.
#[derive(Clone, Copy, PartialEq)]
pub enum Ties {
    First,
    Last,
}

/// Largest remainder. A total of nothing over weights that come to nothing gives everybody nothing.
pub fn share_out(total: &BigInt, weights: &[Q], ties: Ties) -> Vec<BigInt> {
    if total.is_negative() {
        return share_out(&-total, weights, ties).into_iter().map(|part| -part).collect();
    }
    let sum: Q = weights.iter().sum();
    if sum.is_zero() {
        return vec![BigInt::zero(); weights.len()];
    }
    let quotas: Vec<Q> = weights.iter().map(|weight| weight * whole(total.clone()) / &sum).collect();
    let mut parts: Vec<BigInt> = quotas.iter().map(|quota| quota.floor().to_integer()).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    if ties == Ties::Last {
        order.reverse();
    }
    order.sort_by_key(|&index| std::cmp::Reverse(&quotas[index] - whole(parts[index].clone())));
    let mut left = total - parts.iter().sum::<BigInt>();
    for index in order {
        if left.is_positive() {
            parts[index] += 1;
            left -= 1;
        }
    }
    parts
}
