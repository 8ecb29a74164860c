//! Numbers of quotes and invoices.

use std::fmt;
use std::str::FromStr;

/// A series of numbers: 1 to 8 capital letters and digits, a letter first.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Series(Box<str>);

/// The text is no series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a series; expected 1 to 8 capital letters and digits, a letter first")]
pub struct InvalidSeries;

/// The number of a quote or an invoice: without gaps in its series and year, and never used again.
///
/// # Examples
/// ```
/// use evenfare_store::number::Number;
/// let number: Number = "Q-2026-00017".parse()?;
/// assert_eq!((number.series.as_str(), number.year, number.sequence), ("Q", 2026, 17));
/// assert_eq!(number.to_string(), "Q-2026-00017");
/// // One way to write a number.
/// assert!("Q-2026-17".parse::<Number>().is_err());
/// # Ok::<(), evenfare_store::number::InvalidNumber>(())
/// ```
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Number {
    /// Its series.
    pub series: Series,
    /// The year of the quote's day, or of the day of issue; from 1 to 9999.
    pub year: u16,
    /// 1, 2, 3 within series and year.
    pub sequence: u32,
}

/// The text is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a number; expected one such as Q-2026-00017")]
pub struct InvalidNumber;

impl Series {
    /// The series of a quote for which none is named: Q.
    pub fn usual() -> Self {
        Self("Q".into())
    }

    /// The series of an invoice for which none is named: R. Credit notes are in the series of the invoice they take
    /// back where none is named: they are invoices before the law (Directive 2006/112/EC Art. 219), and one count of
    /// both is the easiest to show whole (Art. 226(2)).
    pub fn of_invoices() -> Self {
        Self("R".into())
    }

    /// Its letters.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Series {
    type Err = InvalidSeries;

    fn from_str(text: &str) -> Result<Self, InvalidSeries> {
        let fits = (1..=8).contains(&text.len())
            && text.starts_with(|first: char| first.is_ascii_uppercase())
            && text.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
        if fits { Ok(Self(text.into())) } else { Err(InvalidSeries) }
    }
}

impl fmt::Display for Series {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl FromStr for Number {
    type Err = InvalidNumber;

    fn from_str(text: &str) -> Result<Self, InvalidNumber> {
        let mut parts = text.splitn(3, '-');
        let mut part = || parts.next().ok_or(InvalidNumber);
        let series = part()?.parse().map_err(|_| InvalidNumber)?;
        let year = part()?.parse().map_err(|_| InvalidNumber)?;
        let sequence = part()?.parse().map_err(|_| InvalidNumber)?;
        let number = Self { series, year, sequence };
        // Signs and zeros that a number is not written with.
        if sequence > 0 && (1..=9999).contains(&year) && number.to_string() == text {
            Ok(number)
        } else {
            Err(InvalidNumber)
        }
    }
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{:04}-{:05}", self.series, self.year, self.sequence)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: bool) {
        let read = text.parse::<Number>();
        assert_eq!(read.is_ok(), expect, "{text}");
        if let Ok(number) = read {
            assert_eq!(number.to_string(), text);
        }
    }

    #[test]
    fn a_number_is_written_in_one_way() {
        check("Q-2026-00001", true);
        check("AB12-0001-99999", true);
        check("Q-2026-100000", true);
        check("Q-2026-4294967295", true);
        check("Q-2026-4294967296", false);
        check("Q-2026-00000", false);
        check("Q-2026-000001", false);
        check("Q-2026-1", false);
        check("Q-0000-00001", false);
        check("Q-02026-00001", false);
        check("Q-+026-00001", false);
        check("q-2026-00001", false);
        check("1Q-2026-00001", false);
        check("QQQQQQQQQ-2026-00001", false);
        check("Q-2026", false);
        check("", false);
    }
}
