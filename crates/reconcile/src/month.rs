//! Months, by which books are closed.

use std::fmt;
use std::str::FromStr;

use chrono::{Datelike, NaiveDate};

/// A calendar month: the period that is closed.
///
/// # Examples
/// ```
/// use evenfare_reconcile::month::Month;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let december: Month = "2026-12".parse()?;
/// assert_eq!(december.next().to_string(), "2027-01");
/// assert_eq!(december.last_day().to_string(), "2026-12-31");
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Month {
    /// Its first day.
    first: NaiveDate,
}

/// The text is no month.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a month; expected a year and a month such as 2026-07")]
pub struct NotAMonth {
    /// What stood there, cut to forty characters.
    pub found: String,
}

impl Month {
    /// The month of a day.
    pub fn of(day: NaiveDate) -> Self {
        Self { first: day.with_day(1).unwrap_or(day) }
    }

    /// Its first day.
    pub const fn first_day(self) -> NaiveDate {
        self.first
    }

    /// Its last day.
    pub fn last_day(self) -> NaiveDate {
        self.next().first.pred_opt().unwrap_or(self.first)
    }

    /// The month after it; the last one of the calendar is its own.
    pub fn next(self) -> Self {
        let next = self.first.checked_add_months(chrono::Months::new(1));
        Self { first: next.unwrap_or(self.first) }
    }

    /// The month before it; the first one of the calendar is its own.
    pub fn previous(self) -> Self {
        let previous = self.first.checked_sub_months(chrono::Months::new(1));
        Self { first: previous.unwrap_or(self.first) }
    }

    /// The year it stands in.
    pub fn year(self) -> i32 {
        self.first.year()
    }
}

impl FromStr for Month {
    type Err = NotAMonth;

    fn from_str(text: &str) -> Result<Self, NotAMonth> {
        let not_a_month = || NotAMonth { found: text.chars().take(40).collect() };
        let digits = |part: &str, length: usize| {
            let plain = part.len() == length && part.bytes().all(|b| b.is_ascii_digit());
            plain.then(|| part.parse::<u32>().ok()).flatten()
        };
        let (year, month) = text.split_once('-').ok_or_else(not_a_month)?;
        let year = digits(year, 4).and_then(|year| i32::try_from(year).ok()).ok_or_else(not_a_month)?;
        let month = digits(month, 2).ok_or_else(not_a_month)?;
        let first = NaiveDate::from_ymd_opt(year, month, 1).ok_or_else(not_a_month)?;
        Ok(Self { first })
    }
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.first.format("%Y-%m").to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, last: Option<&str>) {
        let found = text.parse::<Month>().ok().map(|month| month.last_day().to_string());
        assert_eq!(found.as_deref(), last, "{text}");
    }

    #[test]
    fn months_end_where_the_calendar_has_it() {
        check("2028-02", Some("2028-02-29"));
        check("2026-04", Some("2026-04-30"));
        check("2026-13", None);
        check("26-04", None);
        check("2026-4", None);
        check("+026-04", None);
    }
}
