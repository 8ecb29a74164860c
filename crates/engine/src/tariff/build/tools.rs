//! What every check of a tariff is made of.

use std::fmt;
use std::sync::Arc;

use crate::money::{Currency, Decimals, Net, Percent, UnitPrice, round_half_up};
use crate::nearest::{LOOKED_FOR, or_nearest};
use crate::period::Span;
use crate::problem::{Place, Problem};
use crate::tariff::entries::{Coded, Table};
use crate::text::Code;

/// The mistakes found so far.
pub(super) struct Check {
    currency: Currency,
    problems: Vec<Problem>,
    looked_for: usize,
}

/// What was found: a value, or one that may be missing.
pub(super) trait Found {
    fn found(self) -> String;
}

macro_rules! found_as_displayed {
    ($($type:ty)*) => { $(impl Found for $type { fn found(self) -> String { self.to_string() } })* };
}
found_as_displayed!(&str String u32 u64 &Code UnitPrice Percent crate::category::Category crate::category::Work
    crate::money::Quantity crate::money::ReferenceRate crate::country::Country Currency chrono::NaiveDate);

impl<T: Found> Found for Option<T> {
    fn found(self) -> String {
        self.map_or_else(String::new, Found::found)
    }
}

impl Check {
    pub(super) fn new(currency: Currency) -> Self {
        Self { currency, problems: Vec::new(), looked_for: 0 }
    }

    pub(super) fn into_problems(self) -> Vec<Problem> {
        self.problems
    }

    pub(super) fn error(
        &mut self,
        place: Place,
        code: &'static str,
        found: impl Found,
        expected: impl fmt::Display,
    ) {
        self.problems.push(Problem::error(place, code, found.found(), expected));
    }

    pub(super) fn warning(
        &mut self,
        place: Place,
        code: &'static str,
        found: impl Found,
        expected: impl fmt::Display,
    ) {
        self.problems.push(Problem::warning(place, code, found.found(), expected));
    }

    /// The amount in whole minor units.
    pub(super) fn minor(&mut self, place: Place, amount: UnitPrice) -> Net {
        let scaled = i128::from(amount.scaled()).saturating_mul(i128::from(self.currency.minor_per_major()));
        let whole = scaled.checked_rem(10_i128.pow(UnitPrice::DECIMALS)) == Some(0);
        let minor = round_half_up(scaled, 10_i128.pow(UnitPrice::DECIMALS)).and_then(Net::from_minor);
        match minor {
            Ok(minor) if whole => minor,
            Ok(_) => {
                let expected =
                    format!("at most {} decimals, as {} has", self.currency.exponent(), self.currency);
                self.error(place, "below_the_minor_unit", amount, expected);
                Net::ZERO
            }
            Err(_) => {
                self.error(place, "too_large", amount, "an amount of at most 12 digits");
                Net::ZERO
            }
        }
    }

    /// A span that does not end before it begins.
    pub(super) fn span(&mut self, place: &Place, span: Span) {
        if !span.is_in_order() {
            self.error(place.at("until"), "ends_before_it_begins", span.until, "a day not before `from`");
        }
    }

    /// A span that begins on the day after the one before it has ended: sooner is a mistake, later is worth a look.
    pub(super) fn follows(&mut self, place: &Place, span: Span, before: Span, called: impl fmt::Display) {
        let (at, found) = (place.at("from"), span.from);
        if before.overlaps(&span) {
            self.error(at, "overlapping_dates", found, format_args!("a day after {called} has ended"));
        } else if !before.is_followed_by(&span) {
            self.warning(at, "gap_in_dates", found, format_args!("the day after {called} has ended"));
        }
    }

    /// A number of days within ten years.
    pub(super) fn days(&mut self, place: Place, days: u32) {
        if days > 3_650 {
            self.error(place, "too_long", days, "at most 3650 days");
        }
    }

    /// At most that many percent.
    pub(super) fn at_most(&mut self, place: Place, percent: Percent, most: i64) {
        if percent.scaled() > most.saturating_mul(10_000) {
            self.error(place, "too_many_percent", percent, format_args!("at most {most}"));
        }
    }

    /// A number of months that a warranty may have.
    pub(super) fn months(&mut self, place: Place, months: u32) {
        if months > 600 {
            self.error(place, "too_long", months, "at most 600 months");
        }
    }

    /// The entry a code refers to.
    pub(super) fn reference<T: Coded>(
        &mut self,
        place: Place,
        problem: &'static str,
        code: &Code,
        table: &Table<T>,
        file: &str,
    ) -> Option<Arc<T>> {
        let entry = table.find(code.as_str()).cloned();
        if entry.is_none() {
            self.unknown(place, problem, code, table.iter().map(|entry| entry.code()), file);
        }
        entry
    }

    /// A code that none of these is, with the nearest of them.
    pub(super) fn unknown<'c>(
        &mut self,
        place: Place,
        problem: &'static str,
        code: &Code,
        known: impl IntoIterator<Item = &'c Code>,
        file: &str,
    ) {
        let mut expected = format!("a code of {file}");
        if self.looked_for < LOOKED_FOR {
            self.looked_for = self.looked_for.saturating_add(1);
            expected = or_nearest(&expected, code.as_str(), known.into_iter().map(Code::as_str));
        }
        self.error(place, problem, code, expected);
    }

    /// Rows in the order of their codes with their places in the file; doubled codes are reported
    /// and the first is kept.
    pub(super) fn sorted<'r, R>(
        &mut self,
        table: &str,
        rows: &'r [R],
        code: impl Fn(&R) -> &Code,
    ) -> Vec<(Place, &'r R)> {
        let mut sorted: Vec<(usize, &R)> = rows.iter().enumerate().collect();
        sorted.sort_by(|a, b| code(a.1).cmp(code(b.1)).then(a.0.cmp(&b.0)));
        let mut kept: Vec<(Place, &R)> = Vec::with_capacity(sorted.len());
        for (row, entry) in sorted {
            let place = Place::row(table, row);
            if kept.last().is_some_and(|(_, last)| code(last) == code(entry)) {
                self.error(place.at("code"), "given_twice", code(entry), "each code once");
            } else {
                kept.push((place, entry));
            }
        }
        kept
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_codes_are_looked_for_so_often_and_no_more() {
        let mut check = Check::new("EUR".parse().unwrap());
        let (code, known): (Code, Code) = ("fittr".parse().unwrap(), "fitter".parse().unwrap());
        for _ in 0..=LOOKED_FOR {
            check.unknown(Place::field("grade"), "unknown_grade", &code, [&known], "grades.csv");
        }
        let told = check.into_problems();
        let near = told.iter().filter(|problem| problem.expected.ends_with("; the nearest: fitter"));
        assert_eq!((near.count(), told.len()), (LOOKED_FOR, LOOKED_FOR + 1));
    }
}
