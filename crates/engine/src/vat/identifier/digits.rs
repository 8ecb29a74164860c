//! What the schemes share: fixed-length digits, weighted sums and the usual check rules.

/// Why a number is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fault {
    /// Length, characters or a component (date, office, kind) that does not exist.
    Shape,
    /// The check digit or check letter does not match.
    Check,
}

pub(super) type Checked = Result<(), Fault>;

pub(super) fn shape(holds: bool) -> Checked {
    if holds { Ok(()) } else { Err(Fault::Shape) }
}

pub(super) fn check(holds: bool) -> Checked {
    if holds { Ok(()) } else { Err(Fault::Check) }
}

/// The values of exactly `N` ASCII digits.
pub(super) fn digits<const N: usize>(text: &[u8]) -> Result<[u8; N], Fault> {
    let text: [u8; N] = text.try_into().map_err(|_| Fault::Shape)?;
    shape(text.iter().all(u8::is_ascii_digit))?;
    Ok(text.map(|byte| byte & 0x0f))
}

/// Like [`digits`], refusing a leading zero.
pub(super) fn digits_from_one<const N: usize>(text: &[u8]) -> Result<[u8; N], Fault> {
    let digits = digits::<N>(text)?;
    shape(digits.first().is_some_and(|first| *first != 0))?;
    Ok(digits)
}

/// The number that digits write in base ten.
pub(super) fn value(digits: &[u8]) -> u64 {
    digits.iter().fold(0, |value: u64, digit| value.saturating_mul(10).saturating_add(u64::from(*digit)))
}

/// The sum of digits times weights; digits beyond the last weight do not count.
pub(super) fn weigh(digits: &[u8], weights: &[u32]) -> u32 {
    digits.iter().zip(weights).map(|(digit, weight)| u32::from(*digit).saturating_mul(*weight)).sum()
}

/// Accepts digits, the check digit included, whose weighted sum is a multiple of `modulus`.
///
/// Most rules "check = modulus - sum mod modulus" say just this. A remainder that no digit can
/// complete is thereby refused, which is what those rules say of it.
pub(super) fn divisible(digits: &[u8], weights: &[u32], modulus: u32) -> Checked {
    check(weigh(digits, weights).checked_rem(modulus) == Some(0))
}

/// The Luhn sum (ISO/IEC 7812-1): every second digit from the right counts double, cross-summed.
pub(super) fn luhn_sum(digits: &[u8]) -> u32 {
    let crossed = |digit: u8| match digit.saturating_mul(2) {
        double @ 10.. => double.saturating_sub(9),
        double => double,
    };
    let terms = digits.iter().rev().enumerate();
    terms.map(|(place, digit)| u32::from(if place % 2 == 1 { crossed(*digit) } else { *digit })).sum()
}

/// Accepts digits whose Luhn sum, the check digit included, is a multiple of ten.
pub(super) fn luhn(digits: &[u8]) -> Checked {
    check(luhn_sum(digits).is_multiple_of(10))
}

/// ISO/IEC 7064 MOD 11,10 over digits, the check digit included.
pub(super) fn mod_11_10(digits: &[u8]) -> Checked {
    let Some((last, body)) = digits.split_last() else {
        return Err(Fault::Shape);
    };
    let product = body.iter().fold(10_u32, |product, digit| {
        let sum = match product.saturating_add(u32::from(*digit)) % 10 {
            0 => 10,
            sum => sum,
        };
        sum.saturating_mul(2) % 11
    });
    check(product.saturating_add(u32::from(*last)) % 10 == 1)
}

/// Whether a day exists in the Gregorian calendar.
pub(super) fn is_day(year: u64, month: u64, day: u64) -> bool {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let length = match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    (1..=length).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn knows_the_days_of_the_calendar() {
        let check = |year, month, day, expected| assert_eq!(is_day(year, month, day), expected);
        check(2000, 2, 29, true);
        check(1900, 2, 29, false);
        check(2024, 2, 29, true);
        check(2023, 2, 29, false);
        check(2023, 4, 31, false);
        check(2023, 12, 31, true);
        check(2023, 12, 0, false);
        check(2023, 0, 1, false);
        check(2023, 13, 1, false);
    }

    #[test]
    fn takes_digits_of_the_length_asked_for() {
        assert_eq!(digits::<3>(b"012"), Ok([0, 1, 2]));
        assert_eq!(digits::<3>(b"0123"), Err(Fault::Shape));
        assert_eq!(digits::<3>(b"01:"), Err(Fault::Shape));
        assert_eq!(digits_from_one::<3>(b"012"), Err(Fault::Shape));
        assert_eq!(value(&[0, 1, 2]), 12);
    }

    #[test]
    fn follows_the_published_examples() {
        // ISO/IEC 7812-1 and ISO/IEC 7064 in their usual textbook examples.
        assert_eq!(luhn(&[7, 9, 9, 2, 7, 3, 9, 8, 7, 1, 3]), Ok(()));
        assert_eq!(luhn(&[7, 9, 9, 2, 7, 3, 9, 8, 7, 1, 4]), Err(Fault::Check));
        assert_eq!(mod_11_10(&[0, 7, 9, 4, 5]), Ok(()));
        assert_eq!(mod_11_10(&[0, 7, 9, 4, 6]), Err(Fault::Check));
    }
}
