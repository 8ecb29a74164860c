//! VAT in the currency of the seller's country, held against the fraction that it is rounded from.

use evenfare_engine::money::{Currency, Vat};
use evenfare_engine::national::{NoNationalVat, national_vat};
use evenfare_engine::quote;
use evenfare_engine::vat::currencies::national_currency;
use proptest::prelude::*;

use crate::drawn::{cases, jobs};

#[test]
fn vat_in_another_currency_is_said_in_that_of_the_seller() {
    let [mut said, mut none, mut unknown] = [0_usize; 3];
    jobs("vat_in_another_currency_is_said_in_that_of_the_seller", cases(1), |job, edition| {
        let Ok(quote) = quote(job, edition) else { return Err(TestCaseError::reject("job refused")) };
        let back = quote.reversed().unwrap();
        let sales = quote.offers.iter().flat_map(|offer| &offer.sales);
        let opposites = back.offers.iter().flat_map(|offer| &offer.sales);
        for (sale, opposite) in sales.zip(opposites) {
            let charged: i64 = sale.vat.iter().map(|group| group.tax.minor()).sum();
            let mut sellers = std::iter::once(&quote.workshop).chain(&quote.route);
            let seller = sellers.find(|party| party.code == sale.seller).unwrap();
            let own = national_currency(seller.country, quote.tax_date).unwrap();
            let is_asked = charged != 0 && own != quote.currency;
            match national_vat(&quote, sale, edition) {
                Ok(None) => {
                    none += 1;
                    prop_assert!(!is_asked);
                }
                Ok(Some(vat)) => {
                    said += 1;
                    prop_assert!(is_asked && vat.currency == own);
                    let of = |currency: Currency| {
                        let rate = vat.rates.iter().find(|(of, _, _)| *of == currency);
                        let rate = rate.map_or(1_000_000, |(_, rate, _)| rate.scaled());
                        i128::from(rate) * i128::from(currency.minor_per_major())
                    };
                    let numerator = 2 * i128::from(charged) * of(own);
                    let denominator = of(quote.currency);
                    // Never further than a half, and a half away from zero.
                    let off = 2 * i128::from(vat.tax.minor()) * denominator - numerator;
                    prop_assert!(off.abs() <= denominator);
                    prop_assert!(off.abs() < denominator || off.signum() == numerator.signum());
                    let known = [own, quote.currency].into_iter().filter(|own| own.code() != "EUR").count();
                    prop_assert_eq!(vat.rates.len(), known);
                    prop_assert!(vat.rates.iter().all(|(_, _, day)| *day <= quote.received));
                    let opposite = national_vat(&back, opposite, edition).unwrap().unwrap();
                    prop_assert_eq!(opposite.tax, vat.tax.reversed());
                }
                Err(NoNationalVat::Rate { to, lacking, on, .. }) => {
                    unknown += 1;
                    prop_assert!(is_asked && to == own && on == quote.received);
                    prop_assert!(lacking == own || lacking == quote.currency);
                }
                // A rate may be so small that what it makes of the amount is more than is ever kept.
                Err(NoNationalVat::Overflow(_)) => {
                    let of = |currency: Currency| {
                        let known = edition.currency_rates().iter();
                        let known =
                            known.filter(|rate| rate.currency == currency && rate.date <= quote.received);
                        let rate = known.max_by_key(|rate| rate.date);
                        let rate = rate.map_or(1_000_000, |rate| rate.units_per_eur.scaled());
                        i128::from(rate) * i128::from(currency.minor_per_major())
                    };
                    let numerator = 2 * i128::from(charged) * of(own);
                    let most = i128::from(2 * Vat::MAX_MINOR + 1) * of(quote.currency);
                    prop_assert!(is_asked && numerator.abs() >= most);
                }
                Err(other) => return Err(TestCaseError::fail(other.to_string())),
            }
        }
        Ok(())
    });
    eprintln!("{said} sales said in another currency, {none} in none, {unknown} without a rate");
    assert!(said > 0 && none > 0);
}
