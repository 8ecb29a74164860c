//! EN 16931 invoices and credit notes, in UBL 2.1.

use evenfare_engine::national::NationalVat;
use evenfare_engine::supply::VatCategory;

use super::element::{Element, all, text};
use super::line::{Line, lines};
use super::money::Money;
use super::party::{Named, address, identifier, party, vat_id};
use super::refused::NotWritable;
use super::tax;
use crate::invoice::{Account, Invoice, InvoiceFacts, Sold};

/// What tells the two documents apart.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// UNTDID 1001: 380.
    Invoice,
    /// 381; its amounts are what it takes back.
    CreditNote,
}

/// A sale as EN 16931 invoice.
///
/// Of a reversal it is an invoice below nothing; most would rather have its credit note.
///
/// # Errors
/// [`NotWritable`] names the rule of the standard that the sale cannot keep.
pub fn invoice(invoice: &Invoice<'_>) -> Result<Vec<u8>, NotWritable> {
    written(invoice, Kind::Invoice)
}

/// The reversal of a sale as EN 16931 credit note: its amounts are what it takes back.
///
/// # Errors
/// [`NotWritable::NotAReversal`] where nothing is taken back; else as [`invoice`].
pub fn credit_note(invoice: &Invoice<'_>) -> Result<Vec<u8>, NotWritable> {
    let view = invoice.sold.view;
    match view.reversal {
        true => written(invoice, Kind::CreditNote),
        false => Err(NotWritable::NotAReversal { revision: view.revision }),
    }
}

fn written(invoice: &Invoice<'_>, kind: Kind) -> Result<Vec<u8>, NotWritable> {
    let Invoice { sold, facts } = invoice;
    let Sold { view, offer, sale, seller, buyer } = sold;
    let lines = lines(sold)?;
    check_parties(sold)?;
    let money = Money::of_en16931(&view.currency)?;
    let money = if kind == Kind::CreditNote { money.turned() } else { money };
    let breakdown = tax::breakdown(sale, money)?;
    sale.vat.iter().try_for_each(|group| money.check_vat(group))?;

    let national = facts.national_vat.as_ref().map(|vat| national(vat, kind)).transpose()?;

    let about = format!(
        "Quote {}, revision {}, offer {}; job {}.",
        facts.quote, view.revision, offer.offer, view.reference
    );
    let note = text("cbc:Note", about);
    let tax_point = invoice.tax_point().map(|day| text("cbc:TaxPointDate", day));
    let head = [
        text("cbc:CustomizationID", "urn:cen.eu:en16931:2017"),
        text("cbc:ID", &facts.number),
        text("cbc:IssueDate", facts.issued),
    ];
    // The two have these in orders of their own.
    let document = match kind {
        Kind::Invoice => all("Invoice", head)
            .and(facts.due.map(|due| text("cbc:DueDate", due)))
            .and([text("cbc:InvoiceTypeCode", 380), note])
            .and(tax_point),
        Kind::CreditNote => {
            all("CreditNote", head).and(tax_point).and([text("cbc:CreditNoteTypeCode", 381), note])
        }
    };
    let has_vat = sale.vat.iter().any(|group| group.category != VatCategory::O);
    let named = |named| if has_vat { named } else { Named::WithoutVat };
    let document = document
        .and([text("cbc:DocumentCurrencyCode", money.code())])
        .and(national.as_ref().map(|(code, _)| text("cbc:TaxCurrencyCode", code)))
        .and(planned(invoice))
        .and(facts.order.as_ref().map(|order| all("cac:OrderReference", [text("cbc:ID", order)])))
        .and(preceding(facts))
        .and([
            all("cac:ContractDocumentReference", [text("cbc:ID", &facts.quote)]),
            party("cac:AccountingSupplierParty", seller, named(Named::AsSeller)),
            party("cac:AccountingCustomerParty", buyer, named(Named::AsBuyer)),
            all("cac:Delivery", [])
                .and(invoice.supplied().map(|day| text("cbc:ActualDeliveryDate", day)))
                .and([all("cac:DeliveryLocation", [address("cac:Address", &view.customer)])]),
        ])
        .and(facts.account.as_ref().filter(|_| kind == Kind::Invoice).map(|account| to(account, facts)))
        .and(terms(facts, kind))
        .and([breakdown])
        .and(national.map(|(_, total)| total))
        .and([tax::totals("cac:LegalMonetaryTotal", sale, money)?]);
    let lines = lines.iter().map(|line| invoice_line(line, kind, money));
    Ok(document.and(lines.collect::<Result<Vec<_>, _>>()?).document())
}

/// That the parties are identified as the categories of the sale ask for, and that nothing without VAT
/// stands beside what has it.
fn check_parties(sold: &Sold<'_>) -> Result<(), NotWritable> {
    let Sold { sale, seller, buyer, .. } = sold;
    if sale.needs_two_invoices() {
        return Err(NotWritable::MixedWithO);
    }
    for category in sale.vat.iter().map(|group| group.category) {
        // A tax registration of another kind will do for a seller, but not where goods cross a border.
        let (rule, of_seller, of_buyer) = match category {
            VatCategory::S => ("BR-S-02", identifier(seller), Some("")),
            VatCategory::AE => ("BR-AE-02", identifier(seller), vat_id(buyer)),
            VatCategory::K => ("BR-IC-02", vat_id(seller), vat_id(buyer)),
            VatCategory::G => ("BR-G-02", vat_id(seller), Some("")),
            VatCategory::O => continue,
        };
        let without = [(of_seller, seller), (of_buyer, buyer)].into_iter().find(|(id, _)| id.is_none());
        if let Some((_, party)) = without {
            let (party, category) = (party.code.to_string(), category.code());
            return Err(NotWritable::NoVatIdentifier { party, category, rule });
        }
    }
    Ok(())
}

/// The invoice that is taken back or put right (BG-3).
fn preceding(facts: &InvoiceFacts) -> Option<Element> {
    let preceding = facts.preceding.as_ref()?;
    let reference = [text("cbc:ID", &preceding.number), text("cbc:IssueDate", preceding.issued)];
    Some(all("cac:BillingReference", [all("cac:InvoiceDocumentReference", reference)]))
}

/// Where to pay (BG-16 and BG-17): by credit transfer (UNTDID 4461: 30).
fn to(account: &Account, facts: &InvoiceFacts) -> Element {
    let reference = facts.payment_reference.as_ref().map_or(facts.number.as_str(), |text| text.as_str());
    let holder = account.holder.as_ref().map(|holder| text("cbc:Name", holder));
    let branch = |bic| all("cac:FinancialInstitutionBranch", [text("cbc:ID", bic)]);
    let payee = all("cac:PayeeFinancialAccount", [text("cbc:ID", &account.iban)])
        .and(holder)
        .and(account.bic.as_ref().map(branch));
    all("cac:PaymentMeans", [text("cbc:PaymentMeansCode", 30), text("cbc:PaymentID", reference), payee])
}

/// When it is to be supplied, where that day is to come (BG-14, also called the delivery period); and that VAT
/// becomes chargeable then (BT-8: 35 of UNTDID 2005), where it does.
fn planned(invoice: &Invoice<'_>) -> Option<Element> {
    let view = invoice.sold.view;
    if invoice.supplied().is_some() {
        return None;
    }
    let then = invoice.tax_point().is_none() && view.tax_date == view.dispatch;
    let days = [text("cbc:StartDate", view.received), text("cbc:EndDate", view.dispatch)];
    Some(all("cac:InvoicePeriod", days).and(then.then(|| text("cbc:DescriptionCode", 35))))
}

/// The currency of the seller's country (BT-6), and all VAT in it (BT-111).
fn national(vat: &NationalVat, kind: Kind) -> Result<(&'static str, Element), NotWritable> {
    let money = Money::of_en16931(vat.currency.code())?;
    let money = if kind == Kind::CreditNote { money.turned() } else { money };
    Ok((money.code(), all("cac:TaxTotal", [money.amount("cbc:TaxAmount", vat.tax.minor())?])))
}

/// How it is settled, where no day says it (BR-CO-25).
fn terms(facts: &InvoiceFacts, kind: Kind) -> Option<Element> {
    let said = match kind {
        Kind::Invoice if facts.due.is_some() => return None,
        Kind::Invoice => "Due on receipt",
        Kind::CreditNote => "Set off against the invoice taken back, or paid back",
    };
    Some(all("cac:PaymentTerms", [text("cbc:Note", said)]))
}

fn invoice_line(line: &Line<'_>, kind: Kind, money: Money) -> Result<Element, NotWritable> {
    let (name, quantity) = match kind {
        Kind::Invoice => ("cac:InvoiceLine", "cbc:InvoicedQuantity"),
        Kind::CreditNote => ("cac:CreditNoteLine", "cbc:CreditedQuantity"),
    };
    let [quantity, net, price] = line.figures(quantity, money)?;
    Ok(all(name, [text("cbc:ID", line.number), quantity, net, line.item(), price]))
}
