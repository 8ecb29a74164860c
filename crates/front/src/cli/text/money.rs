//! Amounts and shares of amounts as people read them.

use evenfare_engine::money::{Currency, round_half_up};

/// Between thousands: nothing is broken at it.
pub(in crate::cli) const SPACE: char = '\u{A0}';

/// An amount of minor units in major ones, thousands apart: `1 234.56`.
pub(in crate::cli) fn amount(minor: i64, currency: Currency) -> String {
    let exponent = usize::from(currency.exponent());
    let digits = format!("{:0>1$}", minor.unsigned_abs(), exponent.saturating_add(1));
    let (whole, fraction) = digits.split_at(digits.len().saturating_sub(exponent));
    let sign = if minor < 0 { "-" } else { "" };
    let point = if exponent == 0 { "" } else { "." };
    format!("{sign}{}{point}{fraction}", grouped(whole))
}

/// The same with its currency: `1 234.56 EUR`.
pub(in crate::cli) fn with_currency(minor: i64, currency: Currency) -> String {
    format!("{}{SPACE}{currency}", amount(minor, currency))
}

/// A figure as the engine shows it, with its thousands apart where it is an amount.
pub(in crate::cli) fn shown(figure: &str) -> String {
    let Some((number, unit)) = figure.split_once(' ') else { return figure.to_owned() };
    let (sign, number) = number.strip_prefix('-').map_or(("", number), |rest| ("-", rest));
    let (whole, fraction) =
        number.split_once('.').map_or((number, None), |(whole, rest)| (whole, Some(rest)));
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if unit.parse::<Currency>().is_err() || !is_digits(whole) || !fraction.is_none_or(is_digits) {
        return figure.to_owned();
    }
    let fraction = fraction.map(|digits| format!(".{digits}")).unwrap_or_default();
    format!("{sign}{}{fraction}{SPACE}{unit}", grouped(whole))
}

/// Digits in threes from the right.
pub(in crate::cli) fn grouped(digits: &str) -> String {
    let mut text = String::with_capacity(digits.len().saturating_mul(2));
    for (left, digit) in (0..digits.len()).rev().zip(digits.chars()) {
        text.push(digit);
        if left > 0 && left.checked_rem(3) == Some(0) {
            text.push(SPACE);
        }
    }
    text
}

/// A part of a whole in tenths of a percent, half up: `23.1`. Nothing where there is no whole.
pub(in crate::cli) fn percent(part: i64, whole: i64) -> Option<String> {
    let tenths = in_steps(part, whole, 1_000)?;
    let sign = if tenths < 0 { "-" } else { "" };
    let tenths = tenths.unsigned_abs();
    Some(format!("{sign}{}.{}", tenths.checked_div(10)?, tenths.checked_rem(10)?))
}

/// `steps` x part / whole, half up on the magnitude.
pub(in crate::cli) fn in_steps(part: i64, whole: i64, steps: i64) -> Option<i64> {
    let (steps, whole) = (i128::from(steps), i128::from(whole));
    let part = i128::from(part).checked_mul(steps)?.checked_mul(whole.signum())?;
    round_half_up(part, whole.abs()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(minor: i64, code: &str, expected: &str) {
        let shown = code.parse().map(|currency| with_currency(minor, currency).replace(SPACE, " "));
        assert_eq!(shown, Ok(expected.to_owned()));
    }

    #[test]
    fn thousands_stand_apart() {
        check(123_456_789, "EUR", "1 234 567.89 EUR");
        check(-5, "EUR", "-0.05 EUR");
        check(-123_456, "EUR", "-1 234.56 EUR");
        check(0, "EUR", "0.00 EUR");
        check(1_234, "JPY", "1 234 JPY");
        check(100_000, "KWD", "100.000 KWD");
        check(i64::MIN, "JPY", "-9 223 372 036 854 775 808 JPY");
    }

    #[test]
    fn only_amounts_are_grouped() {
        let check = |figure: &str, expected: &str| assert_eq!(shown(figure).replace(SPACE, " "), expected);
        check("1234.5 EUR", "1 234.5 EUR");
        check("-1234 JPY", "-1 234 JPY");
        check("1234 min", "1234 min");
        check("2026-10-05", "2026-10-05");
        check("- EUR", "- EUR");
        check("1. EUR", "1. EUR");
    }

    #[test]
    fn percents_are_rounded_half_up() {
        let check =
            |part, whole, expected: Option<&str>| assert_eq!(percent(part, whole).as_deref(), expected);
        check(1, 3, Some("33.3"));
        check(2, 3, Some("66.7"));
        check(-1, 3, Some("-33.3"));
        check(-1, -3, Some("33.3"));
        check(1, 2_000, Some("0.1"));
        check(0, 7, Some("0.0"));
        check(7, 0, None);
        check(i64::MAX, 1, None);
    }
}
