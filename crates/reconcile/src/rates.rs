//! Dated reference rates, and amounts of one currency in another.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Exact, Net, Overflow, ReferenceRate};

use crate::error::Unreconciled;

/// One euro for one euro.
const ONE_EURO: i64 = 1_000_000;
/// A rate that is older was not renewed: they are published every day that banks are open, and these are closed for four
/// days in a row at most, about Easter and Christmas (closing days of T2; from memory).
const DAYS_OLD: i64 = 7;

/// Units of each currency for one euro, as the ECB publishes them day by day.
///
/// The latest rate on or before a day counts. Between two other currencies one divides: the crossing is
/// kept as the exact fraction it is, and an amount that comes out of it is rounded once, so it is at
/// most half a minor unit off.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rates {
    by_currency: BTreeMap<Currency, BTreeMap<NaiveDate, ReferenceRate>>,
}

impl Rates {
    /// From rows in any order; of two for one day the later row counts.
    pub fn new(rows: impl IntoIterator<Item = (NaiveDate, Currency, ReferenceRate)>) -> Self {
        let mut rates = Self::default();
        for (day, currency, rate) in rows {
            rates.by_currency.entry(currency).or_default().insert(day, rate);
        }
        rates
    }

    /// The exact value of an amount in another currency.
    ///
    /// # Errors
    /// [`Unreconciled::NoRate`] where a currency has no rate by that day.
    pub fn exact(
        &self,
        minor: i64,
        from: Currency,
        to: Currency,
        on: NaiveDate,
    ) -> Result<Exact, Unreconciled> {
        let exact = Exact::from_minor(minor);
        if from == to {
            return Ok(exact);
        }
        // At most 10^12 x 10^4 each.
        let numerator = self.scaled(to, on)?.saturating_mul(to.minor_per_major());
        let denominator = self.scaled(from, on)?.saturating_mul(from.minor_per_major());
        Ok(exact.times_ratio(numerator, denominator)?)
    }

    /// An amount in another currency, rounded once, half up on the magnitude.
    ///
    /// # Errors
    /// As [`exact`](Self::exact).
    ///
    /// # Examples
    /// ```
    /// use evenfare_reconcile::rates::Rates;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let day = "2026-10-30".parse()?;
    /// let rates = Rates::new([(day, "USD".parse()?, "1.1172".parse()?)]);
    /// assert_eq!(rates.converted(111_720, "USD".parse()?, "EUR".parse()?, day)?, 100_000);
    /// # Ok(()) }
    /// ```
    pub fn converted(
        &self,
        minor: i64,
        from: Currency,
        to: Currency,
        on: NaiveDate,
    ) -> Result<i64, Unreconciled> {
        if from == to {
            return Ok(minor);
        }
        let rounded = self.exact(minor, from, to, on)?.round::<evenfare_engine::money::kind::Net>()?;
        Ok(Net::minor(rounded))
    }

    /// The day of the rate by which a currency is converted, where that is more than a week before.
    pub(crate) fn old(&self, currency: Currency, on: NaiveDate) -> Option<NaiveDate> {
        let rates = self.by_currency.get(&currency).filter(|_| currency.code() != "EUR")?;
        let (of, _) = rates.range(..=on).next_back()?;
        (on.signed_duration_since(*of).num_days() > DAYS_OLD).then_some(*of)
    }

    fn scaled(&self, currency: Currency, on: NaiveDate) -> Result<i64, Unreconciled> {
        if currency.code() == "EUR" {
            return Ok(ONE_EURO);
        }
        let no_rate = Unreconciled::NoRate { currency, day: on };
        let rates = self.by_currency.get(&currency);
        let latest = rates.and_then(|rates| rates.range(..=on).next_back());
        match latest {
            Some((_, rate)) if rate.is_zero() => Err(Overflow.into()),
            Some((_, rate)) => Ok(rate.scaled()),
            None => Err(no_rate),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// European Central Bank, euro foreign exchange reference rates of 30 October 2026; the yen's is nothing.
    fn rates() -> Option<Rates> {
        let day = "2026-10-30".parse().ok()?;
        let row = |code: &str, rate: &str| Some((day, code.parse().ok()?, rate.parse().ok()?));
        Some(Rates::new([
            row("USD", "1.1172")?,
            row("GBP", "0.8338")?,
            row("CHF", "0.9194")?,
            row("JPY", "0")?,
        ]))
    }

    fn check(minor: i64, from: &str, to: &str, on: &str, expect: Option<i64>) {
        let converted = || {
            let (from, to) = (from.parse().ok()?, to.parse().ok()?);
            rates()?.converted(minor, from, to, on.parse().ok()?).ok()
        };
        assert_eq!(converted(), expect, "{minor} {from} in {to}");
    }

    #[test]
    fn rates_of_the_ecb_are_crossed_exactly() {
        check(100_000, "EUR", "USD", "2026-10-30", Some(111_720));
        // 1000.00 / 0.8338 x 1.1172 = 1339.889...
        check(100_000, "GBP", "USD", "2026-11-25", Some(133_989));
        check(-100_000, "GBP", "USD", "2026-11-25", Some(-133_989));
        // 1000.00 / 1.1172 x 0.9194 = 822.950...
        check(100_000, "USD", "CHF", "2026-10-31", Some(82_295));
    }

    #[test]
    fn no_rate_is_an_error() {
        check(1, "USD", "EUR", "2026-10-29", None);
        check(1, "EUR", "SEK", "2026-10-30", None);
        check(1, "SEK", "SEK", "2026-10-30", Some(1));
        // Nor is a rate of nothing one, whichever way.
        check(1, "JPY", "EUR", "2026-10-30", None);
        check(1, "EUR", "JPY", "2026-10-30", None);
    }
}
