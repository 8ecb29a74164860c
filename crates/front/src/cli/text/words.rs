//! Names of things in words for people.

use evenfare_engine::category::Category;
use evenfare_engine::job::Task;
use evenfare_engine::period::Span;
use evenfare_engine::tariff::Party;
use evenfare_engine::text::Code;
use evenfare_engine::view::VatView;

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
pub(in crate::cli) fn route<'a>(partners: impl IntoIterator<Item = &'a Code>) -> String {
    let codes: Vec<&str> = partners.into_iter().map(Code::as_str).collect();
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
    match (group.reason, &group.rate) {
        (Some(reason), _) => format!("{} {reason}", group.category),
        (None, Some(rate)) => format!("{} {rate}{SPACE}%", group.category),
        (None, None) => group.category.to_owned(),
    }
}

/// The days of an edition.
pub(in crate::cli) fn span(span: Span) -> String {
    match span.until {
        Some(until) => format!("{} to {until}", span.from),
        None => format!("from {}", span.from),
    }
}

/// A number and what is counted: `1 warning`, `2 warnings`.
pub(in crate::cli) fn count(number: usize, word: &str) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {word}{plural}")
}
