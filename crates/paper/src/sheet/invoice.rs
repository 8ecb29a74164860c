//! Invoice and credit note: what Directive 2006/112/EC Art. 226 wants on them.

use evenfare_engine::money::Vat;
use evenfare_engine::national::NationalVat;

use super::pen::{Given, Pen};
use super::{Block, Fact, NoSheet, Sheet, Tone};
use crate::figures::{self, NO_BREAK};
use crate::invoice::Invoice;

/// An invoice for one sale of the accepted offer.
///
/// # Errors
/// [`NoSheet`] where the currency is none.
pub fn invoice(given: &Given<'_>, invoice: &Invoice<'_>) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let mut sheet = billed(&pen, "invoice", invoice);
    sheet.facts.extend(invoice.facts.due.map(|due| pen.fact("due-on", pen.date(due))));
    sheet.blocks.push(pen.heading("payment"));
    sheet.blocks.extend(payment(&pen, invoice));
    closing(&pen, invoice, &mut sheet);
    Ok(sheet)
}

/// A credit note for one sale of the opposite entry; it names the invoice that it takes back.
///
/// # Errors
/// As [`invoice`].
pub fn credit_note(given: &Given<'_>, invoice: &Invoice<'_>) -> Result<Sheet, NoSheet> {
    let pen = Pen::new(given)?;
    let mut sheet = billed(&pen, "credit-note", invoice);
    sheet.mark = invoice.facts.preceding.as_ref().map(|preceding| {
        let issued = pen.date(preceding.issued);
        pen.say_with(
            "takes-back",
            &[("number", preceding.number.as_str().into()), ("date", (&issued).into())],
        )
    });
    closing(&pen, invoice, &mut sheet);
    Ok(sheet)
}

/// What both have.
fn billed(pen: &Pen<'_>, id: &str, invoice: &Invoice<'_>) -> Sheet {
    let (sold, facts) = (&invoice.sold, invoice.facts);
    let number = facts.number.as_str();
    let head = pen.head_of(sold.seller, sold.buyer.country);
    let mut sheet = pen.begun(id, number, head, pen.address(sold.buyer, sold.seller.country));
    // Whether a quote still stands is said on quotes; an invoice stands until its credit note.
    sheet.mark = None;
    sheet.day = {
        use chrono::Datelike as _;
        (facts.issued.year(), facts.issued.month(), facts.issued.day())
    };
    let numbered = if id == "invoice" { "invoice-number" } else { "credit-note-number" };
    sheet.facts = vec![
        pen.fact(numbered, number),
        pen.fact("issued-on", pen.date(facts.issued)),
        match invoice.supplied() {
            Some(day) => pen.fact("supplied-on", pen.date(day)),
            None => pen.fact("supply-planned", pen.date(pen.given.view.dispatch)),
        },
        pen.fact("quote-number", [facts.quote.as_str(), "/", &pen.given.view.revision.to_string()].concat()),
        pen.fact("reference", pen.given.view.reference.as_str()),
    ];
    let tax_point = invoice.tax_point().map(|day| pen.fact("tax-date", pen.date(day)));
    sheet.facts.splice(3..3, tax_point);
    sheet.facts.extend(facts.order.as_ref().map(|order| pen.fact("your-order", order.as_str())));
    sheet.facts.extend(pen.vat_id_of(sold.buyer));
    sheet.blocks.extend(pen.supplied(sold.offer));
    sheet.blocks.push(pen.charged(sold.offer, sold.sale));
    sheet.blocks.extend(pen.vat_breakdown(&[(None, sold.sale)]));
    // A credit note credits it, as it does the amount below.
    let sign = |vat: Vat| if id == "invoice" { vat.minor() } else { vat.reversed().minor() };
    let national = facts.national_vat.as_ref().map(|vat| national(pen, vat, sign(vat.tax)));
    sheet.blocks.extend(national.map(|text| Block::Text { text, tone: Tone::Plain }));
    // The lines of a credit note are the opposite of those of its invoice; what it credits is said as such.
    let gross = sold.sale.gross_minor;
    let (due, amount) = match id {
        "invoice" => ("amount-due", gross),
        _ => ("amount-credited", gross.saturating_neg()),
    };
    let due = pen.words.labelled(&pen.say(due), &pen.money(amount));
    sheet.blocks.push(Block::Text { text: due, tone: Tone::Strong });
    sheet
}

/// The VAT in the currency of the seller's country, and what it was converted by.
fn national(pen: &Pen<'_>, vat: &NationalVat, minor: i64) -> String {
    let rates = vat.rates.iter().map(|(currency, rate, day)| {
        let rate =
            [&figures::decimal(pen.given.language, &rate.to_string()), NO_BREAK, currency.code()].concat();
        pen.say_with("rate-of-euro", &[("rate", (&rate).into()), ("date", (&pen.date(*day)).into())])
    });
    let rates = pen.words.joined(rates);
    let amount = pen.money_in(minor, vat.currency);
    pen.say_with("vat-national", &[("amount", (&amount).into()), ("rates", (&rates).into())])
}

fn payment(pen: &Pen<'_>, invoice: &Invoice<'_>) -> Vec<Block> {
    let facts = invoice.facts;
    let days = facts.due.map_or(0, |due| due.signed_duration_since(facts.issued).num_days());
    let terms = match u32::try_from(days) {
        Ok(days) if days > 0 => pen.say_with("payable-within", &[("days", days.into())]),
        _ => pen.say("payable-at-once"),
    };
    let reference =
        facts.payment_reference.as_ref().map_or(facts.number.as_str(), |reference| reference.as_str());
    let mut to: Vec<Fact> = Vec::new();
    if let Some(account) = &facts.account {
        let holder = account.holder.as_ref().unwrap_or(&invoice.sold.seller.name);
        to.push(pen.fact("account-holder", holder.as_str()));
        let bank = pen.stationery.letterhead.bank.as_ref();
        let bank = bank.filter(|bank| bank.iban.as_str() == account.iban.as_str());
        to.extend(bank.map(|bank| pen.fact("bank", bank.name.as_str())));
        to.push(pen.fact("iban", in_fours(account.iban.as_str())));
        to.extend(account.bic.as_ref().map(|bic| pen.fact("bic", bic.as_str())));
    }
    to.push(pen.fact("payment-reference", reference));
    vec![Block::Text { text: terms, tone: Tone::Plain }, Block::Facts { facts: to }]
}

/// In groups of four, as people read it, on one line.
fn in_fours(iban: &str) -> String {
    let letters: Vec<char> = iban.chars().collect();
    letters.chunks(4).map(String::from_iter).collect::<Vec<_>>().join(NO_BREAK)
}

fn closing(pen: &Pen<'_>, invoice: &Invoice<'_>, sheet: &mut Sheet) {
    if invoice.sold.seller.code == pen.workshop.code {
        sheet.blocks.extend(pen.paragraph(|texts| &texts.footer, Tone::Quiet));
    }
}
