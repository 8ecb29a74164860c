//! The lines of a sale.

use evenfare_engine::category::PartUnit;
use evenfare_engine::job::Task;
use evenfare_engine::money::Quantity;
use evenfare_engine::view::{LineView, SaleLineView, UnitView, VatView};

use super::element::{Element, all, text};
use super::money::Money;
use super::refused::NotWritable;
use super::tax;
use crate::invoice::Sold;

/// A line, as both standards see it.
pub(super) struct Line<'a> {
    /// Counted from 1.
    pub(super) number: usize,
    line: &'a LineView,
    sold: &'a SaleLineView,
    vat: &'a VatView,
    /// The unit that it is about, where it is about one.
    pub(super) unit: Option<&'a UnitView>,
}

/// The lines of a sale, each with its VAT.
pub(super) fn lines<'a>(sold: &Sold<'a>) -> Result<Vec<Line<'a>>, NotWritable> {
    let Sold { view, offer, sale, .. } = sold;
    let groups = view.groups_of_lines(offer, sale).ok_or(NotWritable::LinesWithoutVat)?;
    let all = (1_usize..).zip(&offer.end.lines).zip(&sale.lines).zip(groups);
    let lines: Vec<_> = all
        .map(|(((number, line), sold), vat)| Line { number, line, sold, vat, unit: offer.unit_of(&line.id) })
        .collect();
    if lines.is_empty() { Err(NotWritable::NoLines) } else { Ok(lines) }
}

impl Line<'_> {
    /// The quantity (as that element), the net, and the price: the net is the price of the whole quantity.
    pub(super) fn figures(&self, quantity: &'static str, money: Money) -> Result<[Element; 3], NotWritable> {
        let (amount, unit) = counted(&self.line.quantity);
        let (price, is_negative) = money.magnitude("cbc:PriceAmount", self.sold.net_minor)?;
        let sign = if is_negative { "-" } else { "" };
        Ok([
            text(quantity, format_args!("{sign}{amount}")).with("unitCode", unit),
            money.amount("cbc:LineExtensionAmount", self.sold.net_minor)?,
            all("cac:Price", [price, text("cbc:BaseQuantity", amount).with("unitCode", unit)]),
        ])
    }

    /// What it is for, its own name, its VAT, and, before that, the unit in words.
    pub(super) fn item(&self) -> Element {
        let name = Some(self.line.text.trim()).filter(|text| !text.is_empty()).unwrap_or(&self.line.id);
        let unit = self.unit.map(|unit| {
            // Another unit is supplied than the one that came in, and only that one's serial number is known.
            let (kind, serial) = match unit.task {
                Task::Exchange => ("exchange unit", "in exchange for "),
                Task::Refresh | Task::Decline => ("", ""),
            };
            let serial = [serial, unit.serial.as_str()].concat();
            let serial = if unit.serial.as_str().trim().is_empty() { "" } else { &serial };
            let parts = [unit.id.as_str(), kind, unit.family_text.as_str(), serial];
            let said: Vec<&str> = parts.into_iter().filter(|part| !part.trim().is_empty()).collect();
            text("cbc:Description", said.join(", "))
        });
        all("cac:Item", []).and(unit).and([
            text("cbc:Name", name),
            all("cac:SellersItemIdentification", [text("cbc:ID", &self.line.id)]),
            tax::of_line(self.vat),
        ])
    }
}

/// A quantity as the quote says it, with its unit by UN/ECE Recommendation 20; one where it says none.
fn counted(quantity: &str) -> (&str, &'static str) {
    const ONE: (&str, &str) = ("1", "C62");
    let Some((amount, unit)) = quantity.split_once(' ') else { return ONE };
    let code = match unit {
        "min" => "MIN",
        "h" => "HUR",
        unit => match unit.parse() {
            Ok(PartUnit::Piece) => "H87",
            Ok(PartUnit::Set) => "SET",
            Ok(PartUnit::Metre) => "MTR",
            Ok(PartUnit::Centimetre) => "CMT",
            Ok(PartUnit::Millilitre) => "MLT",
            Ok(PartUnit::Gram) => "GRM",
            Err(_) => return ONE,
        },
    };
    // Nothing of a thing has no price.
    let is_some = amount.parse::<Quantity>().is_ok_and(|amount| !amount.is_zero());
    if is_some { (amount, code) } else { ONE }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_have_units_of_recommendation_20() {
        assert_eq!(counted("104 min"), ("104", "MIN"));
        assert_eq!(counted("7.5 min"), ("7.5", "MIN"));
        assert_eq!(counted("36 h"), ("36", "HUR"));
        assert_eq!(counted("4 pc"), ("4", "H87"));
        assert_eq!(counted("25.5 ml"), ("25.5", "MLT"));
        assert_eq!(counted(""), ("1", "C62"));
        assert_eq!(counted("0 min"), ("1", "C62"));
        assert_eq!(counted("3 barrels"), ("1", "C62"));
    }
}
