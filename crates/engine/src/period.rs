//! Days, periods and dated spans.
//!
//! Periods follow Regulation (EEC, Euratom) No 1182/71, Article 3(1) and (2): the day of the event
//! is not counted, and a period in months ends on the day of the same date in its last month, or
//! on that month's last day where there is no such date. The regulation binds acts of the European
//! Union, not contracts, so a workshop's terms have to adopt it. Article 3(4), which moves an end
//! on a weekend or holiday to the next working day, is left out: the terms name a calendar day.

use std::fmt;

use chrono::{Days, Months, NaiveDate};

/// A date left the calendar's range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a date lies outside the calendar")]
pub struct OutOfCalendar;

/// The last day of a period of months that begins with an event on `event`.
///
/// # Errors
/// [`OutOfCalendar`] past the calendar's range.
///
/// # Examples
/// ```
/// use chrono::NaiveDate;
/// use evenfare_engine::period::last_day_of_months;
/// let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).expect("a date");
/// assert_eq!(last_day_of_months(day(2026, 8, 31), 6), Ok(day(2027, 2, 28)));
/// ```
pub fn last_day_of_months(event: NaiveDate, months: u32) -> Result<NaiveDate, OutOfCalendar> {
    event.checked_add_months(Months::new(months)).ok_or(OutOfCalendar)
}

/// The last day of a period of days that begins with an event on `event`.
///
/// # Errors
/// [`OutOfCalendar`] past the calendar's range.
pub fn last_day_of_days(event: NaiveDate, days: u32) -> Result<NaiveDate, OutOfCalendar> {
    event.checked_add_days(Days::new(u64::from(days))).ok_or(OutOfCalendar)
}

/// On the day `on`, have that many years gone by since `built`?
pub fn years_have_passed(built: NaiveDate, years: u32, on: NaiveDate) -> bool {
    years
        .checked_mul(12)
        .and_then(|months| built.checked_add_months(Months::new(months)))
        .is_some_and(|anniversary| anniversary <= on)
}

/// A span of days. `until` is the last day that counts, in every file, message and answer;
/// nothing there means open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Span {
    /// The first day that counts.
    pub from: NaiveDate,
    /// The last day that counts; open where there is none.
    pub until: Option<NaiveDate>,
}

impl Span {
    /// Does it end on the day it begins, or later? One that does not holds no day, so its neighbours are not compared with it.
    pub fn is_in_order(&self) -> bool {
        self.until.is_none_or(|until| self.from <= until)
    }

    /// Does the day lie in it?
    pub fn contains(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }

    /// Do the two share a day?
    pub fn overlaps(&self, other: &Span) -> bool {
        self.until.is_none_or(|until| other.from <= until)
            && other.until.is_none_or(|until| self.from <= until)
    }

    /// Does the other begin on the day after this ends?
    pub fn is_followed_by(&self, other: &Span) -> bool {
        self.until.and_then(|until| until.succ_opt()) == Some(other.from)
    }
}

/// `2026-07-01 to 2026-12-31`, or `from 2027-01-01`.
impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.until {
            Some(until) => write!(f, "{} to {until}", self.from),
            None => write!(f, "from {}", self.from),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap_or_default()
    }

    fn check(event: &str, months: u32, last: &str) {
        assert_eq!(last_day_of_months(day(event), months), Ok(day(last)), "{event} + {months}");
    }

    #[test]
    fn months_end_on_the_same_date_or_the_last_of_the_month() {
        // Regulation 1182/71 Art. 3(2)(c)
        check("2026-08-31", 6, "2027-02-28");
        check("2028-02-29", 12, "2029-02-28");
        // EPO Legal Board of Appeal, J 13/88
        check("1986-05-05", 12, "1987-05-05");
    }

    #[test]
    fn days_are_counted_from_the_day_after_the_event() {
        // Regulation 1182/71 Art. 3(1)
        assert_eq!(last_day_of_days(day("2028-02-27"), 14), Ok(day("2028-03-12")));
        assert_eq!(last_day_of_days(NaiveDate::MAX, 1), Err(OutOfCalendar));
    }

    #[test]
    fn years_pass_on_the_anniversary() {
        assert!(!years_have_passed(day("2016-03-01"), 10, day("2026-02-28")));
        assert!(years_have_passed(day("2016-03-01"), 10, day("2026-03-01")));
        assert!(years_have_passed(day("2016-02-29"), 10, day("2026-02-28")));
        assert!(!years_have_passed(day("2016-02-29"), u32::MAX, day("2026-02-28")));
    }

    #[test]
    fn spans_hold_both_their_ends() {
        let span = |from: &str, until: Option<&str>| Span { from: day(from), until: until.map(day) };
        let half = span("2026-01-01", Some("2026-06-30"));
        assert!(half.contains(day("2026-01-01")) && half.contains(day("2026-06-30")));
        assert!(!half.contains(day("2026-07-01")));
        assert!(half.is_followed_by(&span("2026-07-01", None)));
        assert!(!half.is_followed_by(&span("2026-06-30", None)));
        assert!(!half.is_followed_by(&span("2026-07-02", None)));
        assert!(!span("2026-01-01", None).is_followed_by(&half));
        assert!(half.overlaps(&span("2026-06-30", None)));
        assert!(!half.overlaps(&span("2026-07-01", None)));
    }
}
