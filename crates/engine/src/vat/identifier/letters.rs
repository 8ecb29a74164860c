//! Schemes with a check letter: Cyprus, Ireland and Spain.

use super::digits::{Checked, Fault, check, digits, luhn, shape, value, weigh};

/// Digits in odd places count by a table of their own; 12 never begins a number. From memory.
pub(super) fn cyprus(number: &[u8]) -> Checked {
    let [body @ .., letter] = number else {
        return Err(Fault::Shape);
    };
    let digits = digits::<8>(body)?;
    shape(letter.is_ascii_uppercase() && !matches!(digits, [1, 2, ..]))?;
    let sum: u32 = digits
        .iter()
        .enumerate()
        .map(|(place, digit)| match (place % 2, *digit) {
            (0, 0) => 1,
            (0, 1) => 0,
            (0, digit @ 2..=4) => u32::from(digit).saturating_mul(2).saturating_add(1),
            (0, digit @ 5..) => u32::from(digit).saturating_mul(2).saturating_add(3),
            (_, digit) => u32::from(digit),
        })
        .sum();
    check(letter_of(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ", u64::from(sum % 26)) == Some(*letter))
}

/// Seven digits and a check letter, since 2013 with a further letter; the oldest numbers have a
/// letter, `+` or `*` in the second place. Source: Revenue's rule for the tax reference number,
/// from memory.
pub(super) fn ireland(number: &[u8]) -> Checked {
    const LETTERS: &[u8; 23] = b"WABCDEFGHIJKLMNOPQRSTUV";
    let (body, letter, further) = match number {
        [body @ .., letter] if number.len() == 8 => (body, letter, b'W'),
        [body @ .., letter, further] => (body, letter, *further),
        _ => return Err(Fault::Shape),
    };
    let digits = match body {
        [first, b'A'..=b'Z' | b'+' | b'*', rest @ ..] if number.len() == 8 => {
            // The digits move up, and the first becomes the last.
            let [d3, d4, d5, d6, d7] = digits::<5>(rest)?;
            let [first] = digits::<1>(&[*first])?;
            [0, d3, d4, d5, d6, d7, first]
        }
        _ => digits::<7>(body)?,
    };
    let place = LETTERS.iter().zip(0_u32..).find(|(known, _)| **known == further);
    let (_, further) = place.ok_or(Fault::Shape)?;
    shape(letter.is_ascii_uppercase())?;
    let sum = weigh(&digits, &[8, 7, 6, 5, 4, 3, 2]).saturating_add(further.saturating_mul(9));
    check(letter_of(LETTERS, u64::from(sum % 23)) == Some(*letter))
}

/// The NIF of legal persons (CIF), citizens (DNI), foreigners (NIE) and persons without either.
///
/// A legal person's check character may be a digit or its letter; the kinds that use the one or the
/// other have changed over time, so both pass. Sources: royal decree 1065/2007 and order
/// EHA/451/2008, from memory.
pub(super) fn spain(number: &[u8]) -> Checked {
    let [first, middle @ .., last] = number else {
        return Err(Fault::Shape);
    };
    let [d1, d2, d3, d4, d5, d6, d7] = digits::<7>(middle)?;
    let personal = |lead: u8| {
        shape(last.is_ascii_uppercase())?;
        let rest = value(&[lead, d1, d2, d3, d4, d5, d6, d7]) % 23;
        check(letter_of(b"TRWAGMYFPDXBNJZSQVHLCKE", rest) == Some(*last))
    };
    match first {
        b'0'..=b'9' => personal(first & 0x0f),
        b'K' | b'L' | b'M' | b'X' => personal(0),
        b'Y' => personal(1),
        b'Z' => personal(2),
        b'A'..=b'H' | b'J' | b'N' | b'P'..=b'S' | b'U'..=b'W' => {
            let digit = match last {
                b'0'..=b'9' => last & 0x0f,
                b'J' => 0,
                b'A'..=b'I' => last.saturating_sub(b'A').saturating_add(1),
                _ => return Err(Fault::Shape),
            };
            luhn(&[d1, d2, d3, d4, d5, d6, d7, digit])
        }
        _ => Err(Fault::Shape),
    }
}

fn letter_of(letters: &[u8], place: u64) -> Option<u8> {
    letters.get(usize::try_from(place).ok()?).copied()
}
