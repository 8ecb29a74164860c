//! Days of the calendar, and moments.

use chrono::{Datelike, NaiveDate};

use super::pb;

/// A date that is no day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum InvalidDate {
    /// Year, month or day is missing.
    #[error("a date without year, month or day; expected a whole day of the calendar")]
    Partial,
    /// The calendar has no such day, or it lies outside the years that are taken.
    #[error("not a day of the calendar in the years from 1 to 9999")]
    NotInTheCalendar,
}

impl From<NaiveDate> for pb::Date {
    fn from(day: NaiveDate) -> Self {
        Self { year: day.year(), month: day.month().cast_signed(), day: day.day().cast_signed() }
    }
}

impl TryFrom<&pb::Date> for NaiveDate {
    type Error = InvalidDate;

    fn try_from(date: &pb::Date) -> Result<Self, InvalidDate> {
        let pb::Date { year, month, day } = *date;
        if [year, month, day].contains(&0) {
            return Err(InvalidDate::Partial);
        }
        let in_calendar = || {
            let (month, day) = (u32::try_from(month).ok()?, u32::try_from(day).ok()?);
            Self::from_ymd_opt(year, month, day).filter(|_| (1..=9999).contains(&year))
        };
        in_calendar().ok_or(InvalidDate::NotInTheCalendar)
    }
}

/// A moment, on its way out.
#[cfg(feature = "serve")]
pub(crate) fn moment(moment: chrono::DateTime<chrono::Utc>) -> prost_types::Timestamp {
    let nanos = i32::try_from(moment.timestamp_subsec_nanos()).unwrap_or(0);
    prost_types::Timestamp { seconds: moment.timestamp(), nanos }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(year: i32, month: i32, day: i32, expect: Result<&str, InvalidDate>) {
        let got = NaiveDate::try_from(&pb::Date { year, month, day });
        assert_eq!(got.map(|day| day.to_string()).as_deref().map_err(|e| *e), expect);
        if let Ok(whole) = got {
            assert_eq!(pb::Date::from(whole), pb::Date { year, month, day });
        }
    }

    #[test]
    fn whole_days_of_the_calendar_are_taken() {
        check(2026, 7, 14, Ok("2026-07-14"));
        check(2024, 2, 29, Ok("2024-02-29"));
        check(1, 1, 1, Ok("0001-01-01"));
        check(9999, 12, 31, Ok("9999-12-31"));
    }

    #[test]
    fn parts_of_a_date_are_refused() {
        check(0, 0, 0, Err(InvalidDate::Partial));
        check(2026, 0, 0, Err(InvalidDate::Partial));
        check(2026, 7, 0, Err(InvalidDate::Partial));
        check(0, 7, 14, Err(InvalidDate::Partial));
        check(2026, 0, 14, Err(InvalidDate::Partial));
    }

    #[test]
    fn days_that_are_in_no_calendar_are_refused() {
        check(2026, 2, 29, Err(InvalidDate::NotInTheCalendar));
        check(2026, 13, 1, Err(InvalidDate::NotInTheCalendar));
        check(2026, -7, 14, Err(InvalidDate::NotInTheCalendar));
        check(-2026, 7, 14, Err(InvalidDate::NotInTheCalendar));
        check(10_000, 1, 1, Err(InvalidDate::NotInTheCalendar));
        check(i32::MAX, i32::MIN, i32::MAX, Err(InvalidDate::NotInTheCalendar));
    }
}
