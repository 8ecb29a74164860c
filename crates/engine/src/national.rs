//! The VAT of a sale in the currency of the seller's country.
//!
//! An invoice may be in any currency, but the VAT that is owed stands on it in the currency of the state
//! where it is owed as well (Directive 2006/112/EC Art. 230; EN 16931 BT-6 and BT-111). The rates are the
//! reference rates of the edition on the day the units arrived: those by which the quote itself was
//! converted where it is not in the tariff's currency. All VAT of the sale is converted together, and
//! rounded once.

use chrono::NaiveDate;

use crate::convert::{Conversion, convert};
use crate::country::Country;
use crate::money::{Currency, Overflow, ReferenceRate, Vat};
use crate::quote::{Quote, Sale};
use crate::supply::VatCategory;
use crate::tariff::Edition;
use crate::vat::currencies::national_currency;

/// The VAT of a sale in the currency of the seller's country.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NationalVat {
    /// That currency.
    pub currency: Currency,
    /// All VAT of the sale, rounded once.
    pub tax: Vat,
    /// What it was converted by: units of each currency for one euro, and of which day. The euro itself has
    /// none.
    pub rates: Vec<(Currency, ReferenceRate, NaiveDate)>,
}

/// Why it is not known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoNationalVat {
    /// The country has no currency of its own, as far as is known here.
    #[error("the currency in which VAT of {country} is declared is not known")]
    Currency {
        /// The seller's country.
        country: Country,
    },
    /// The edition has no rate.
    #[error(
        "VAT has to be said in {to} too (Directive 2006/112/EC Art. 230), and edition {edition} has no rate of \
         {lacking} of {on} or before; expected one in currency_rates.csv"
    )]
    Rate {
        /// The currency of the seller's country.
        to: Currency,
        /// The currency without a rate.
        lacking: Currency,
        /// The edition.
        edition: String,
        /// The day.
        on: NaiveDate,
    },
    /// An amount beyond its bounds.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

/// The VAT of a sale of that quote in the currency of the seller's country, where it is in another; nothing
/// where no VAT is charged.
///
/// `edition` is the one that has priced the quote.
///
/// # Errors
/// [`NoNationalVat`] where the currency of the country or a rate is not known.
pub fn national_vat(
    quote: &Quote,
    sale: &Sale,
    edition: &Edition,
) -> Result<Option<NationalVat>, NoNationalVat> {
    let charged = sale.vat.iter().any(|group| group.category == VatCategory::S);
    let tax = Vat::sum(sale.vat.iter().map(|group| group.tax))?;
    let sellers = std::iter::once(&quote.workshop).chain(&quote.route);
    let seller = sellers.into_iter().find(|party| party.code == sale.seller);
    let Some(seller) = seller.filter(|_| charged && tax != Vat::ZERO) else { return Ok(None) };
    let (country, on) = (seller.country, quote.received);
    let to = national_currency(country, quote.tax_date).ok_or(NoNationalVat::Currency { country })?;
    if to == quote.currency {
        return Ok(None);
    }
    let conversion = Conversion::between(edition, quote.currency, to, on)
        .map_err(|lacking| NoNationalVat::Rate { to, lacking, edition: edition.code().to_string(), on })?;
    let rate = |(currency, rate): (Currency, Option<(NaiveDate, ReferenceRate)>)| {
        rate.map(|(day, rate)| (currency, rate, day))
    };
    let rates = [(conversion.from, conversion.from_rate), (conversion.to, conversion.to_rate)];
    let rates = rates.into_iter().filter_map(rate).collect();
    Ok(Some(NationalVat { currency: to, tax: convert(Some(&conversion), tax)?, rates }))
}
