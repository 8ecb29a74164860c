//! Standard VAT rates as published, with the days on which they changed.
//!
//! No price uses this table. Sales are taxed at the rate that the edition has (`vat_rates.csv`); where that is
//! another than the one published here, checking the tariff gives the warning `not_the_published_rate`, and
//! nothing else goes by it. An edition may have rates of days long past or still to come, so every standard
//! rate since 2019-01-01 is kept with the days it holds, and the caller always names the day.
//!
//! Covered are the 27 member states, the United Kingdom, Switzerland and Norway. Reduced rates and
//! territories with rates of their own (Madeira, the Azores, the Canary Islands, Jungholz,
//! Büsingen) are not. Northern Ireland has the rate of the United Kingdom.

use chrono::NaiveDate;

use crate::country::Country;
use crate::period::Span;

/// One standard rate of one country and the days on which it holds.
///
/// # Examples
///
/// ```
/// use evenfare_engine::country::Country;
/// use evenfare_engine::vat::rates::published_rates;
///
/// let finland: Vec<i64> = published_rates()
///     .iter()
///     .filter(|rate| rate.country == Country::FI)
///     .map(|rate| rate.ten_thousandths_of_percent)
///     .collect();
/// assert_eq!(finland, [240_000, 255_000]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandardRate {
    /// The country that levies the tax.
    pub country: Country,
    /// The days on which it holds; open while no end is published. The table begins on 2019-01-01, even where a rate is
    /// older.
    pub span: Span,
    /// The rate in ten-thousandths of a percent: 25.5 % is 255 000.
    pub ten_thousandths_of_percent: i64,
}

/// Every published standard rate, by country and then by day.
///
/// Each country's rows follow one another without gap or overlap, and the last has no end.
///
/// # Examples
///
/// ```
/// use evenfare_engine::vat::rates::published_rates;
/// assert!(published_rates().iter().all(|rate| rate.ten_thousandths_of_percent > 0));
/// ```
#[must_use]
pub fn published_rates() -> &'static [StandardRate] {
    RATES
}

/// The standard rate of a country on a day, in ten-thousandths of a percent.
///
/// `None` for a country or a day the table does not cover, never a guess. A day in the future gets
/// the rate that holds until a change is published, so ask again when the supply is made.
///
/// # Examples
///
/// ```
/// use chrono::NaiveDate;
/// use evenfare_engine::country::Country;
/// use evenfare_engine::vat::rates::standard_rate;
///
/// let day = NaiveDate::from_ymd_opt(2020, 7, 1).ok_or("no such day")?;
/// assert_eq!(standard_rate(Country::DE, day), Some(160_000));
/// assert_eq!(standard_rate(Country::US, day), None);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn standard_rate(country: Country, on: NaiveDate) -> Option<i64> {
    RATES
        .iter()
        .find(|rate| rate.country == country && rate.span.contains(on))
        .map(|rate| rate.ten_thousandths_of_percent)
}

const fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    match NaiveDate::from_ymd_opt(year, month, day) {
        Some(day) => day,
        // A misspelt day would be this one, which the test of the table's beginning refuses.
        None => NaiveDate::MIN,
    }
}

/// A rate in tenths of a percent, from its first to its last day.
const fn row(country: Country, from: NaiveDate, until: Option<NaiveDate>, tenths: i64) -> StandardRate {
    let ten_thousandths_of_percent = tenths.saturating_mul(1_000);
    StandardRate { country, span: Span { from, until }, ten_thousandths_of_percent }
}

const fn unchanged(country: Country, tenths: i64) -> StandardRate {
    row(country, BEGIN, None, tenths)
}

const fn at_first(country: Country, until: NaiveDate, tenths: i64) -> StandardRate {
    row(country, BEGIN, Some(until), tenths)
}

const fn between(country: Country, from: NaiveDate, until: NaiveDate, tenths: i64) -> StandardRate {
    row(country, from, Some(until), tenths)
}

const fn since(country: Country, from: NaiveDate, tenths: i64) -> StandardRate {
    row(country, from, None, tenths)
}

const BEGIN: NaiveDate = day(2019, 1, 1);

// The rates in force were compared with the Python package eu-vat-rates-data 2026.9.29, and the
// dates of change with the npm package sales-tax 2.23.0 except where a row says otherwise. That no
// other country changed its standard rate since 2019 is from memory, and in agreement with both.
const RATES: &[StandardRate] = &[
    unchanged(Country::AT, 200),
    unchanged(Country::BE, 210),
    unchanged(Country::BG, 200),
    // The Swiss dates are from memory and agree with sales-tax.
    at_first(Country::CH, day(2023, 12, 31), 77),
    since(Country::CH, day(2024, 1, 1), 81),
    unchanged(Country::CY, 190),
    unchanged(Country::CZ, 210),
    at_first(Country::DE, day(2020, 6, 30), 190),
    between(Country::DE, day(2020, 7, 1), day(2020, 12, 31), 160),
    since(Country::DE, day(2021, 1, 1), 190),
    unchanged(Country::DK, 250),
    at_first(Country::EE, day(2023, 12, 31), 200),
    between(Country::EE, day(2024, 1, 1), day(2025, 6, 30), 220),
    since(Country::EE, day(2025, 7, 1), 240),
    unchanged(Country::ES, 210),
    at_first(Country::FI, day(2024, 8, 31), 240),
    since(Country::FI, day(2024, 9, 1), 255),
    unchanged(Country::FR, 200),
    unchanged(Country::GB, 200),
    unchanged(Country::GR, 240),
    unchanged(Country::HR, 250),
    unchanged(Country::HU, 270),
    // The Irish dates are from memory and agree with sales-tax.
    at_first(Country::IE, day(2020, 8, 31), 230),
    between(Country::IE, day(2020, 9, 1), day(2021, 2, 28), 210),
    since(Country::IE, day(2021, 3, 1), 230),
    unchanged(Country::IT, 220),
    unchanged(Country::LT, 210),
    // The Luxembourg dates are from memory and agree with sales-tax.
    at_first(Country::LU, day(2022, 12, 31), 170),
    between(Country::LU, day(2023, 1, 1), day(2023, 12, 31), 160),
    since(Country::LU, day(2024, 1, 1), 170),
    unchanged(Country::LV, 210),
    unchanged(Country::MT, 180),
    unchanged(Country::NL, 210),
    unchanged(Country::NO, 250),
    unchanged(Country::PL, 230),
    unchanged(Country::PT, 230),
    // sales-tax begins the Romanian rate a day later; Law 141/2025 (from memory) says 1 August.
    at_first(Country::RO, day(2025, 7, 31), 190),
    since(Country::RO, day(2025, 8, 1), 210),
    unchanged(Country::SE, 250),
    unchanged(Country::SI, 220),
    at_first(Country::SK, day(2024, 12, 31), 200),
    since(Country::SK, day(2025, 1, 1), 230),
];

#[cfg(test)]
mod tests {
    use super::*;

    fn check(country: Country, on: (i32, u32, u32), expected: Option<i64>) {
        let (year, month, date) = on;
        let found = standard_rate(country, day(year, month, date));
        assert_eq!(found, expected, "{country} on {on:?}");
    }

    #[test]
    fn rates_change_on_their_day() {
        // Country, last day of the old rate, first day of the new one, old, new.
        let changes = [
            (Country::CH, (2023, 12, 31), (2024, 1, 1), 77_000, 81_000),
            (Country::DE, (2020, 6, 30), (2020, 7, 1), 190_000, 160_000),
            (Country::DE, (2020, 12, 31), (2021, 1, 1), 160_000, 190_000),
            (Country::EE, (2023, 12, 31), (2024, 1, 1), 200_000, 220_000),
            (Country::EE, (2025, 6, 30), (2025, 7, 1), 220_000, 240_000),
            (Country::FI, (2024, 8, 31), (2024, 9, 1), 240_000, 255_000),
            (Country::IE, (2020, 8, 31), (2020, 9, 1), 230_000, 210_000),
            (Country::IE, (2021, 2, 28), (2021, 3, 1), 210_000, 230_000),
            (Country::LU, (2022, 12, 31), (2023, 1, 1), 170_000, 160_000),
            (Country::LU, (2023, 12, 31), (2024, 1, 1), 160_000, 170_000),
            (Country::RO, (2025, 7, 31), (2025, 8, 1), 190_000, 210_000),
            (Country::SK, (2024, 12, 31), (2025, 1, 1), 200_000, 230_000),
        ];
        for (country, last, first, old, new) in changes {
            check(country, last, Some(old));
            check(country, first, Some(new));
        }
        // A country with n rows has n - 1 changes, all of them listed above.
        let begun_later = RATES.iter().filter(|rate| rate.span.from > BEGIN).count();
        assert_eq!(begun_later, changes.len());
    }

    #[test]
    fn rates_in_force_on_2026_11_25() {
        let rates = "AT200 BE210 BG200 CH81 CY190 CZ210 DE190 DK250 EE240 ES210 FI255 FR200 GB200 \
                     GR240 HR250 HU270 IE230 IT220 LT210 LU170 LV210 MT180 NL210 NO250 PL230 PT230 \
                     RO210 SE250 SI220 SK230";
        let found: Vec<String> = Country::all()
            .filter_map(|country| Some((country, standard_rate(country, day(2026, 11, 25))?)))
            .map(|(country, rate)| format!("{country}{}", rate / 1_000))
            .collect();
        assert_eq!(found.join(" "), rates);
    }

    #[test]
    fn each_country_is_covered_without_gap_from_the_beginning() {
        let covered = [Country::GB, Country::CH, Country::NO];
        for country in Country::all() {
            let rows: Vec<_> = RATES.iter().filter(|rate| rate.country == country).collect();
            assert_eq!(!rows.is_empty(), country.is_eu() || covered.contains(&country), "{country}");
            let mut next = Some(BEGIN);
            for row in &rows {
                assert_eq!(Some(row.span.from), next, "{country}");
                assert!(row.span.is_in_order(), "{country}");
                next = row.span.until.and_then(|until| until.succ_opt());
            }
            assert_eq!(next, if rows.is_empty() { Some(BEGIN) } else { None }, "{country}");
        }
        assert!(RATES.is_sorted_by_key(|rate| (rate.country, rate.span.from)));
    }

    #[test]
    fn outside_the_table_there_is_no_rate() {
        check(Country::DE, (2018, 12, 31), None);
        check(Country::DE, (2019, 1, 1), Some(190_000));
        check(Country::US, (2026, 1, 1), None);
        check(Country::MC, (2026, 1, 1), None);
    }
}
