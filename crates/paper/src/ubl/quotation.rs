//! UBL 2.1 Quotation.

use evenfare_engine::language::Language;
use evenfare_engine::terms::Warranty;
use evenfare_engine::text::Code;

use super::element::{Element, all, text};
use super::line::{Line, lines};
use super::money::Money;
use super::party::{Named, address, party};
use super::refused::NotWritable;
use super::tax;
use crate::invoice::Sold;
use crate::state::State;
use crate::words::Words;

/// A quotation: a sale, the number that the quote is kept under, and whether it stands.
///
/// To the end customer it is the last sale of the route, whoever the seller is; to a partner it is the
/// sale by which he buys.
#[derive(Debug, Clone, Copy)]
pub struct Quotation<'a> {
    /// What is offered, by whom and to whom.
    pub sold: Sold<'a>,
    /// The number of the quote; nothing where it was not issued.
    pub number: Option<&'a Code>,
    /// What became of it.
    pub state: State,
}

/// One offer of a quote as UBL 2.1 Quotation. One that cannot be accepted, for it was not issued or no longer
/// stands, says so in its first note; a draft goes by the reference of its job.
///
/// # Errors
/// [`NotWritable::Reversal`] where nothing is offered.
pub fn quotation(quotation: &Quotation<'_>) -> Result<Vec<u8>, NotWritable> {
    let Quotation { sold, number, state } = quotation;
    let Sold { view, offer, sale, seller, buyer } = sold;
    if view.reversal {
        return Err(NotWritable::Reversal);
    }
    let mark = match (state, number) {
        (State::Superseded, _) => Some("superseded"),
        (State::Reversed, _) => Some("taken-back"),
        (State::InForce, None) => Some("draft"),
        (State::InForce, Some(_)) => None,
    };
    // Notes are in English, as all that stands in a file for programs.
    let mark = mark.map(|id| text("cbc:Note", Words::of(Language::English).say(id)));
    let basis = match number {
        Some(_) => format!("Revision {}, priced by tariff edition {}.", view.revision, view.edition),
        None => format!("Priced by tariff edition {}.", view.edition),
    };
    let number = number.unwrap_or(&view.reference);
    let money = Money::of(&view.currency)?;
    let lines = lines(sold)?;
    let is_main = offer.offer == view.main.offer;
    let id = if is_main { number.to_string() } else { format!("{number}/{}", offer.offer) };
    let others = view.alternatives.len();
    let choice = (others > 0).then(|| {
        let all = others.saturating_add(1);
        text(
            "cbc:Note",
            format_args!(
                "This is offer {} of quote {number}, one of {all}; one of them is accepted.",
                offer.offer
            ),
        )
    });
    let described =
        Some(offer.text.trim()).filter(|said| !said.is_empty()).map(|said| text("cbc:Note", said));
    let warranties =
        offer.units.iter().filter_map(|unit| unit.warranty.as_ref().map(|term| (&unit.id, term)));
    let document = all(
        "Quotation",
        [text("cbc:UBLVersionID", "2.1"), text("cbc:ID", id), text("cbc:IssueDate", view.quoted)],
    )
    .and(mark)
    .and([text("cbc:Note", basis)])
    .and(described)
    .and(choice)
    .and(warranties.map(|(unit, term)| text("cbc:Note", warranty(unit, term))))
    .and([
        text("cbc:PricingCurrencyCode", money.code()),
        text("cbc:LineCountNumeric", lines.len()),
        all(
            "cac:ValidityPeriod",
            [text("cbc:StartDate", view.quoted), text("cbc:EndDate", view.valid_until)],
        ),
        all("cac:RequestForQuotationDocumentReference", [text("cbc:ID", &view.reference)]),
        party("cac:SellerSupplierParty", seller, Named::AsSeller),
        party("cac:BuyerCustomerParty", buyer, Named::AsBuyer),
        all(
            "cac:Delivery",
            [
                address("cac:DeliveryAddress", &view.customer),
                all("cac:PromisedDeliveryPeriod", [text("cbc:EndDate", view.dispatch)]),
            ],
        ),
        tax::breakdown(sale, money)?,
        tax::totals("cac:QuotedMonetaryTotal", sale, money)?,
    ]);
    let lines = lines.iter().map(|line| quotation_line(line, money));
    Ok(document.and(lines.collect::<Result<Vec<_>, _>>()?).document())
}

fn quotation_line(line: &Line<'_>, money: Money) -> Result<Element, NotWritable> {
    let [quantity, net, price] = line.figures("cbc:Quantity", money)?;
    let serial = line.unit.map(|unit| unit.serial.as_str().trim()).filter(|serial| !serial.is_empty());
    let instance = serial.map(|serial| all("cac:ItemInstance", [text("cbc:SerialID", serial)]));
    let item = line.item().and(instance);
    let number = || text("cbc:ID", line.number);
    Ok(all("cac:QuotationLine", [number(), all("cac:LineItem", [number(), quantity, net, price, item])]))
}

fn warranty(unit: &Code, term: &Warranty) -> String {
    let cycles = term.cycles.map_or_else(String::new, |cycles| format!(", at most {cycles} duty cycles"));
    let excluded: Vec<&str> = term.excludes.iter().map(|text| text.as_str()).collect();
    let excludes =
        if excluded.is_empty() { String::new() } else { format!("; without: {}", excluded.join("; ")) };
    format!("Warranty on {unit}: {} to {}{cycles}{excludes}.", term.from, term.until)
}
