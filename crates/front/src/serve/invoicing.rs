//! Invoices and credit notes: issued by the office, and read.

use std::sync::Arc;

use evenfare_engine::flag::Flag;
use evenfare_engine::period::last_day_of_days;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Party;
use evenfare_engine::view::Reader;
use evenfare_store::Sight;
use evenfare_store::command::Command;
use evenfare_store::digest::Digest;
use evenfare_store::event::{Kept, Record};
use evenfare_store::number::Number;
use evenfare_store::refused::{Refused, StoreError};

use super::access::Who;
use super::answers;
use super::ask;
use super::callers::Room;
use super::house::{House, not_known, today};
use super::pages;
use super::papers::Found;
use super::refusal::Refusal;
use super::writing::By;
use crate::kept::{own_sale, read_entry, sight};
use crate::paper::national;
use crate::wire::pb;

impl House {
    /// Invoices what was accepted.
    pub(super) async fn issue_invoice(
        &self,
        who: &Who,
        wire: &pb::IssueInvoiceRequest,
    ) -> Result<pb::IssueInvoiceResponse, Refusal> {
        let ask::Change { id, number, etag, with } = ask::invoice(wire, today())?;
        let by = By { id, fingerprint: ask::fingerprint("IssueInvoice", wire), caller: who.name.clone() };
        let record = match self.invoice_of(number, etag, with).await {
            Ok(command) => self.written(by.request(command)).await?,
            Err(refusal) => self.answered(&by, refusal).await?,
        };
        let without_xml = self.without_xml(&record).await.map_err(not_known)?;
        Ok(pb::IssueInvoiceResponse { invoice: Some(answers::invoiced(record)?), without_xml })
    }

    /// Takes an invoice back.
    pub(super) async fn issue_credit_note(
        &self,
        who: &Who,
        wire: &pb::IssueCreditNoteRequest,
    ) -> Result<pb::IssueCreditNoteResponse, Refusal> {
        let ask::CreditNote { id, series, invoice, issued, reason } = ask::credit_note(wire, today())?;
        let by = By { id, fingerprint: ask::fingerprint("IssueCreditNote", wire), caller: who.name.clone() };
        let command = Command::Credit { series, invoice, issued, reason };
        let record = self.written(by.request(command)).await?;
        let without_xml = self.without_xml(&record).await.map_err(not_known)?;
        Ok(pb::IssueCreditNoteResponse { credit_note: Some(answers::invoiced(record)?), without_xml })
    }

    /// Why there is no XML of what was written down, in words; empty where there is.
    pub(super) async fn without_xml(&self, record: &Record) -> Result<String, Refusal> {
        let Kept::Invoice(invoice) = &record.kept else { return Ok(String::new()) };
        let number = &invoice.number;
        let found = Found::invoice(&*self.store, number, &Sight::All).await?;
        let found =
            found.ok_or_else(|| Refusal::Internal(format!("{number} is written down and not there")))?;
        let code = found.edition().clone();
        let published = match self.editions_with(&code).await {
            Ok(published) => published,
            // Written down it is all the same.
            Err(refusal @ Refusal::UnreadableEdition) => return Ok(pb::Refusal::from(refusal).message),
            Err(refusal) => return Err(refusal),
        };
        self.in_turn(found.is_long(), move || {
            let kept = found.opened()?;
            let (tariffs, code) = (&published.tariffs, code.as_str());
            let (stationery, edition) = (tariffs.stationery(code), tariffs.edition(code));
            Ok(kept.without_xml(stationery, edition)?.unwrap_or_default())
        })
        .await
    }

    /// The invoice of what was accepted. What the workshop's own sale comes to stands in the document, which the store
    /// does not read; the etag says that nothing has changed when it is written down.
    async fn invoice_of(&self, number: Number, etag: Digest, with: ask::Invoice) -> Result<Command, Refusal> {
        let entry = self.store.entry(&number, None, &Sight::All).await?.ok_or(Refusal::NoSuchQuote)?;
        let refused = |refused| Refusal::from(StoreError::from(refused));
        if entry.etag != etag {
            return Err(refused(Refused::EtagMismatch { number }));
        }
        let Some(offer) = entry.accepted.clone() else {
            return Err(refused(Refused::NotAccepted { number, state: entry.state }));
        };
        let published = self.editions_with(&entry.content.edition).await?;
        let ask::Invoice { series, issued, due } = with;
        self.opened(None, entry, move |entry| {
            let (_, quote) = read_entry(entry)?;
            let nobody = || Refusal::Internal(format!("{}: nobody sells offer `{offer}`", entry.number));
            let sale = own_sale(&quote, offer.as_str()).ok_or_else(nobody)?;
            addressed(&quote)?;
            decided(&quote, offer.as_str())?;
            let (tariffs, edition) = (&published.tariffs, quote.edition.as_str());
            national(&quote, tariffs.edition(edition), offer.as_str()).map_err(Refusal::NoNationalVat)?;
            let days = tariffs.stationery(edition).letterhead.payment_days;
            let due = due.map_or_else(|| last_day_of_days(issued, days), Ok);
            let due = due.map_err(|beyond| Refusal::Internal(beyond.to_string()))?;
            Ok(Command::Invoice { series, number, etag, issued, due, sale })
        })
        .await
    }

    /// One invoice or credit note, as its reader may see it.
    pub(super) async fn invoice(&self, reader: &Reader, number: &str) -> Result<pb::Invoice, Refusal> {
        let number = ask::number(number)?;
        let found = self.store.invoice(&number, &sight(reader)).await?.ok_or(Refusal::NoSuchInvoice)?;
        Ok(answers::invoice(found, reader))
    }

    /// A page of invoices, and the token of the next; `partner` is the reader's room, where he is one.
    pub(super) async fn invoices(
        &self,
        reader: &Reader,
        partner: Option<&Room>,
        filter: Option<&pb::InvoiceFilter>,
        size: i32,
        token: &str,
    ) -> Result<(Vec<pb::Invoice>, String), Refusal> {
        let listing = pages::invoices(&sight(reader), filter, size, token)?;
        let (store, asked) = (Arc::clone(&self.store), listing.clone());
        let page = self.listed(partner, async move { store.invoices(&asked).await }).await?;
        let next = page.next.map(|number| pages::token(&number, &listing.sight, filter)).unwrap_or_default();
        Ok((page.invoices.into_iter().map(|found| answers::invoice(found, reader)).collect(), next))
    }
}

/// An invoice says the full name and address of who sells and who buys (Directive 2006/112/EC Art. 226(5)). No
/// postcode is asked for: there are countries without them.
fn addressed(quote: &Quote) -> Result<(), Refusal> {
    let buyer = quote.route.first().unwrap_or(&quote.customer);
    let lacking: Vec<String> = [&quote.workshop, buyer].into_iter().filter_map(lacks).collect();
    if lacking.is_empty() { Ok(()) } else { Err(Refusal::IncompleteAddress(lacking.join(", "))) }
}

/// What a party's address lacks: customer has no street and no town.
fn lacks(party: &Party) -> Option<String> {
    let said = [("name", &party.name), ("street", &party.street), ("town", &party.city)];
    let missing: Vec<String> = said
        .into_iter()
        .filter(|(_, text)| text.as_str().trim().is_empty())
        .map(|(what, _)| format!("no {what}"))
        .collect();
    (!missing.is_empty()).then(|| format!("`{}` has {}", party.code, missing.join(" and ")))
}

/// Goods that cross a border through a chain of sellers are exempt in one link of it at most (Directive 2006/112/EC
/// Art. 36a). A quote has each link as if it were that one, which is enough for a price, not for an invoice.
fn decided(quote: &Quote, offer: &str) -> Result<(), Refusal> {
    let mut flags = quote.offers.iter().filter(|found| *found.id == *offer).flat_map(|found| &found.flags);
    if flags.any(|flag| *flag == Flag::GoodsInChain) { Err(Refusal::GoodsInChain) } else { Ok(()) }
}
