//! Schemes whose last two digits are a remainder: Belgium, Luxembourg, Malta and the United Kingdom.

use super::digits::{Checked, check, digits, digits_from_one, shape, value, weigh};

/// The enterprise number. Source: royal decree of 24 June 2003, from memory; numbers beginning
/// with 1 are given out since 2023.
pub(super) fn belgium(number: &[u8]) -> Checked {
    let [body @ .., tens, units] = digits::<10>(number)?;
    shape(matches!(body, [0 | 1, ..]))?;
    let rest = value(&body) % 97;
    check(rest.saturating_add(value(&[tens, units])) == 97)
}

/// From memory.
pub(super) fn luxembourg(number: &[u8]) -> Checked {
    let [body @ .., tens, units] = digits::<8>(number)?;
    check(value(&body) % 89 == value(&[tens, units]))
}

/// The check number runs from 01 to 37. From memory.
pub(super) fn malta(number: &[u8]) -> Checked {
    let [body @ .., tens, units] = digits_from_one::<8>(number)?;
    let rest = weigh(&body, &[3, 4, 6, 7, 8, 9]) % 37;
    check(value(&[tens, units]).saturating_add(u64::from(rest)) == 37)
}

/// Nine digits, twelve for a branch, or `GD` and `HA` with three digits for public bodies.
///
/// Two series: the old one modulo 97, and "9755" since November 2009, whose check number is lower
/// by 55 or higher by 42 and whose numbers begin at 100. Source: the tax authority's description
/// of both as quoted in public; the ranges of `GD` and `HA` from memory.
pub(super) fn united_kingdom(number: &[u8]) -> Checked {
    match number {
        [b'G', b'D', rest @ ..] => shape(value(&digits::<3>(rest)?) < 500),
        [b'H', b'A', rest @ ..] => shape(value(&digits::<3>(rest)?) >= 500),
        [base @ .., b1, b2, b3] if number.len() == 12 => {
            digits::<3>(&[*b1, *b2, *b3])?;
            standard(base)
        }
        _ => standard(number),
    }
}

fn standard(number: &[u8]) -> Checked {
    let digits = digits::<9>(number)?;
    let rest = weigh(&digits, &[8, 7, 6, 5, 4, 3, 2, 10, 1]) % 97;
    check(rest == 0 || (rest == 42 && value(&digits) >= 100_000_000))
}
