//! From a tariff as written to a checked edition, reporting every mistake at once.

mod tools;
mod bench;
mod wear;
mod findings;
mod families;
mod courier;
mod rates;
mod agreements;
mod partners;
mod unused;

use tools::Check;

use super::edition::{Edition, Inspection, PriceRules, has_errors};
use super::rows::{EndingDirection, PriceRow, Tariff};
use crate::category::Category;
use crate::problem::{Place, Problem};

pub(super) fn edition(tariff: Tariff) -> Result<Edition, Vec<Problem>> {
    let mut check = Check::new(tariff.currency);

    check.span(&Place::field("edition"), tariff.span);
    let price = price_rules(&tariff.price, &tariff.markups, &mut check);
    let grades = bench::grades(&tariff.grades, &mut check);
    let parts = bench::parts(&tariff.parts, &tariff.price_breaks, &grades, &mut check);
    let operations = bench::operations(&tariff.operations, &grades, &mut check);
    let tests = bench::tests(&tariff.tests, &grades, &mut check);
    let catalogue = findings::Catalogue { parts: &parts, operations: &operations, tests: &tests };
    let findings = findings::findings(&tariff.findings, &tariff.finding_steps, &catalogue, &mut check);
    let wear = wear::wear(&tariff.wear, &mut check);
    let refresh = findings::refresh_lists(&tariff.refresh, &wear, &catalogue, &mut check);
    let families = families::families(&tariff, &tests, &refresh, &mut check);

    let zones = courier::zones(&tariff.zones, &tariff.courier_rates, &mut check);
    courier::rules(&tariff.courier, &mut check);
    let extras = courier::extras(&tariff.extras, &mut check);

    let vat_rates = rates::vat_rates(&tariff.vat_rates, tariff.span, &mut check);
    let currency_rates = rates::currency_rates(&tariff.currency_rates, tariff.currency, &mut check);
    let workshop = partners::workshop(&tariff.workshop, &vat_rates, &mut check);
    let partners = partners::partners(&tariff, &vat_rates, &mut check);

    let at = Place::field("inspection");
    let fee = check.minor(at.at("fee"), tariff.inspection.fee);
    bench::minutes(&mut check, at.at("minutes"), tariff.inspection.minutes);
    let inspection_grade =
        check.reference(at.at("grade"), "unknown_grade", &tariff.inspection.grade, &grades, "grades.csv");
    let at = Place::field("terms");
    check.days(at.at("validity_days"), tariff.terms.validity_days);
    check.days(at.at("turnaround_days"), tariff.terms.turnaround_days);
    check.months(at.at("warranty_months"), tariff.terms.warranty_months);
    unused::unused(&tariff, &mut check);

    let mut problems = check.into_problems();
    problems.sort();
    match (inspection_grade, workshop) {
        (Some(grade), Some(workshop)) if !has_errors(&problems) => Ok(Edition {
            code: tariff.edition,
            span: tariff.span,
            currency: tariff.currency,
            workshop,
            price,
            courier: tariff.courier,
            inspection: Inspection { fee, minutes: tariff.inspection.minutes, grade },
            terms: tariff.terms,
            parts,
            findings,
            families,
            zones,
            extras,
            partners,
            vat_rates,
            currency_rates,
            warnings: problems,
        }),
        _ => Err(problems),
    }
}

fn price_rules(row: &PriceRow, markups: &[super::rows::MarkupRow], check: &mut Check) -> PriceRules {
    const MARKED_UP: [Category; 4] = [Category::Part, Category::Labour, Category::Test, Category::Courier];
    let at = Place::field("price");
    let minimum_charge = check.minor(at.at("minimum_charge"), row.minimum_charge);
    let ending_to = check.minor(at.at("ending_to"), row.ending_to);
    let minimum_contribution = check.minor(at.at("minimum_contribution"), row.minimum_contribution);
    let beside = minimum_charge.minor().checked_rem(ending_to.minor()).unwrap_or(0) != 0;
    if beside && row.ending_direction != EndingDirection::Up {
        check.warning(
            at.at("minimum_charge"),
            "minimum_beside_the_ending",
            row.minimum_charge,
            format_args!(
                "a multiple of the ending {}; the ending can take a job below its minimum",
                row.ending_to
            ),
        );
    }
    check.at_most(at.at("minimum_contribution_percent"), row.minimum_contribution_percent, 100);
    for &category in &row.flat_covers {
        if !matches!(category, Category::Part | Category::Labour | Category::Test | Category::Courier) {
            check.error(
                at.at("flat_covers"),
                "not_covered_by_flat",
                category,
                "part, labour, test or courier",
            );
        }
    }
    let mut list: Vec<_> = Vec::new();
    for (index, markup) in markups.iter().enumerate() {
        let at = Place::field("markup").at(markup.category.word());
        if !MARKED_UP.contains(&markup.category) {
            check.error(at, "no_markup_here", markup.category, "part, labour, test or courier");
        } else if markups.iter().take(index).any(|m| m.category == markup.category) {
            check.error(at, "given_twice", markup.category, "each category once");
        }
        list.push((markup.category, markup.percent));
    }
    for category in MARKED_UP {
        if !markups.iter().any(|m| m.category == category) {
            check.error(
                Place::field("markup"),
                "missing_markup",
                "",
                format_args!("a percentage for {category}"),
            );
        }
    }
    list.sort();
    let mut flat_covers = row.flat_covers.clone();
    flat_covers.sort();
    flat_covers.dedup();
    PriceRules {
        minimum_charge,
        ending_to,
        ending_direction: row.ending_direction,
        minimum_contribution,
        minimum_contribution_percent: row.minimum_contribution_percent,
        uneconomic_percent: row.uneconomic_percent,
        flat_covers,
        energy_per_kwh: row.energy_per_kwh,
        markups: list,
    }
}
