//! What is kept, on its way out.

use bytes::Bytes;
use evenfare_engine::view::{Reader, view_of};
use evenfare_store::entry::{Entry, Summary};
use evenfare_store::event::{Event, Kept, Kind, Record};
use evenfare_store::invoice::{Invoice, Sale};

use super::refusal::Refusal;
use crate::kept::read_entry;
use crate::wire::answer;
use crate::wire::{WrittenQuote, moment, pb};

/// Whatever is answered: a kept quote of many units is long.
pub(super) const LARGEST_ANSWER: usize = 16 << 20;

/// An entry as its reader may see it.
pub(super) fn entry(
    entry: &Entry,
    reader: &Reader,
    with_working: bool,
) -> Result<answer::KeptQuote, Refusal> {
    let (job, quote) = read_entry(entry)?;
    let mut seen = view_of(quote, reader).ok_or(Refusal::NoSuchQuote)?;
    if !with_working {
        [&mut seen.main].into_iter().chain(&mut seen.alternatives).for_each(|offer| offer.working.clear());
    }
    Ok(kept(entry, reader, job, (&seen).into()))
}

fn kept(entry: &Entry, reader: &Reader, job: pb::Job, quote: WrittenQuote) -> answer::KeptQuote {
    let changes = matches!(reader, Reader::Office);
    answer::KeptQuote {
        number: entry.number.to_string(),
        state: pb::QuoteState::from(entry.state).into(),
        accepted_offer: entry.accepted.as_ref().map(ToString::to_string),
        settled: entry.settled.map(Into::into),
        recorded: Some(moment(entry.recorded)),
        etag: if changes { entry.etag.to_string() } else { String::new() },
        quote: Some(quote),
        job: reader.sees_all().then_some(job),
    }
}

/// The entry of a record, for the office that has just written it.
pub(super) fn written(record: &Record) -> Result<answer::KeptQuote, Refusal> {
    match &record.kept {
        Kept::Entry(kept) => entry(kept, &Reader::Office, true),
        Kept::Invoice(_) | Kept::Edition(_) | Kept::Caller(_) | Kept::Unread(_) => {
            Err(Refusal::Internal(format!("event {} is not about a quote", record.event.sequence)))
        }
    }
}

/// What a document was made of, to answer with.
pub(super) struct Made {
    pub(super) document: Bytes,
    pub(super) said: answer::KeptDocument,
}

/// The same where the document was made for this request. A document that is the same says the same,
/// and need not be read to be answered with; a request that was answered before may have another.
pub(super) fn made(record: &Record, made: Made) -> Result<answer::KeptQuote, Refusal> {
    match (&record.kept, made.said) {
        (Kept::Entry(entry), answer::KeptDocument { job: Some(job), quote: Some(quote) })
            if entry.content.document == made.document =>
        {
            Ok(kept(entry, &Reader::Office, job, quote))
        }
        _ => written(record),
    }
}

/// A line of a list; `accepted_net_minor` is what the accepted offer comes to.
pub(super) fn summary(summary: Summary, accepted_net_minor: Option<i64>) -> pb::QuoteSummary {
    let money = |amount_minor| pb::Money { amount_minor, currency_code: summary.currency.clone() };
    pb::QuoteSummary {
        number: summary.number.to_string(),
        revision: summary.revision,
        state: pb::QuoteState::from(summary.state).into(),
        reference: summary.reference.to_string(),
        customer: summary.customer.to_string(),
        quoted: Some(summary.quoted.into()),
        valid_until: Some(summary.valid_until.into()),
        end_net: Some(money(summary.end_net_minor)),
        recorded: Some(moment(summary.recorded)),
        accepted_offer: summary.accepted.as_ref().map(ToString::to_string),
        accepted_net: accepted_net_minor.map(money),
    }
}

/// An event; none where it is not about a quote.
pub(super) fn event(event: &Event) -> Option<pb::QuoteEvent> {
    let kind = match event.kind {
        Kind::Issued => pb::QuoteEventKind::Issued,
        Kind::Revised => pb::QuoteEventKind::Revised,
        Kind::Reversed => pb::QuoteEventKind::Reversed,
        Kind::Accepted => pb::QuoteEventKind::Accepted,
        Kind::Declined => pb::QuoteEventKind::Declined,
        Kind::Invoiced | Kind::Credited | Kind::Published | Kind::CallerAdded | Kind::CallerWithdrawn => {
            return None;
        }
    };
    Some(pb::QuoteEvent {
        sequence: event.sequence,
        kind: kind.into(),
        number: event.subject.clone(),
        revision: event.revision?,
        recorded: Some(moment(event.recorded)),
        caller: event.caller.to_string(),
        accepted_offer: event.offer.as_ref().map(ToString::to_string),
        settled: event.settled.map(Into::into),
        reason: event.reason.to_string(),
        etag: event.hash.to_string(),
    })
}

/// An invoice or a credit note.
pub(super) fn invoice(invoice: Invoice, reader: &Reader) -> pb::Invoice {
    let Invoice { number, billed, reference, customer, recorded, reason, credited } = invoice;
    let Sale { net_minor, gross_minor } = billed.sale;
    let money = |minor| Some(pb::Money::of(minor, billed.currency));
    let kind = match billed.preceding {
        None => pb::InvoiceKind::Invoice,
        Some(_) => pb::InvoiceKind::CreditNote,
    };
    pb::Invoice {
        number: number.to_string(),
        kind: kind.into(),
        quote_number: billed.quote.to_string(),
        revision: billed.revision,
        offer: billed.offer.to_string(),
        reference: reference.to_string(),
        customer: customer.to_string(),
        partner: billed.partner.as_ref().map(ToString::to_string),
        issued: Some(billed.issued.into()),
        due: billed.due.map(Into::into),
        net: money(net_minor),
        gross: money(gross_minor),
        preceding: billed.preceding.as_ref().map(ToString::to_string),
        credit_note: credited.as_ref().map(ToString::to_string),
        recorded: Some(moment(recorded)),
        reason: if reader.sees_all() { reason.to_string() } else { String::new() },
    }
}

/// The invoice of a record, for the office that has just written it.
pub(super) fn invoiced(record: Record) -> Result<pb::Invoice, Refusal> {
    match record.kept {
        Kept::Invoice(kept) => Ok(invoice(*kept, &Reader::Office)),
        Kept::Entry(_) | Kept::Edition(_) | Kept::Caller(_) | Kept::Unread(_) => {
            Err(Refusal::Internal(format!("event {} is not about an invoice", record.event.sequence)))
        }
    }
}
