//! VAT rates and currency rates.

use super::tools::Check;
use crate::money::{Currency, Percent};
use crate::period::Span;
use crate::problem::Place;
use crate::tariff::entries::{CurrencyRate, VatRate};
use crate::tariff::rows::{CurrencyRateRow, VatRateRow};
use crate::vat::currencies::withdrawn;
use crate::vat::rates::standard_rate;

pub(super) fn vat_rates(rows: &[VatRateRow], edition: Span, check: &mut Check) -> Vec<VatRate> {
    let mut sorted: Vec<(usize, &VatRateRow)> = rows.iter().enumerate().collect();
    sorted.sort_by_key(|(_, row)| (row.country, row.span));
    let mut rates: Vec<VatRate> = Vec::with_capacity(rows.len());
    for (index, row) in sorted {
        let place = Place::row("vat_rates", index);
        check.at_most(place.at("percent"), row.percent, 100);
        check.span(&place, row.span);
        // One that ends before it begins is reported already.
        let last = rates.iter().rfind(|last| last.span.is_in_order() && row.span.is_in_order());
        if let Some(last) = last.filter(|last| last.country == row.country) {
            check.follows(&place, row.span, last.span, format_args!("the rate from {}", last.span.from));
        }
        // Compare on the first day on which the edition could use the row.
        let day = row.span.from.max(edition.from);
        if row.span.contains(day)
            && let Some(published) =
                standard_rate(row.country, day).and_then(|scaled| Percent::from_scaled(scaled).ok())
            && published != row.percent
        {
            check.warning(
                place.at("percent"),
                "not_the_published_rate",
                row.percent,
                format_args!("{published}, the standard rate known for {} on {day}", row.country),
            );
        }
        rates.push(VatRate { country: row.country, span: row.span, percent: row.percent });
    }
    rates
}

pub(super) fn currency_rates(
    rows: &[CurrencyRateRow],
    tariff: Currency,
    check: &mut Check,
) -> Vec<CurrencyRate> {
    let mut sorted: Vec<(usize, &CurrencyRateRow)> = rows.iter().enumerate().collect();
    sorted.sort_by_key(|(_, row)| (row.currency, row.date));
    let mut rates: Vec<CurrencyRate> = Vec::with_capacity(rows.len());
    for (index, row) in sorted {
        let place = Place::row("currency_rates", index);
        if row.currency.code() == "EUR" {
            check.error(place.at("currency"), "euro_against_euro", row.currency, "a currency other than EUR");
        }
        if let Some(since) = withdrawn(row.currency, row.date) {
            let expected = format!("a currency in use on {}; it was withdrawn on {since}", row.date);
            check.warning(place.at("currency"), "withdrawn_currency", row.currency, expected);
        }
        if row.units_per_eur.is_zero() {
            check.error(place.at("units_per_eur"), "no_rate", row.units_per_eur, "a rate above zero");
        }
        if rates.last().is_some_and(|last| last.currency == row.currency && last.date == row.date) {
            check.error(place.at("date"), "given_twice", row.date, "one rate for a currency and day");
        }
        rates.push(CurrencyRate { date: row.date, currency: row.currency, units_per_eur: row.units_per_eur });
    }
    if !rates.is_empty() && tariff.code() != "EUR" && !rates.iter().any(|rate| rate.currency == tariff) {
        check.error(
            Place::field("edition").at("currency"),
            "no_rate",
            tariff,
            "a row in currency_rates.csv, to cross other currencies by",
        );
    }
    rates
}
