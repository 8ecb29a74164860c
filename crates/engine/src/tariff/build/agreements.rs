//! Dated agreements with partners.

use std::collections::BTreeMap;

use super::tools::Check;
use crate::problem::Place;
use crate::tariff::entries::Agreement;
use crate::tariff::rows::{AgreementRow, Tariff};
use crate::text::Code;

/// The agreements of each partner, whole.
pub(super) fn by_partner<'t>(tariff: &'t Tariff, check: &mut Check) -> BTreeMap<&'t Code, Vec<Agreement>> {
    let sorted = check.sorted("agreements", &tariff.agreements, |row| &row.code);
    let mut built: BTreeMap<&Code, Agreement> = BTreeMap::new();
    for (place, row) in &sorted {
        check.span(place, row.span);
        if !tariff.partners.iter().any(|partner| partner.code == row.partner) {
            let partners = tariff.partners.iter().map(|partner| &partner.code);
            check.unknown(place.at("partner"), "unknown_partner", &row.partner, partners, "partners.csv");
        }
        dates(place, row, &sorted, tariff, check);
        let (code, span, under_floor) = (row.code.clone(), row.span, row.under_floor);
        let agreement = Agreement { code, span, under_floor, discounts: Vec::new(), credits: Vec::new() };
        built.insert(&row.code, agreement);
    }
    for (index, row) in tariff.discounts.iter().enumerate() {
        let place = Place::row("discounts", index);
        check.at_most(place.at("percent"), row.percent, 100);
        let Some(agreement) = agreement(&place, &row.agreement, &mut built, check) else { continue };
        if agreement.discounts.iter().any(|&(category, _)| category == row.category) {
            let expected = "each category once for an agreement";
            check.error(place.at("category"), "given_twice", row.category, expected);
        } else {
            agreement.discounts.push((row.category, row.percent));
        }
    }
    for (index, row) in tariff.credits.iter().enumerate() {
        let place = Place::row("credits", index);
        let amount = check.minor(place.at("amount"), row.amount);
        let Some(agreement) = agreement(&place, &row.agreement, &mut built, check) else { continue };
        if agreement.credits.iter().any(|&(work, _)| work == row.work) {
            check.error(place.at("work"), "given_twice", row.work, "each work once for an agreement");
        } else {
            agreement.credits.push((row.work, amount));
        }
    }
    let mut of_partners: BTreeMap<&Code, Vec<Agreement>> = BTreeMap::new();
    for (place, row) in sorted {
        let Some(mut agreement) = built.remove(&row.code) else { continue };
        if agreement.discounts.is_empty() && agreement.credits.is_empty() {
            let expected = "a row in discounts.csv or credits.csv; the partner keeps nothing";
            check.warning(place.at("code"), "agreement_without_terms", &row.code, expected);
        }
        agreement.discounts.sort();
        agreement.credits.sort();
        of_partners.entry(&row.partner).or_default().push(agreement);
    }
    of_partners
}

fn agreement<'b>(
    place: &Place,
    code: &Code,
    built: &'b mut BTreeMap<&Code, Agreement>,
    check: &mut Check,
) -> Option<&'b mut Agreement> {
    if !built.contains_key(code) {
        let known = built.keys().copied();
        check.unknown(place.at("agreement"), "unknown_agreement", code, known, "agreements.csv");
    }
    built.get_mut(code)
}

/// Two agreements with one partner never hold on the same day; days between them are worth a look.
fn dates(
    place: &Place,
    row: &AgreementRow,
    all: &[(Place, &AgreementRow)],
    tariff: &Tariff,
    check: &mut Check,
) {
    // One that ends before it begins is reported already.
    if !row.span.is_in_order() {
        return;
    }
    let beside = |o: &&AgreementRow| o.partner == row.partner && o.code != row.code && o.span.is_in_order();
    let others = || all.iter().map(|(_, other)| *other).filter(beside);
    let earlier = |o: &&AgreementRow| (o.span.from, &o.code) < (row.span.from, &row.code);
    if let Some(before) = others().filter(earlier).max_by_key(|o| o.span.from) {
        check.follows(place, row.span, before.span, format_args!("agreement {}", before.code));
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
