//! What is written, read again by another reader and added up again.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::view::Reader;
use evenfare_paper::Sold;
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;
use roxmltree::{Document as Xml, Node};
use rust_decimal::Decimal;

use crate::drawn::{Document, Kind, Seen, Tally, cases, demo, quotes};

/// The text at a path of element names, each the first of its name.
fn at<'d>(node: Node<'d, 'd>, path: &str) -> Option<&'d str> {
    let step = |node: Node<'d, 'd>, name: &str| node.children().find(|child| child.has_tag_name_of(name));
    path.split('/').try_fold(node, step).map(|node| node.text().unwrap_or(""))
}

trait Named {
    fn has_tag_name_of(&self, name: &str) -> bool;
}

impl Named for Node<'_, '_> {
    fn has_tag_name_of(&self, name: &str) -> bool {
        self.tag_name().name() == name
    }
}

fn decimal(node: Node<'_, '_>, path: &str) -> Decimal {
    at(node, path).unwrap_or_else(|| panic!("no {path}")).parse().unwrap()
}

fn all<'d>(node: Node<'d, 'd>, name: &'static str) -> impl Iterator<Item = Node<'d, 'd>> {
    node.children().filter(move |child| child.has_tag_name_of(name))
}

#[test]
fn documents_say_what_the_quote_says() {
    let mut tally = Tally::default();
    let mut hold = |document: Document<'_>| {
        tally.count(&document);
        same_figures(&document)
    };
    for quote in demo() {
        Seen::by(&quote, &Reader::Office).each(&mut hold).unwrap();
    }
    quotes("documents_say_what_the_quote_says", cases(1), |quote| {
        Seen::by(quote, &Reader::Office).each(&mut hold)?;
        Seen::by(quote, &Reader::Customer).each(&mut hold)?;
        let partners = quote.route.iter().map(|partner| Reader::Partner(partner.code.clone()));
        for partner in partners {
            Seen::by(quote, &partner).each(&mut hold)?;
        }
        Ok(())
    });
    tally.tell("documents_say_what_the_quote_says");
}

/// Every amount is the view's, and every sum in it holds by exact decimals.
fn same_figures(document: &Document<'_>) -> TestCaseResult {
    let Ok(xml) = &document.written else { return Ok(()) };
    let Document { kind, sold, .. } = document;
    let xml = std::str::from_utf8(xml).unwrap();
    let xml = Xml::parse(xml).map_err(|error| TestCaseError::fail(format!("{error}\n{xml}")))?;
    let root = xml.root_element();
    let currency: Currency = sold.view.currency.parse().unwrap();
    let sign = if *kind == Kind::CreditNote { -1 } else { 1 };
    let said = |minor: i64| Decimal::new(sign * minor, u32::from(currency.exponent()));

    let (line_name, quantity, total) = match kind {
        Kind::Quotation => ("QuotationLine", "Quantity", "QuotedMonetaryTotal"),
        Kind::Invoice | Kind::Below => ("InvoiceLine", "InvoicedQuantity", "LegalMonetaryTotal"),
        Kind::CreditNote => ("CreditNoteLine", "CreditedQuantity", "LegalMonetaryTotal"),
    };
    let lines: Vec<Node<'_, '_>> = all(root, line_name)
        .map(|line| if *kind == Kind::Quotation { all(line, "LineItem").next().unwrap() } else { line })
        .collect();
    prop_assert_eq!(lines.len(), sold.sale.lines.len());
    let mut bases: BTreeMap<(&str, Option<&str>), Decimal> = BTreeMap::new();
    for (line, sale) in lines.iter().zip(&sold.sale.lines) {
        let net = decimal(*line, "LineExtensionAmount");
        prop_assert_eq!(net, said(sale.net_minor));
        prop_assert_eq!(at(*line, "Item/SellersItemIdentification/ID"), Some(sale.id.as_str()));
        let (price, base) = (decimal(*line, "Price/PriceAmount"), decimal(*line, "Price/BaseQuantity"));
        let count = decimal(*line, quantity);
        prop_assert!(price >= Decimal::ZERO && base > Decimal::ZERO && count.abs() == base);
        // Exactly, without a division.
        prop_assert_eq!(price * count, net * base);
        let category = at(*line, "Item/ClassifiedTaxCategory/ID").unwrap();
        *bases.entry((category, at(*line, "Item/ClassifiedTaxCategory/Percent"))).or_default() += net;
    }
    let vat: Vec<Node<'_, '_>> = all(root, "TaxTotal").flat_map(|tax| all(tax, "TaxSubtotal")).collect();
    prop_assert_eq!(vat.len(), sold.sale.vat.len());
    let mut tax = Decimal::ZERO;
    for (found, group) in vat.iter().zip(&sold.sale.vat) {
        prop_assert_eq!(decimal(*found, "TaxableAmount"), said(group.base_minor));
        prop_assert_eq!(decimal(*found, "TaxAmount"), said(group.tax_minor));
        let key = (at(*found, "TaxCategory/ID").unwrap(), at(*found, "TaxCategory/Percent"));
        prop_assert_eq!(key, (group.category.code(), group.rate.as_deref()));
        prop_assert_eq!(bases.remove(&key), Some(said(group.base_minor)));
        prop_assert_eq!(at(*found, "TaxCategory/TaxExemptionReason"), group.reason);
        tax += decimal(*found, "TaxAmount");
    }
    prop_assert!(bases.is_empty());
    let net = lines.iter().map(|line| decimal(*line, "LineExtensionAmount")).sum::<Decimal>();
    let totals = all(root, total).next().unwrap();
    prop_assert_eq!(decimal(totals, "LineExtensionAmount"), net);
    prop_assert_eq!(decimal(totals, "TaxExclusiveAmount"), said(sold.sale.net_minor));
    prop_assert_eq!(decimal(totals, "TaxInclusiveAmount"), net + tax);
    prop_assert_eq!(decimal(totals, "PayableAmount"), said(sold.sale.gross_minor));
    prop_assert_eq!(decimal(root, "TaxTotal/TaxAmount"), tax);
    if *kind != Kind::Quotation {
        days_and_currencies(root, sold, tax)?;
    }
    let named = |role: &str| at(root, &format!("{role}/Party/PartyLegalEntity/RegistrationName"));
    let (seller, buyer) = match kind {
        Kind::Quotation => ("SellerSupplierParty", "BuyerCustomerParty"),
        _ => ("AccountingSupplierParty", "AccountingCustomerParty"),
    };
    prop_assert_eq!(named(seller), Some(sold.seller.name.as_str()));
    let carried: String = sold.buyer.name.as_str().trim().replace(['\u{FFFE}', '\u{FFFF}'], "\u{FFFD}");
    prop_assert_eq!(named(buyer), Some(carried.as_str()));
    Ok(())
}

/// No day of supply is said that is to come, and the period says when it is planned; VAT in another currency is
/// said with that currency, and where there is any.
fn days_and_currencies(root: Node<'_, '_>, sold: &Sold<'_>, tax: Decimal) -> TestCaseResult {
    let day = |path: &str| at(root, path).map(|day| day.parse::<NaiveDate>().unwrap());
    let issued = day("IssueDate").unwrap();
    let (planned, chargeable) = (sold.view.dispatch, sold.view.tax_date);
    match day("Delivery/ActualDeliveryDate") {
        Some(supplied) => {
            prop_assert!(supplied == planned && planned <= issued);
            prop_assert_eq!(at(root, "InvoicePeriod/EndDate"), None);
        }
        None => {
            prop_assert!(planned > issued);
            prop_assert_eq!(day("InvoicePeriod/EndDate"), Some(planned));
        }
    }
    prop_assert_eq!(day("TaxPointDate"), Some(chargeable).filter(|day| *day <= issued));
    let totals: Vec<_> = all(root, "TaxTotal").filter_map(|total| at(total, "TaxAmount")).collect();
    let other = at(root, "TaxCurrencyCode");
    prop_assert_eq!(totals.len(), if other.is_some() { 2 } else { 1 });
    prop_assert_eq!(other.is_some(), tax != Decimal::ZERO);
    prop_assert!(other.is_none_or(|other| other != sold.view.currency));
    Ok(())
}
