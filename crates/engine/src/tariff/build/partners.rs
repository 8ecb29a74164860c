//! The workshop and its partners.

use std::collections::BTreeMap;

use compact_str::CompactString;

use super::agreements;
use super::tools::Check;
use crate::country::Country;
use crate::problem::Place;
use crate::tariff::edition::LONGEST_ROUTE;
use crate::tariff::entries::{Partner, Party, Table, VatRate};
use crate::tariff::rows::{PartnerRow, Tariff, WorkshopRow};
use crate::text::{Code, Text};
use crate::vat::identifier::{VatIdentifier, are_read_of, comparable};

/// Codes that stand for the two ends of every route.
pub(super) const RESERVED: [&str; 2] = ["workshop", "customer"];

pub(super) fn workshop(row: &WorkshopRow, vat_rates: &[VatRate], check: &mut Check) -> Option<Party> {
    let at = Place::field("workshop");
    let vat_id = vat_id(&at, row.country, row.vat_id.as_ref(), check);
    needs_rate(&at, row.country, vat_rates, check);
    Some(Party {
        code: "workshop".parse().ok()?,
        name: row.name.clone(),
        street: row.street.clone(),
        postcode: row.postcode.clone(),
        city: row.city.clone(),
        country: row.country,
        vat_id,
        language: None,
    })
}

fn vat_id(at: &Place, country: Country, given: Option<&Text>, check: &mut Check) -> Option<CompactString> {
    let Some(given) = given else {
        if country.is_eu() {
            check.error(
                at.at("vat_id"),
                "missing_vat_id",
                "",
                "a VAT identifier, needed in the European Union",
            );
        }
        return None;
    };
    match VatIdentifier::parse(given.as_str()) {
        Ok(identifier) if identifier.country() == country => Some(identifier.as_str().into()),
        Ok(_) => {
            check.error(
                at.at("vat_id"),
                "vat_id_of_another_country",
                given.as_str(),
                format_args!("an identifier of {country}"),
            );
            None
        }
        Err(error) => {
            // Elsewhere in the world they follow rules that are not checked.
            let unchecked = comparable(given.as_str()).filter(|_| !are_read_of(country));
            if unchecked.is_none() {
                check.error(at.at("vat_id"), "invalid_vat_id", given.as_str(), error);
            }
            unchecked.map(Into::into)
        }
    }
}

fn needs_rate(at: &Place, country: Country, vat_rates: &[VatRate], check: &mut Check) {
    if !vat_rates.iter().any(|rate| rate.country == country) {
        check.error(at.at("country"), "no_vat_rate", country, "a country with a row in vat_rates.csv");
    }
}

pub(super) fn partners(tariff: &Tariff, vat_rates: &[VatRate], check: &mut Check) -> Table<Partner> {
    let buys_from = tariff.partners.iter().map(|row| (&row.code, row.buys_from.as_ref())).collect();
    let mut agreements = agreements::by_partner(tariff, check);
    let sorted = check.sorted("partners", &tariff.partners, |row| &row.code);
    let mut partners = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        if RESERVED.contains(&row.code.as_str()) {
            check.error(
                place.at("code"),
                "reserved_code",
                &row.code,
                "a code other than `workshop` and `customer`",
            );
        }
        let vat_id = vat_id(&place, row.country, row.vat_id.as_ref(), check);
        needs_rate(&place, row.country, vat_rates, check);
        above(&place, row, &buys_from, check);
        let mut own = agreements.remove(&row.code).unwrap_or_default();
        own.sort_by_key(|agreement| agreement.span);
        if own.is_empty() {
            check.warning(
                place.at("code"),
                "partner_without_agreement",
                &row.code,
                "a row in agreements.csv; no route through him can be priced",
            );
        }
        partners.push(Partner {
            party: Party {
                code: row.code.clone(),
                name: row.name.clone(),
                street: row.street.clone(),
                postcode: row.postcode.clone(),
                city: row.city.clone(),
                country: row.country,
                vat_id,
                language: row.language,
            },
            buys_from: row.buys_from.clone(),
            agreements: own,
        });
    }
    Table::from_sorted(partners)
}

/// Whom he buys from is known, and the chain ends at the workshop before it is too long.
fn above(place: &Place, row: &PartnerRow, buys_from: &BTreeMap<&Code, Option<&Code>>, check: &mut Check) {
    let Some(first) = row.buys_from.as_ref() else { return };
    if !buys_from.contains_key(first) {
        let known = buys_from.keys().copied();
        check.unknown(place.at("buys_from"), "unknown_partner", first, known, "partners.csv");
        return;
    }
    let mut above = Some(first);
    for _ in 1..LONGEST_ROUTE {
        let Some(code) = above else { return };
        if *code == row.code {
            check.error(
                place.at("buys_from"),
                "partners_in_a_circle",
                first,
                "a chain that ends at the workshop",
            );
            return;
        }
        above = buys_from.get(code).copied().flatten();
    }
    if above.is_some() {
        let expected = format!("a chain of at most {LONGEST_ROUTE} partners that ends at the workshop");
        check.error(place.at("buys_from"), "chain_too_long", first, expected);
    }
}
