//! Schemes by the Luhn rule, and those of ISO/IEC 7064 MOD 11,10.

use super::digits::{
    Checked, Fault, check, digits, digits_from_one, luhn, luhn_sum, mod_11_10, shape, value,
};

/// The Luhn sum of the first seven digits and the check digit lack four to a multiple of ten.
/// Source: the finance ministry's construction rules for UID numbers, from memory.
pub(super) fn austria(number: &[u8]) -> Checked {
    let [b'U', number @ ..] = number else {
        return Err(Fault::Shape);
    };
    let [body @ .., last] = digits::<8>(number)?;
    let sum = luhn_sum(&body).saturating_add(u32::from(last));
    check(sum % 10 == 6)
}

/// ISO/IEC 7064 MOD 11,10 as the federal central tax office applies it, from memory.
pub(super) fn germany(number: &[u8]) -> Checked {
    mod_11_10(&digits_from_one::<9>(number)?)
}

/// The OIB. Source: the ordinance on the personal identification number, from memory.
pub(super) fn croatia(number: &[u8]) -> Checked {
    mod_11_10(&digits::<11>(number)?)
}

/// The partita IVA: a number, the issuing office and a Luhn digit. Source: ministerial decree of
/// 23 December 1976, from memory.
pub(super) fn italy(number: &[u8]) -> Checked {
    let digits = digits::<11>(number)?;
    let [serial @ .., o1, o2, o3, _] = digits;
    shape(value(&serial) != 0)?;
    shape(matches!(value(&[o1, o2, o3]), 1..=100 | 120 | 121 | 888 | 999))?;
    luhn(&digits)
}

/// The organisation or personal number by the Luhn rule, then `01`. From memory.
pub(super) fn sweden(number: &[u8]) -> Checked {
    let [base @ .., b'0', b'1'] = number else {
        return Err(Fault::Shape);
    };
    luhn(&digits::<10>(base)?)
}

/// Two characters derived from the SIREN, which has a Luhn digit of its own.
///
/// Monaco's numbers begin with `000` and are no SIREN, so only their key is checked. Source: the
/// statistical institute's Luhn rule for the SIREN; the key from memory.
pub(super) fn france(number: &[u8]) -> Checked {
    let [first, second, siren @ ..] = number else {
        return Err(Fault::Shape);
    };
    let digits = digits::<9>(siren)?;
    let key = [symbol(*first)?, symbol(*second)?];
    if !matches!(digits, [0, 0, 0, ..]) {
        luhn(&digits)?;
    }
    let siren = value(&digits);
    check(match key {
        [tens @ 0..=9, units @ 0..=9] => {
            siren.saturating_mul(100).saturating_add(12) % 97 == tens.saturating_mul(10).saturating_add(units)
        }
        [first, second] => {
            // The two characters number the keys with a letter; the smallest is `0A`.
            let place = if first < 10 {
                first.saturating_mul(24).saturating_add(second).checked_sub(10)
            } else {
                first.saturating_mul(34).saturating_add(second).checked_sub(100)
            };
            place.is_some_and(|place| {
                let step = (place / 11).saturating_add(1);
                siren.saturating_add(step) % 11 == place % 11
            })
        }
    })
}

/// The place of a key character among the digits and the letters without I and O.
fn symbol(byte: u8) -> Result<u64, Fault> {
    let place = "0123456789ABCDEFGHJKLMNPQRSTUVWXYZ".bytes().zip(0..).find(|(symbol, _)| *symbol == byte);
    place.map(|(_, place)| place).ok_or(Fault::Shape)
}
