//! Sales by hand: what is refused with its reason, and documents to be read.

use evenfare_engine::view::{Reader, View};
use evenfare_paper::ubl::{NotWritable, Quotation, credit_note, invoice, quotation};
use evenfare_paper::{Invoice, NoSuchSale, Sold};

use crate::drawn::{Seen, demo, facts, offers};
use crate::laws::worlds::code;

/// The quote of a job of the worked example, as the office sees it, and its reversal.
fn job(reference: &str) -> Seen {
    let quotes = demo();
    let quote = quotes.iter().find(|quote| quote.reference.as_str() == reference).unwrap();
    Seen::by(quote, &Reader::Office)
}

fn written(view: &View, seller: &str) -> Result<String, NotWritable> {
    let facts = facts(view);
    let sold = Sold::by(view, "main", seller).unwrap();
    invoice(&Invoice { sold, facts: &facts }).map(|xml| String::from_utf8(xml).unwrap())
}

#[test]
fn a_reversal_is_credited_and_not_offered() {
    let seen = job("J-2026-0227");
    let facts = facts(&seen.quote);
    let of = |view| Sold::to(view, "main", "customer").unwrap();
    let number = code("2026-0227");
    let offered = quotation(&Quotation { sold: of(&seen.reversal), number: &number });
    assert_eq!(offered, Err(NotWritable::Reversal));
    let credited = credit_note(&Invoice { sold: of(&seen.quote), facts: &facts });
    assert_eq!(credited, Err(NotWritable::NotAReversal { revision: 1 }));
}

#[test]
fn sales_that_are_not_there_are_named() {
    let seen = job("J-2026-0227");
    let names: Vec<String> = offers(&seen.quote).map(|offer| offer.offer.to_string()).collect();
    let wrong = Sold::by(&seen.quote, "mian", "workshop").unwrap_err();
    assert_eq!(wrong, NoSuchSale::Offer { found: "mian".to_owned(), expected: names.join(", ") });
    let wrong = Sold::by(&seen.quote, "main", "customer").unwrap_err();
    assert_eq!(wrong.to_string(), "`customer` makes no sale that this reader sees; expected one of workshop");
}

#[test]
fn what_the_standard_cannot_carry_is_refused() {
    let mut seen = job("J-2026-0227");
    seen.quote.workshop.vat_id = None;
    let expect =
        NotWritable::NoVatIdentifier { party: "workshop".to_owned(), category: "AE", rule: "BR-AE-02" };
    assert_eq!(written(&seen.quote, "workshop"), Err(expect));
}

#[test]
fn a_sale_across_the_border_says_reverse_charge() {
    let seen = job("J-2026-0227");
    let xml = written(&seen.quote, "workshop").unwrap();
    for part in [
        "<cbc:TaxExemptionReasonCode>VATEX-EU-AE</cbc:TaxExemptionReasonCode>",
        "<cbc:TaxExemptionReason>Reverse charge</cbc:TaxExemptionReason>",
        "<cbc:CompanyID>IT65864580926</cbc:CompanyID>",
        "<cbc:ID>4500 &amp; more</cbc:ID>",
        "<cbc:ID>DE93999999990000000001</cbc:ID>",
    ] {
        assert!(xml.contains(part), "{part} in {xml}");
    }
}
