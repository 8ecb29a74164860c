//! VAT: the breakdown of a sale, and the category of a line.

use evenfare_engine::money::Overflow;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{SaleView, VatView};

use super::element::{Element, all, text};
use super::money::Money;
use super::refused::NotWritable;

/// The code of the reason why no VAT is charged (the CEF list VATEX).
fn reason_code(category: VatCategory) -> Option<&'static str> {
    match category {
        VatCategory::S => None,
        VatCategory::AE => Some("VATEX-EU-AE"),
        VatCategory::K => Some("VATEX-EU-IC"),
        VatCategory::G => Some("VATEX-EU-G"),
        VatCategory::O => Some("VATEX-EU-O"),
    }
}

fn scheme() -> Element {
    all("cac:TaxScheme", [text("cbc:ID", "VAT")])
}

/// A category and its rate.
fn category(name: &'static str, group: &VatView) -> Element {
    let rate = group.rate.as_ref().map(|rate| text("cbc:Percent", rate));
    all(name, [text("cbc:ID", group.category.code())]).and(rate)
}

/// That of a line (BG-30).
pub(super) fn of_line(group: &VatView) -> Element {
    category("cac:ClassifiedTaxCategory", group).and([scheme()])
}

/// The VAT of a sale, and each group of it (BG-23).
pub(super) fn breakdown(sale: &SaleView, money: Money) -> Result<Element, NotWritable> {
    let tax = sale.gross_minor.checked_sub(sale.net_minor).ok_or(Overflow)?;
    let groups = sale.vat.iter().map(|group| {
        let code = reason_code(group.category).map(|code| text("cbc:TaxExemptionReasonCode", code));
        let reason = group.reason.map(|reason| text("cbc:TaxExemptionReason", reason));
        Ok(all(
            "cac:TaxSubtotal",
            [
                money.amount("cbc:TaxableAmount", group.base_minor)?,
                money.amount("cbc:TaxAmount", group.tax_minor)?,
                category("cac:TaxCategory", group).and(code).and(reason).and([scheme()]),
            ],
        ))
    });
    let groups = groups.collect::<Result<Vec<_>, NotWritable>>()?;
    Ok(all("cac:TaxTotal", [money.amount("cbc:TaxAmount", tax)?]).and(groups))
}

/// The sums of a sale (BG-22): of its lines, without VAT, with it, and what is to be paid.
pub(super) fn totals(name: &'static str, sale: &SaleView, money: Money) -> Result<Element, NotWritable> {
    Ok(all(
        name,
        [
            money.amount("cbc:LineExtensionAmount", sale.net_minor)?,
            money.amount("cbc:TaxExclusiveAmount", sale.net_minor)?,
            money.amount("cbc:TaxInclusiveAmount", sale.gross_minor)?,
            money.amount("cbc:PayableAmount", sale.gross_minor)?,
        ],
    ))
}
