//! Sales by hand: what is refused with its reason, and documents to be read.

use evenfare_engine::view::{Reader, View};
use evenfare_paper::ubl::{NotWritable, Quotation, credit_note, invoice, quotation};
use evenfare_paper::{Invoice, NoSuchSale, Sold, State};

use crate::drawn::{Seen, demo, facts};
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
    let offered =
        quotation(&Quotation { sold: of(&seen.reversal), number: Some(&number), state: State::InForce });
    assert_eq!(offered, Err(NotWritable::Reversal));
    let credited = credit_note(&Invoice { sold: of(&seen.quote), facts: &facts });
    assert_eq!(credited, Err(NotWritable::NotAReversal { revision: 1 }));
}

#[test]
fn what_cannot_be_accepted_says_so_first() {
    let seen = job("J-2026-0227");
    let (sold, number) = (Sold::to(&seen.quote, "main", "customer").unwrap(), code("Q-2026-00017"));
    let notes = |number, state| {
        let xml = String::from_utf8(quotation(&Quotation { sold, number, state }).unwrap()).unwrap();
        let tree = roxmltree::Document::parse(&xml).unwrap();
        let said = |name: &str| {
            let of_quote = tree.root_element().children().filter(|node| node.tag_name().name() == name);
            of_quote.map(|node| node.text().unwrap().to_owned()).collect::<Vec<_>>()
        };
        (said("ID").join(" "), said("Note"))
    };
    let (id, in_force) = notes(Some(&number), State::InForce);
    assert_eq!(id, "Q-2026-00017");
    assert!(in_force[0].starts_with("Revision 1, priced by tariff edition "), "{in_force:?}");
    for (state, mark) in [(State::Superseded, "Superseded: "), (State::Reversed, "Reversed: ")] {
        let (id, marked) = notes(Some(&number), state);
        assert_eq!((id.as_str(), &marked[1..]), ("Q-2026-00017", &in_force[..]));
        assert!(marked[0].starts_with(mark), "{marked:?}");
    }
    let (id, draft) = notes(None, State::InForce);
    assert_eq!(id, "J-2026-0227");
    assert!(draft[0].starts_with("Draft: ") && draft[1].starts_with("Priced by"), "{draft:?}");
    let by_reference = |note: &String| note.replace("Q-2026-00017", "J-2026-0227");
    assert_eq!(draft[2..], in_force[1..].iter().map(by_reference).collect::<Vec<_>>());
}

#[test]
fn sales_that_are_not_there_are_named() {
    let seen = job("J-2026-0227");
    let names: Vec<String> = seen.quote.offers().map(|offer| offer.offer.to_string()).collect();
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
