//! The workshop, its partners, and their agreements.

use std::collections::BTreeMap;

use super::tools::Check;
use crate::country::Country;
use crate::problem::Place;
use crate::tariff::edition::LONGEST_ROUTE;
use crate::tariff::entries::{Agreement, Partner, Party, Table, VatRate};
use crate::tariff::rows::{AgreementRow, PartnerRow, Tariff, WorkshopRow};
use crate::text::{Code, Text};
use crate::vat::identifier::VatIdentifier;

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
    })
}

fn vat_id(at: &Place, country: Country, given: Option<&Text>, check: &mut Check) -> Option<String> {
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
        Ok(identifier) if identifier.country() == country => Some(identifier.as_str().to_owned()),
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
            check.error(at.at("vat_id"), "invalid_vat_id", given.as_str(), error);
            None
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
    let mut agreements = agreements(tariff, check);
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
        let mut own: Vec<Agreement> = Vec::new();
        for (partner, agreement) in &mut agreements {
            if **partner == row.code {
                own.extend(agreement.take());
            }
        }
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
        check.error(place.at("buys_from"), "unknown_partner", first, "a code of partners.csv");
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

fn agreements<'t>(tariff: &'t Tariff, check: &mut Check) -> Vec<(&'t Code, Option<Agreement>)> {
    let mut built: Vec<(&Code, Option<Agreement>)> = Vec::with_capacity(tariff.agreements.len());
    let sorted = check.sorted("agreements", &tariff.agreements, |row| &row.code);
    for (place, row) in &sorted {
        if row.span.until.is_some_and(|until| until < row.span.from) {
            check.error(
                place.at("until"),
                "ends_before_it_begins",
                row.span.until,
                "a day not before `from`",
            );
        }
        if !tariff.partners.iter().any(|partner| partner.code == row.partner) {
            check.error(place.at("partner"), "unknown_partner", &row.partner, "a code of partners.csv");
        }
        dates(place, row, &sorted, tariff, check);
        built.push((
            &row.partner,
            Some(Agreement {
                code: row.code.clone(),
                span: row.span,
                under_floor: row.under_floor,
                discounts: Vec::new(),
                credits: Vec::new(),
            }),
        ));
    }
    let find = |built: &mut Vec<(&'t Code, Option<Agreement>)>, code: &Code| {
        built.iter().position(|(_, agreement)| agreement.as_ref().is_some_and(|a| a.code == *code))
    };
    for (index, row) in tariff.discounts.iter().enumerate() {
        let place = Place::row("discounts", index);
        check.at_most(place.at("percent"), row.percent, 100);
        let Some(at) = find(&mut built, &row.agreement) else {
            check.error(
                place.at("agreement"),
                "unknown_agreement",
                &row.agreement,
                "a code of agreements.csv",
            );
            continue;
        };
        let Some((_, Some(agreement))) = built.get_mut(at) else { continue };
        if agreement.discounts.iter().any(|&(category, _)| category == row.category) {
            check.error(
                place.at("category"),
                "given_twice",
                row.category,
                "each category once for an agreement",
            );
        } else {
            agreement.discounts.push((row.category, row.percent));
        }
    }
    for (index, row) in tariff.credits.iter().enumerate() {
        let place = Place::row("credits", index);
        let amount = check.minor(place.at("amount"), row.amount);
        let Some(at) = find(&mut built, &row.agreement) else {
            check.error(
                place.at("agreement"),
                "unknown_agreement",
                &row.agreement,
                "a code of agreements.csv",
            );
            continue;
        };
        let Some((_, Some(agreement))) = built.get_mut(at) else { continue };
        if agreement.credits.iter().any(|&(work, _)| work == row.work) {
            check.error(place.at("work"), "given_twice", row.work, "each work once for an agreement");
        } else {
            agreement.credits.push((row.work, amount));
        }
    }
    for (_, agreement) in &mut built {
        if let Some(agreement) = agreement {
            agreement.discounts.sort();
            agreement.credits.sort();
        }
    }
    built
}

/// Two agreements with one partner never hold on the same day; days between them are worth a look.
fn dates(
    place: &Place,
    row: &AgreementRow,
    all: &[(Place, &AgreementRow)],
    tariff: &Tariff,
    check: &mut Check,
) {
    let others =
        || all.iter().map(|(_, other)| *other).filter(|o| o.partner == row.partner && o.code != row.code);
    let earlier = |o: &&AgreementRow| (o.span.from, &o.code) < (row.span.from, &row.code);
    if let Some(before) = others().filter(earlier).max_by_key(|o| o.span.from) {
        if before.span.overlaps(&row.span) {
            check.error(
                place.at("from"),
                "overlapping_dates",
                row.span.from,
                format_args!("a day after agreement {} has ended", before.code),
            );
        } else if !before.span.is_followed_by(&row.span) {
            check.warning(
                place.at("from"),
                "gap_in_dates",
                row.span.from,
                format_args!("the day after agreement {} has ended", before.code),
            );
        }
    } else if row.span.from > tariff.span.from {
        check.warning(
            place.at("from"),
            "gap_in_dates",
            row.span.from,
            "the first day of the edition; no agreement holds before",
        );
    }
    let later = others().any(|o| (o.span.from, &o.code) > (row.span.from, &row.code));
    let ends_early = row.span.until.is_some_and(|until| tariff.span.until.is_none_or(|last| until < last));
    if !later && ends_early {
        check.warning(
            place.at("until"),
            "gap_in_dates",
            row.span.until,
            "the last day of the edition; no agreement holds after",
        );
    }
}
