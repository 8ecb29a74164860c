//! Days, and periods in months as Regulation 1182/71 counts them.

use std::ops::Deref;

use chrono::{Datelike, Days, NaiveDate};
use serde::Deserialize;

#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Deserialize)]
#[serde(try_from = "String")]
pub struct Day(pub NaiveDate);

impl TryFrom<String> for Day {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse().map(Self).map_err(|_| format!("no day: {text}"))
    }
}

impl Deref for Day {
    type Target = NaiveDate;

    fn deref(&self) -> &NaiveDate {
        &self.0
    }
}

impl Day {
    pub fn plus_days(self, days: u32) -> Self {
        Self(self.0.checked_add_days(Days::new(days.into())).unwrap())
    }

    /// The day of the same date this many months later, or the last of that month.
    pub fn plus_months(self, months: u32) -> Self {
        let month = self.year() as u32 * 12 + self.month0() + months;
        let (year, month) = ((month / 12) as i32, month % 12 + 1);
        Self((1..=self.day()).rev().find_map(|day| NaiveDate::from_ymd_opt(year, month, day)).unwrap())
    }

    /// Full years up to `later`.
    pub fn full_years_until(self, later: Self) -> u32 {
        (1..).find(|years| self.plus_months(12 * years) > later).unwrap() - 1
    }
}

/// Does it hold on that day? Both ends count.
pub fn holds(from: Day, until: Option<Day>, on: Day) -> bool {
    from <= on && until.is_none_or(|until| on <= until)
}
