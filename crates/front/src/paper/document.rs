//! A document from end to end: whose it is, what it says, how it is written.

use evenfare_engine::MAIN;
use evenfare_engine::language::Language;
use evenfare_engine::national::{NationalVat, national_vat};
use evenfare_engine::quote::{Quote, Sale};
use evenfare_engine::tariff::{Edition, Party};
use evenfare_engine::view::{Reader, View, view};
use evenfare_files::Letterhead;
use evenfare_paper::{Account, Invoice, InvoiceFacts, Sold};

use super::asked::Asked;
use super::kind::{Format, Kind};
use super::page;
use super::refused::NotMade;
use super::source::{Document, Setting, Source};
use super::xml;

/// Files to be attached, each by its name.
type Files = Vec<(String, Vec<u8>)>;

/// A document of a quote: every kind but those of the books.
///
/// # Errors
/// [`NotMade`] says why there is none.
pub fn of_quote(source: &Source<'_>, asked: &Asked) -> Result<Document, NotMade> {
    asked.check()?;
    let reader = asked.sight(source.quote)?;
    let view = view(source.quote, &reader).ok_or(NotMade::NotHis { kind: asked.kind })?;
    let partner = match &reader {
        Reader::Partner(code) => view.party(code),
        Reader::Office | Reader::Accountant | Reader::Customer => None,
    };
    let offer = asked.offer.as_deref().unwrap_or(MAIN);
    if view.offer(offer).is_none() {
        let expected = view.offers().map(|offer| &*offer.offer).collect::<Vec<_>>().join(", ");
        return Err(NotMade::Offer { found: offer.to_owned(), expected });
    }
    // Who is offered something by it.
    let buyer = match asked.kind {
        Kind::Quote => Some(&view.customer),
        Kind::Partner => partner,
        Kind::Office | Kind::Bench | Kind::Invoice | Kind::CreditNote => None,
    };
    let quotation = |offer: &str| {
        let buyer = buyer.ok_or(NotMade::NoXml { kind: asked.kind })?;
        xml::quotation(source, &view, offer, buyer.code.as_str())
    };
    let language = language(asked, buyer, &source.stationery.letterhead);
    let name = name_of_quote(source, &view, asked, partner, language);
    if asked.format == Format::Xml {
        return Ok(document(name, asked, quotation(offer)?, None));
    }
    let attached: Result<Files, NotMade> = match buyer {
        Some(_) => {
            let names = view.offers().map(|offer| &*offer.offer);
            names.map(|offer| Ok((attachment_name(offer), quotation(offer)?))).collect()
        }
        None => Ok(Vec::new()),
    };
    let (attached, without_xml) = or_without(attached)?;
    let setting = Setting { source, view: &view, language, attached };
    let bytes = page::of_quote(setting, asked.kind, offer, partner.map(|party| &party.code))?;
    Ok(document(name, asked, bytes, without_xml))
}

/// The invoice or the credit note of the workshop's own sale by one offer. Of a credit note, the quote is the
/// opposite of the one that was charged. `edition` is the one that has priced it.
///
/// No invoice is issued where VAT has to be said in another currency and no rate is known ([`national`]). Of one
/// that was issued before that was asked for there is paper without it, and no XML.
///
/// # Errors
/// [`NotMade`] says why there is none.
pub fn of_sale(
    source: &Source<'_>,
    edition: Option<&Edition>,
    facts: &InvoiceFacts,
    offer: &str,
    asked: &Asked,
) -> Result<Document, NotMade> {
    asked.check()?;
    let internal = || NotMade::Internal(format!("{} is of no sale of its quote", facts.number));
    let buyer = asked.sight_of_sale(source.quote)?;
    let view = view(source.quote, &buyer).ok_or_else(internal)?;
    let sold = Sold::by(&view, offer, view.workshop.code.as_str()).map_err(|_| internal())?;
    let (national_vat, not_known) = match national(source.quote, edition, offer) {
        Ok(vat) => (vat, None),
        Err(why) => (None, Some(NotMade::NotWritable(why))),
    };
    let facts = &InvoiceFacts { national_vat, ..facts.clone() };
    let invoice = Invoice { sold, facts };
    let language = language(asked, Some(sold.buyer), &source.stationery.letterhead);
    let word = asked.kind.word();
    let name = in_a_folder(&format!("{}-{word}{}", facts.number, end(asked, language)));
    let xml = not_known.map_or_else(|| xml::billed(asked.kind, &invoice), Err);
    if asked.format == Format::Xml {
        return Ok(document(name, asked, xml?, None));
    }
    let (attached, without_xml) = or_without(xml.map(|bytes| vec![(format!("{word}.xml"), bytes)]))?;
    let bytes = page::of_sale(Setting { source, view: &view, language, attached }, asked.kind, &invoice)?;
    Ok(document(name, asked, bytes, without_xml))
}

/// The VAT of the workshop's own sale by one offer in the currency of its country, where it is in another.
///
/// # Errors
/// In words, why it is not known.
pub fn national(
    quote: &Quote,
    edition: Option<&Edition>,
    offer: &str,
) -> Result<Option<NationalVat>, String> {
    let own = |sale: &&Sale| sale.seller == quote.workshop.code;
    let Some(sale) = quote.offer(offer).and_then(|offer| offer.sales.iter().find(own)) else {
        return Ok(None);
    };
    let Some(edition) = edition else { return Err(format!("there is no edition {}", quote.edition)) };
    national_vat(quote, sale, edition).map_err(|error| error.to_string())
}

/// Where a workshop is paid, as an invoice says it.
pub fn account(letterhead: &Letterhead) -> Option<Account> {
    let bank = letterhead.bank.as_ref()?;
    let bic = bank.bic.as_ref().and_then(|bic| bic.as_str().parse().ok());
    Some(Account { iban: bank.iban.as_str().parse().ok()?, bic, holder: None })
}

fn document(name: String, asked: &Asked, bytes: Vec<u8>, without_xml: Option<String>) -> Document {
    Document { name, media_type: asked.format.media_type(), bytes, without_xml }
}

/// What a standard has no form for is on paper all the same; why it is not attached is told.
fn or_without(attached: Result<Files, NotMade>) -> Result<(Files, Option<String>), NotMade> {
    match attached {
        Ok(attached) => Ok((attached, None)),
        Err(NotMade::NotWritable(why)) => Ok((Vec::new(), Some(why))),
        Err(other) => Err(other),
    }
}

/// As asked for; else that of whom it is for; else the letterhead's.
fn language(asked: &Asked, recipient: Option<&Party>, letterhead: &Letterhead) -> Language {
    let theirs = recipient.and_then(|party| party.language);
    asked.language.or(theirs).unwrap_or(letterhead.language)
}

fn name_of_quote(
    source: &Source<'_>,
    view: &View,
    asked: &Asked,
    partner: Option<&Party>,
    language: Language,
) -> String {
    let which = match source.number {
        Some(number) if view.reversal => format!("{number}-{}-reversal", view.revision),
        Some(number) => format!("{number}-{}", view.revision),
        None => format!("{}-draft", view.reference),
    };
    let mut name = format!("{which}-{}", asked.kind.word());
    for more in partner.map(|party| party.code.as_str()).into_iter().chain(asked.offer.as_deref()) {
        name.push('-');
        name.push_str(more);
    }
    in_a_folder(&format!("{name}{}", end(asked, language)))
}

/// XML is in no language.
fn end(asked: &Asked, language: Language) -> String {
    match asked.format {
        Format::Pdf => format!("-{language}.pdf"),
        Format::Xml => String::from(".xml"),
    }
}

fn attachment_name(offer: &str) -> String {
    if offer == MAIN { String::from("quotation.xml") } else { in_a_folder(&format!("quotation-{offer}.xml")) }
}

/// A code may have a slash, the name of a file may not.
fn in_a_folder(name: &str) -> String {
    name.replace('/', "_")
}
