//! From the tariff's currency to the quote's.

use chrono::NaiveDate;

use crate::money::{Amount, AmountKind, Currency, Exact, Net, Overflow, ReferenceRate};
use crate::problem::{Place, Problem};
use crate::tariff::Edition;
use crate::vat::currencies::withdrawn;

/// One currency for one euro.
const ONE_EURO: i64 = 1_000_000;

/// The crossing of two reference rates, kept as the exact fraction it is.
///
/// The ECB publishes units of a currency for one euro; between two others one divides. Each amount
/// is converted once and rounded once to the minor unit of its new currency.
#[derive(Debug, Clone)]
pub(crate) struct Conversion {
    pub(crate) from: Currency,
    pub(crate) to: Currency,
    /// The rates and their days; none for the euro itself.
    pub(crate) from_rate: Option<(NaiveDate, ReferenceRate)>,
    pub(crate) to_rate: Option<(NaiveDate, ReferenceRate)>,
    numerator: i64,
    denominator: i64,
}

impl Conversion {
    /// None where the currencies are the same, or that asked for is not in use any more.
    pub(crate) fn new(
        edition: &Edition,
        to: Currency,
        on: NaiveDate,
        problems: &mut Vec<Problem>,
    ) -> Option<Self> {
        let from = edition.currency;
        if let Some(since) = withdrawn(to, on) {
            let expected = format!("a currency that is in use on {on}; it was withdrawn on {since}");
            problems.push(Problem::error(Place::field("currency"), "withdrawn_currency", to, expected));
            return None;
        }
        if from == to {
            return None;
        }
        for lacking in [from, to].into_iter().filter(|currency| rate(edition, *currency, on).is_err()) {
            let expected = format!("a currency with a rate of {on} or before in currency_rates.csv");
            problems.push(Problem::error(Place::field("currency"), "no_currency_rate", lacking, expected));
        }
        Self::between(edition, from, to, on).ok()
    }

    /// Between any two currencies, by the rates of that day.
    ///
    /// # Errors
    /// The currency that has no rate.
    pub(crate) fn between(
        edition: &Edition,
        from: Currency,
        to: Currency,
        on: NaiveDate,
    ) -> Result<Self, Currency> {
        let (from_rate, to_rate) = (rate(edition, from, on)?, rate(edition, to, on)?);
        let scaled =
            |rate: Option<(NaiveDate, ReferenceRate)>| rate.map_or(ONE_EURO, |(_, rate)| rate.scaled());
        // At most 10^12 x 10^4 each.
        let numerator = scaled(to_rate).saturating_mul(to.minor_per_major());
        let denominator = scaled(from_rate).saturating_mul(from.minor_per_major());
        Ok(Self { from, to, from_rate, to_rate, numerator, denominator })
    }

    /// The exact value in the other currency.
    pub(crate) fn exact(&self, value: Exact) -> Result<Exact, Overflow> {
        value.times_ratio(self.numerator, self.denominator)
    }
}

/// The newest rate of a currency on a day, with its own; none for the euro itself.
///
/// # Errors
/// The currency, where it has no rate.
fn rate(
    edition: &Edition,
    currency: Currency,
    on: NaiveDate,
) -> Result<Option<(NaiveDate, ReferenceRate)>, Currency> {
    if currency.code() == "EUR" {
        return Ok(None);
    }
    let rate = edition.currency_rate(currency, on).ok_or(currency)?;
    Ok(Some((rate.date, rate.units_per_eur)))
}

/// Converts an amount, where there is anything to convert; rounds once.
pub(crate) fn convert<K: AmountKind>(
    conversion: Option<&Conversion>,
    amount: Amount<K>,
) -> Result<Amount<K>, Overflow> {
    match conversion {
        None => Ok(amount),
        Some(conversion) => conversion.exact(Exact::from_minor(amount.minor()))?.round(),
    }
}

/// The exact value of an amount of the tariff in the quote's currency.
pub(crate) fn exactly(conversion: Option<&Conversion>, amount: Net) -> Result<Exact, Overflow> {
    let exact = Exact::from_minor(amount.minor());
    conversion.map_or(Ok(exact), |conversion| conversion.exact(exact))
}
