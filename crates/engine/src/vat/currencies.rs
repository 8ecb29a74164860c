//! The currency in which a country's VAT is declared.

use std::str::FromStr as _;

use chrono::NaiveDate;

use crate::country::Country;
use crate::money::Currency;

/// Countries that gave up a currency for the euro: which one, and the first day without it, from which ISO 4217 has it
/// no more.
const GAVE_WAY: [(Country, &str, Option<NaiveDate>); 2] = [
    (Country::BG, "BGN", NaiveDate::from_ymd_opt(2026, 1, 1)),
    (Country::HR, "HRK", NaiveDate::from_ymd_opt(2023, 1, 1)),
];

/// The first day on which nothing is owed in a currency any more, where that has come on a day.
///
/// No reference rate of it is published from then on, so the last one there was is no rate of the day.
pub(crate) fn withdrawn(currency: Currency, on: NaiveDate) -> Option<NaiveDate> {
    let ended = GAVE_WAY.iter().find(|(_, code, _)| *code == currency.code());
    ended.and_then(|&(_, _, since)| since).filter(|since| *since <= on)
}

/// The currency of a country on a day, in which its VAT is declared and paid.
///
/// That of ISO 4217 in use there; where several are, the one that the standard names first. `None` for
/// countries without one.
///
/// # Examples
/// ```
/// use chrono::NaiveDate;
/// use evenfare_engine::country::Country;
/// use evenfare_engine::vat::currencies::national_currency;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let code = |country: Country, on: NaiveDate| national_currency(country, on).map(|currency| currency.code());
/// assert_eq!(code(Country::DE, "2026-07-01".parse()?), Some("EUR"));
/// assert_eq!(code(Country::CH, "2026-07-01".parse()?), Some("CHF"));
/// assert_eq!(code(Country::BG, "2025-12-31".parse()?), Some("BGN"));
/// assert_eq!(code(Country::BG, "2026-01-01".parse()?), Some("EUR"));
/// # Ok(()) }
/// ```
#[must_use]
pub fn national_currency(country: Country, on: NaiveDate) -> Option<Currency> {
    let has_it_still = |&&(of, _, since): &&(Country, &str, Option<NaiveDate>)| {
        of == country && since.is_some_and(|since| on < since)
    };
    if let Some((_, code, _)) = GAVE_WAY.iter().find(has_it_still) {
        return code.parse().ok();
    }
    // The rand is legal tender there too, and the list has it alone.
    if country.as_str() == "NA" {
        return "NAD".parse().ok();
    }
    let country = iso_currency::Country::from_str(country.as_str()).ok()?;
    let in_use = iso_currency::Currency::from_country(country);
    in_use.into_iter().find(|currency| currency.flags().is_empty())?.code().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vat::rates::published_rates;

    #[test]
    fn countries_with_a_published_rate_have_their_currency() {
        // The other states of the table have the euro.
        let own = "BG EUR CH CHF CZ CZK DK DKK GB GBP HU HUF NO NOK PL PLN RO RON SE SEK";
        let own: Vec<&str> = own.split(' ').collect();
        for rate in published_rates() {
            let code = rate.country.as_str();
            let pair = own.chunks(2).find(|pair| pair.first() == Some(&code));
            let expected = pair.and_then(|pair| pair.get(1)).copied().unwrap_or("EUR");
            let day = NaiveDate::from_ymd_opt(2026, 11, 25);
            let found = day.and_then(|day| national_currency(rate.country, day));
            assert_eq!(found.map(Currency::code), Some(expected), "{code}");
        }
    }

    #[test]
    fn what_gave_way_to_the_euro_is_withdrawn_on_its_first_day() -> Result<(), Box<dyn std::error::Error>> {
        let check = |code: &str, country: Country, last: &str, first: &str| {
            let (currency, last, first): (Currency, NaiveDate, NaiveDate) =
                (code.parse()?, last.parse()?, first.parse()?);
            assert_eq!(
                (withdrawn(currency, last), withdrawn(currency, first)),
                (None, Some(first)),
                "{code}"
            );
            let of = |day| national_currency(country, day).map(Currency::code);
            assert_eq!((of(last), of(first)), (Some(code), Some("EUR")), "{country}");
            Ok::<_, Box<dyn std::error::Error>>(())
        };
        // ISO 4217, and the ECB's reference rates of 2 January 2026, which have no lev. The day of the kuna is from memory.
        check("BGN", Country::BG, "2025-12-31", "2026-01-01")?;
        check("HRK", Country::HR, "2022-12-31", "2023-01-01")?;
        let euro: Currency = "EUR".parse()?;
        assert_eq!(withdrawn(euro, NaiveDate::MAX), None);
        Ok(())
    }

    #[test]
    fn all_but_two_without_one_have_their_currency() {
        let day = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap_or_default();
        let without = Country::all().filter(|country| national_currency(*country, day).is_none());
        let without: Vec<String> = without.map(|country| country.to_string()).collect();
        // Antarctica, and South Georgia with its neighbours.
        assert_eq!(without, ["AQ", "GS"]);
        let namibia: Option<Country> = "NA".parse().ok();
        assert_eq!(
            namibia.and_then(|namibia| national_currency(namibia, day)).map(Currency::code),
            Some("NAD")
        );
    }
}
