//! Single values of an XML document: texts, days, currencies and amounts, each with its place. Spaces around days, numbers
//! and truth values do not count (XML Schema part 2, whiteSpace).

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_reconcile::input::Place;

use crate::log::Log;
use crate::scalar::day;
use crate::source::Bytes;
use crate::xml_tree::{Element, trimmed};

/// Below this many minor units an amount stays, so that sums of all that a file can hold fit 128 bits easily.
const BOUND: i64 = 1_000_000_000_000_000;
/// The code of more decimals than a currency has.
const TOO_MANY: &str = "too_many_decimals";
/// The code of what is no number at all.
const NO_NUMBER: &str = "not_a_number";

/// Where an element begins: what a mistake about all of it points at.
pub(super) fn begin(element: &Element<'_>) -> Bytes {
    element.bytes.start..element.bytes.start.saturating_add(1)
}

/// Where that byte stands, for whoever looks it up later.
pub(super) fn place(at: usize, log: &Log) -> Place {
    Place { file: Arc::clone(log.file()), line: u32::try_from(log.line(at)).unwrap_or(u32::MAX) }
}

/// What stands at that path; reported where nothing does.
pub(super) fn need<'e, 'a>(
    element: &'e Element<'a>,
    path: &[&str],
    log: &mut Log,
) -> Option<&'e Element<'a>> {
    let found = element.at(path).filter(|found| !found.text.is_empty() || !found.elements.is_empty());
    if found.is_none() {
        log.error(begin(element), "missing_key", "", format!("{} in {}", path.join("/"), element.name));
    }
    found
}

/// One line of text where there is any; what cannot be one is left out.
pub(super) fn plain(element: &Element<'_>) -> Option<Box<str>> {
    let line = element.text.split_whitespace().collect::<Vec<_>>().join(" ");
    (!line.is_empty() && !line.chars().any(char::is_control)).then(|| line.into_boxed_str())
}

/// One line of text: runs of spaces and line ends are one space.
pub(super) fn line(element: &Element<'_>, log: &mut Log) -> Option<Box<str>> {
    let words: Vec<&str> = element.text.split_whitespace().collect();
    let line = words.join(" ");
    if line.chars().any(char::is_control) {
        let expected = "text without control characters";
        log.error(element.text_bytes.clone(), "not_a_line", &line, expected);
        return None;
    }
    Some(line.into_boxed_str())
}

/// The text at that path, where there is one that says anything.
pub(super) fn said(element: &Element<'_>, path: &[&str], log: &mut Log) -> Option<Box<str>> {
    line(element.at(path)?, log).filter(|text| !text.is_empty())
}

/// The text at that path; reported where it is missing.
pub(super) fn need_line(element: &Element<'_>, path: &[&str], log: &mut Log) -> Option<Box<str>> {
    line(need(element, path, log)?, log)
}

/// A day, or the day of a moment as its zone counts it.
pub(super) fn date(element: &Element<'_>, log: &mut Log) -> Option<NaiveDate> {
    let text = trimmed(&element.text);
    let (head, rest) = text.split_at_checked(10).unwrap_or((text, ""));
    let read = day(head).filter(|_| rest.is_empty() || rest.starts_with(['T', 'Z', '+', '-']));
    if read.is_none() {
        let expected = "a day of the calendar such as 2026-07-01";
        log.error(element.text_bytes.clone(), "not_a_date", &element.text, expected);
    }
    read
}

/// A currency by its code.
pub(super) fn currency(text: &str, at: Bytes, log: &mut Log) -> Option<Currency> {
    let read = text.parse().ok();
    if read.is_none() {
        let expected = "a currency by its three capital letters such as EUR";
        log.error(at, "unknown_currency", text, expected);
    }
    read
}

/// An amount in that currency, by an attribute that has to name it where it is there.
pub(super) fn amount(
    element: &Element<'_>,
    attribute: &str,
    currency: Currency,
    log: &mut Log,
) -> Option<i64> {
    if let Some(other) = element.attribute(attribute).filter(|code| *code != currency.code()) {
        let expected = format!("{currency}, as of the whole");
        log.error(begin(element), "other_currency", other, expected);
        return None;
    }
    let read = minor(trimmed(&element.text), usize::from(currency.exponent()));
    or_told(read, (&element.text, element.text_bytes.clone()), currency, log)
}

/// An amount as people write it, who may have parted thousands by a point: as in `1.250`, where the currency has fewer
/// than three decimals.
pub(super) fn typed(text: &str, at: Bytes, currency: Currency, log: &mut Log) -> Option<i64> {
    let most = usize::from(currency.exponent());
    let read = minor(text, most);
    let (thousands, hundreds) = text.trim_start_matches(['-', '+']).split_once('.').unwrap_or_default();
    let is_parted = (1..=3).contains(&thousands.len()) && !thousands.starts_with('0') && hundreds.len() == 3;
    if most < 3 && is_parted && read != Err(NO_NUMBER) {
        let expected = format!(
            "an amount in {currency} with at most {most} decimals, as this may be {thousands}{hundreds}"
        );
        log.error(at, TOO_MANY, text, expected);
        return None;
    }
    or_told(read, (text, at), currency, log)
}

/// What was read, or nothing where it is reported.
fn or_told(
    read: Result<i64, &'static str>,
    (text, at): (&str, Bytes),
    currency: Currency,
    log: &mut Log,
) -> Option<i64> {
    let told = |code| {
        let most = currency.exponent();
        let expected =
            format!("an amount in {currency}: digits, and at most {most} after a point (12.5, not 12,5)");
        log.error(at, code, text, expected);
    };
    read.map_err(told).ok()
}

/// A sum that is to be an amount itself.
pub(super) fn bounded(sum: i128, at: Bytes, currency: Currency, log: &mut Log) -> Option<i64> {
    let minor = i64::try_from(sum).ok().filter(|minor| minor.unsigned_abs() < BOUND.unsigned_abs());
    if minor.is_none() {
        let expected = format!("less than {}", shown(BOUND.into(), currency));
        log.error(at, "out_of_range", &shown(sum, currency), expected);
    }
    minor
}

/// Whole minor units, or the code of what is wrong.
fn minor(text: &str, exponent: usize) -> Result<i64, &'static str> {
    let magnitude = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, decimals) = magnitude.split_once('.').unwrap_or((magnitude, ""));
    let is_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if (whole.is_empty() && decimals.is_empty()) || !is_digits(whole) || !is_digits(decimals) {
        return Err(NO_NUMBER);
    }
    let decimals = decimals.trim_end_matches('0');
    if decimals.len() > exponent {
        return Err(TOO_MANY);
    }
    let mut minor: i64 = 0;
    let zeros = std::iter::repeat_n(b'0', exponent.saturating_sub(decimals.len()));
    for digit in whole.bytes().chain(decimals.bytes()).chain(zeros) {
        let digit = i64::from(digit.saturating_sub(b'0'));
        minor = minor.saturating_mul(10).saturating_add(digit);
    }
    if minor >= BOUND {
        return Err("out_of_range");
    }
    Ok(if text.starts_with('-') { minor.saturating_neg() } else { minor })
}

/// An amount for a message, in major units.
pub(super) fn shown(minor: i128, currency: Currency) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    let unit = u128::from(currency.minor_per_major().unsigned_abs());
    let magnitude = minor.unsigned_abs();
    let whole = magnitude.checked_div(unit).unwrap_or_default();
    match usize::from(currency.exponent()) {
        0 => format!("{sign}{whole} {currency}"),
        width => {
            let rest = magnitude.checked_rem(unit).unwrap_or_default();
            format!("{sign}{whole}.{rest:0width$} {currency}")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_exact() {
        let check = |text, exponent, expect| assert_eq!(minor(text, exponent), expect, "{text}");
        check("12.34", 2, Ok(1234));
        check("-12.5", 2, Ok(-1250));
        check("12.34000", 2, Ok(1234));
        check("12.345", 2, Err("too_many_decimals"));
        check("12.0", 0, Ok(12));
        check("12.5", 0, Err("too_many_decimals"));
        check(".005", 3, Ok(5));
        check("7.", 2, Ok(700));
        for wrong in ["", ".", "-", "1,5", "1e3", "--1", "1 000", "٣"] {
            check(wrong, 2, Err("not_a_number"));
        }
        check("9999999999999.99", 2, Ok(999_999_999_999_999));
        check("10000000000000", 2, Err("out_of_range"));
    }

    #[test]
    fn amounts_are_shown_as_they_are_written() {
        let check = |minor, code: &str, expect| {
            assert_eq!(code.parse().map(|currency| shown(minor, currency)).as_deref(), Ok(expect));
        };
        check(-5, "EUR", "-0.05 EUR");
        check(1234, "JPY", "1234 JPY");
        check(1234, "KWD", "1.234 KWD");
    }
}
