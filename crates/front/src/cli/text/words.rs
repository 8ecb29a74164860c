//! Names of things in words for people.

use std::fmt::Display;

use evenfare_engine::category::Category;
use evenfare_engine::country::Country;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::tariff::Party;
use evenfare_engine::view::{OfferView, Reader, VatView};
use evenfare_engine::why::{Because, When, Why};
use evenfare_paper::words::Words;

use super::money::SPACE;

/// What a line is for, in the plural.
pub(in crate::cli) const fn category(category: Category) -> &'static str {
    match category {
        Category::Part => "parts",
        Category::Labour => "labour",
        Category::Test => "tests",
        Category::Courier => "courier",
        Category::Flat => "flat prices",
        Category::Exchange => "exchange unit",
        Category::Inspection => "inspection",
        Category::Surcharge => "surcharges",
        Category::Minimum => "minimum charge",
        Category::Ending => "price ending",
    }
}

/// What is done with a unit.
pub(in crate::cli) const fn task(task: Task) -> &'static str {
    match task {
        Task::Refresh => "refresh",
        Task::Exchange => "exchange unit",
        Task::Decline => "declined, goes back as it came",
    }
}

/// The partners of a route: `P-1 → P-2`, or `direct`.
pub(in crate::cli) fn route<T: AsRef<str>>(partners: impl IntoIterator<Item = T>) -> String {
    let codes: Vec<T> = partners.into_iter().collect();
    let codes: Vec<&str> = codes.iter().map(AsRef::as_ref).collect();
    if codes.is_empty() { String::from("direct") } else { codes.join(" → ") }
}

/// Street, town and country, and the VAT identifier.
pub(in crate::cli) fn address(party: &Party) -> String {
    let town = format!("{} {}", party.postcode, party.city);
    let parts = [party.street.as_str(), town.trim(), party.country.name()];
    let mut text = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    if let Some(identifier) = &party.vat_id {
        text.push_str(&format!(", VAT{SPACE}{}", identifier.replace(' ', "\u{A0}")));
    }
    text
}

/// Category and rate of a VAT group, or why none is charged.
pub(in crate::cli) fn vat(group: &VatView) -> String {
    let code = group.category.code();
    match (group.reason, &group.rate) {
        (Some(reason), _) => format!("{code} {reason}"),
        (None, Some(rate)) => format!("{code} {rate}{SPACE}%"),
        (None, None) => code.to_owned(),
    }
}

/// What to call the VAT of the end price: by the rules that are known, or only perhaps.
pub(in crate::cli) fn vat_due(country: Country) -> &'static str {
    if is_vat_known(country) { "VAT due" } else { "VAT if taxable" }
}

/// Is it known what is taxable there: in the Union, and where repair for a business is taxed as in it?
pub(in crate::cli) fn is_vat_known(country: Country) -> bool {
    country.is_eu() || [Country::CH, Country::GB, Country::NO].contains(&country)
}

/// What somebody should know of an offer, in the words that documents have for who reads it; with what the plan
/// says of its cause.
pub(in crate::cli) fn flag(flag: Flag, offer: &OfferView, reader: &Reader) -> String {
    let whys = offer.units.iter().flat_map(|unit| &unit.plan).map(|step| &step.why);
    let missing = if flag == Flag::WearUnknown { not_known(whys) } else { None };
    missing.map_or_else(
        || Words::of(Language::English).flag(flag, reader.into(), &offer.sales),
        |missing| format!("Parts count as worn: {missing} not known."),
    )
}

/// What is not known of a unit, as far as the reasons of its plan tell.
fn not_known<'a>(whys: impl Iterator<Item = &'a Why>) -> Option<String> {
    const ANY: &str = "cycles, hours or date of building";
    let missing = whys.flat_map(Why::reasons).filter_map(|because| match because {
        Because::Refresh { when, is_known: false } => Some(match when {
            When::Cycles(_) => "cycles",
            When::Years(_) => "date of building",
            When::Always | When::Wear { .. } => ANY,
        }),
        _ => None,
    });
    let mut missing: Vec<&str> = missing.collect();
    missing.sort_unstable();
    missing.dedup();
    match missing.as_slice() {
        [] => None,
        some if some.contains(&ANY) => Some(String::from(ANY)),
        some => Some(some.join(" and ")),
    }
}

/// A number and what is counted: `1 warning`, `2 warnings`.
pub(in crate::cli) fn count(number: usize, word: &str) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {word}{plural}")
}

/// A path, or whatever else it is, as a shell takes it for one word.
pub(in crate::cli) fn in_a_shell(word: &dyn Display) -> String {
    let text = word.to_string();
    let is_plain = |c: char| c.is_alphanumeric() || "/._-:".contains(c);
    if text.chars().all(is_plain) { text } else { format!("'{}'", text.replace('\'', "'\\''")) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_path_is_one_word() {
        let check = |path: &str, expected: &str| assert_eq!(in_a_shell(&path), expected);
        check("a/b-1.toml", "a/b-1.toml");
        check("my world", "'my world'");
        check("it's", "'it'\\''s'");
    }

    #[test]
    fn what_is_missing_is_named() {
        let check = |whys: &[&str], expected: Option<&str>| {
            let whys: Vec<Why> = whys.iter().map(|why| why.parse().unwrap()).collect();
            assert_eq!(not_known(whys.iter()).as_deref(), expected, "{whys:?}");
        };
        let unknown = |due: &str| format!("refresh, {due}; not known, so taken for due");
        let (cycles, years, wear) = (
            unknown("from 400000 cycles"),
            unknown("from 8 years"),
            unknown("from 50 % of its life used (W-REL)"),
        );
        check(&["finding X at K1; refresh, always"], None);
        check(&["refresh, always", &cycles], Some("cycles"));
        check(
            &[&format!("finding X; {cycles}; {years}; test of the family")],
            Some("cycles and date of building"),
        );
        check(&[&cycles, &wear], Some("cycles, hours or date of building"));
    }
}
