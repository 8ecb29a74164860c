//! What the model knows of invoices: lists that are searched from end to end.

use chrono::{Datelike, NaiveDate};
use evenfare_engine::text::Code;
use evenfare_store::invoice::{Billed, Sale};
use evenfare_store::number::{Number, Series};
use evenfare_store::refused::Refused;
use evenfare_store::{InvoiceFilter, Sight};

/// An invoice or a credit note as it is told.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldInvoice {
    pub number: Number,
    pub billed: Billed,
    pub reference: Code,
    pub credited: Option<Number>,
}

/// With the credit notes that took them back.
pub fn as_they_stand(mut invoices: Vec<ToldInvoice>) -> Vec<ToldInvoice> {
    let notes = invoices.clone();
    for invoice in &mut invoices {
        let takes_back = |note: &&ToldInvoice| note.billed.preceding.as_ref() == Some(&invoice.number);
        invoice.credited = notes.iter().find(takes_back).map(|note| note.number.clone());
    }
    invoices
}

/// The whole list, what was written down last first.
pub fn list(mut all: Vec<ToldInvoice>, sight: &Sight, filter: &InvoiceFilter) -> Vec<ToldInvoice> {
    all.retain(|ToldInvoice { number, billed, .. }| {
        (match sight {
            Sight::All => true,
            Sight::Partner(partner) => billed.partner.as_ref() == Some(partner),
        }) && filter.series.as_ref().is_none_or(|series| *series == number.series)
            && filter.quote.as_ref().is_none_or(|quote| *quote == billed.quote)
            && filter.issued_from.is_none_or(|day| day <= billed.issued)
            && filter.issued_until.is_none_or(|day| billed.issued <= day)
    });
    all.reverse();
    all
}

pub fn next_number(all: &[ToldInvoice], series: &Series, issued: NaiveDate) -> Result<Number, Refused> {
    let year = u16::try_from(issued.year()).unwrap();
    let is_alike = |number: &Number| number.series == *series && number.year == year;
    let alike: Vec<_> = all.iter().filter(|invoice| is_alike(&invoice.number)).collect();
    match alike.last() {
        Some(ToldInvoice { number, billed, .. }) if billed.issued > issued => {
            Err(Refused::OutOfOrder { last: number.clone(), issued: billed.issued })
        }
        _ => {
            let sequence = u32::try_from(alike.len()).unwrap() + 1;
            Ok(Number { series: series.clone(), year, sequence })
        }
    }
}

/// An invoice without what stands in the entry; `accepted` is the day and the offer, or why there is none.
pub fn invoice(
    all: &[ToldInvoice],
    quote: &Number,
    accepted: Result<(NaiveDate, Code), Refused>,
    (issued, due): (NaiveDate, NaiveDate),
) -> Result<Billed, Refused> {
    let (quote, (accepted, offer)) = (quote.clone(), accepted?);
    let stands = |told: &&ToldInvoice| {
        told.billed.quote == quote && told.billed.preceding.is_none() && told.credited.is_none()
    };
    if let Some(before) = all.iter().find(stands) {
        return Err(Refused::AlreadyInvoiced { number: quote, invoice: before.number.clone() });
    }
    if issued < accepted {
        return Err(Refused::BeforeAcceptance { number: quote, accepted });
    }
    if due < issued {
        return Err(Refused::DueBeforeIssue { issued });
    }
    Ok(Billed {
        quote,
        revision: 0,
        offer,
        preceding: None,
        partner: None,
        issued,
        due: Some(due),
        currency: "EUR".parse().unwrap(),
        sale: Sale { net_minor: 0, gross_minor: 0 },
    })
}

/// What a credit note says, and the reference of its job.
pub fn credit(all: &[ToldInvoice], invoice: &Number, issued: NaiveDate) -> Result<(Billed, Code), Refused> {
    let number = invoice.clone();
    let Some(told) = all.iter().find(|told| told.number == number).cloned() else {
        return Err(Refused::NoSuchInvoice { number });
    };
    let ToldInvoice { billed, reference, credited, .. } = told;
    if let Some(preceding) = billed.preceding {
        return Err(Refused::NotAnInvoice { number, preceding });
    }
    if let Some(credit_note) = credited {
        return Err(Refused::AlreadyCredited { number, credit_note });
    }
    if issued < billed.issued {
        return Err(Refused::BeforeInvoice { number, issued: billed.issued });
    }
    let Sale { net_minor, gross_minor } = billed.sale;
    let sale = Sale { net_minor: -net_minor, gross_minor: -gross_minor };
    Ok((Billed { preceding: Some(number), issued, due: None, sale, ..billed }, reference))
}
