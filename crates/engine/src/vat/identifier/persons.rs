//! Schemes that take legal and personal numbers: Bulgaria, Czechia, Latvia, Lithuania and Slovakia.
//!
//! Some personal numbers contain a date of birth, which must exist; that it lies in the past is
//! not checked, for a parser that reads the clock would give another answer another day.

use super::digits::{Checked, Fault, check, digits, divisible, is_day, shape, value, weigh};

/// Nine digits for legal persons, ten for citizens, foreigners and others. From memory.
pub(super) fn bulgaria(number: &[u8]) -> Checked {
    if number.len() == 9 {
        let [body @ .., last] = digits::<9>(number)?;
        let rest = twice(&body, &[1, 2, 3, 4, 5, 6, 7, 8], &[3, 4, 5, 6, 7, 8, 9, 10]);
        return check(rest == u32::from(last));
    }
    let digits = digits::<10>(number)?;
    let [body @ .., last] = digits;
    let last = u32::from(last);
    let citizen =
        bulgarian_birthday(&digits) && weigh(&body, &[2, 4, 8, 5, 10, 9, 7, 3, 6]) % 11 % 10 == last;
    let foreigner = weigh(&body, &[21, 19, 17, 13, 11, 9, 7, 3, 1]) % 10 == last;
    let other = divisible(&digits, &[4, 3, 2, 7, 6, 5, 4, 3, 2, 1], 11).is_ok();
    check(citizen || foreigner || other)
}

/// The month tells the century: plus 20 for the 1800s, plus 40 for the 2000s.
fn bulgarian_birthday(digits: &[u8; 10]) -> bool {
    let [y1, y2, m1, m2, d1, d2, ..] = *digits;
    let (century, month) = match value(&[m1, m2]) {
        month @ 21..=32 => (1800, month.saturating_sub(20)),
        month @ 41..=52 => (2000, month.saturating_sub(40)),
        month => (1900, month),
    };
    is_day(value(&[y1, y2]).saturating_add(century), month, value(&[d1, d2]))
}

/// Eight digits for legal persons, nine beginning with 6 for some individuals, otherwise the birth
/// number of nine digits (until 1953, without check digit) or ten. Source: act 133/2000 on the
/// birth number, the rest from memory.
pub(super) fn czechia(number: &[u8]) -> Checked {
    match number.len() {
        8 => {
            let [body @ .., last] = digits::<8>(number)?;
            shape(!matches!(body, [9, ..]))?;
            let rest = weigh(&body, &[8, 7, 6, 5, 4, 3, 2]) % 11;
            check(11_u32.saturating_sub(rest) % 10 == u32::from(last))
        }
        9 => match digits::<9>(number)? {
            [6, body @ .., last] => {
                // What the sum lacks to the next multiple of eleven, 1 to 11, is written as
                // 8 down to 0, then 9 and 8 again.
                let expected = match weigh(&body, &[8, 7, 6, 5, 4, 3, 2]) % 11 {
                    0 => 8,
                    1 => 9,
                    rest => rest.saturating_sub(2),
                };
                check(expected == u32::from(last))
            }
            [y1, y2, m1, m2, d1, d2, ..] => {
                let year = match value(&[y1, y2]) {
                    year @ 0..=53 => year.saturating_add(1900),
                    year @ 80.. => year.saturating_add(1800),
                    _ => return Err(Fault::Shape),
                };
                shape(birthday(year, [m1, m2, d1, d2]))
            }
        },
        _ => birth_number(number),
    }
}

/// A birth number of ten digits, which Czechia and Slovakia share.
fn birth_number(number: &[u8]) -> Checked {
    let digits = digits::<10>(number)?;
    let [body @ .., last] = digits;
    let [y1, y2, m1, m2, d1, d2, ..] = digits;
    let year = match value(&[y1, y2]) {
        year @ 0..=53 => year.saturating_add(2000),
        year => year.saturating_add(1900),
    };
    shape(birthday(year, [m1, m2, d1, d2]))?;
    // A remainder of ten was written as zero until 1985 and avoided afterwards; which of the two
    // centuries is meant is a guess, so the rule does not depend on it.
    check(value(&body) % 11 % 10 == u64::from(last))
}

/// The month has 50 added for women, and since 2004 another 20 where a day's numbers ran out.
fn birthday(year: u64, [m1, m2, d1, d2]: [u8; 4]) -> bool {
    let month = value(&[m1, m2]) % 50;
    let month = if month > 20 { month.saturating_sub(20) } else { month };
    is_day(year, month, value(&[d1, d2]))
}

/// A multiple of eleven whose third digit tells the kind, or a birth number of ten digits. From
/// memory.
pub(super) fn slovakia(number: &[u8]) -> Checked {
    let digits = digits::<10>(number)?;
    let legal = matches!(digits, [1..=9, _, 2 | 3 | 4 | 7 | 8 | 9, ..]);
    if legal && value(&digits).is_multiple_of(11) {
        return Ok(());
    }
    birth_number(number).map_err(|fault| if legal { Fault::Check } else { fault })
}

/// Nine digits for legal persons, twelve for temporary registrations; the last but one is 1. A
/// remainder of ten is weighed again. From memory.
pub(super) fn lithuania(number: &[u8]) -> Checked {
    let (rest, kind, last) = if number.len() == 9 {
        let [body @ .., last] = digits::<9>(number)?;
        let [.., kind] = body;
        (twice(&body, &[1, 2, 3, 4, 5, 6, 7, 8], &[3, 4, 5, 6, 7, 8, 9, 1]), kind, last)
    } else {
        let [body @ .., last] = digits::<12>(number)?;
        let [.., kind] = body;
        let (first, second) = ([1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 2], [3, 4, 5, 6, 7, 8, 9, 1, 2, 3, 4]);
        (twice(&body, &first, &second), kind, last)
    };
    shape(kind == 1)?;
    check(rest == u32::from(last))
}

/// Eleven digits: a legal person's begin above 3, others are personal codes. Since 2017 these begin
/// with 32 and have no date of birth. From memory.
pub(super) fn latvia(number: &[u8]) -> Checked {
    let digits = digits::<11>(number)?;
    let [body @ .., last] = digits;
    let [d1, d2, m1, m2, y1, y2, century, ..] = digits;
    if d1 > 3 {
        return check(weigh(&digits, &[9, 1, 4, 8, 3, 10, 2, 5, 7, 6, 1]) % 11 == 3);
    }
    let year = value(&[century, y1, y2]).saturating_add(1800);
    let born = century <= 2 && is_day(year, value(&[m1, m2]), value(&[d1, d2]));
    shape(born || (d1, d2) == (3, 2))?;
    let sum = weigh(&body, &[10, 5, 8, 4, 2, 1, 6, 3, 7, 9]);
    check(sum.saturating_add(1) % 11 % 10 == u32::from(last))
}

/// The remainder of a sum modulo 11, or where that is ten, of a sum with other weights.
fn twice(digits: &[u8], weights: &[u32], others: &[u32]) -> u32 {
    match weigh(digits, weights) % 11 {
        10 => weigh(digits, others) % 11 % 10,
        rest => rest,
    }
}
