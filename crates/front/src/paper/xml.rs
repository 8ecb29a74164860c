//! Documents as XML.

use evenfare_engine::view::View;
use evenfare_paper::ubl::{self, Quotation};
use evenfare_paper::{Invoice, NoSuchSale, Sold};

use super::kind::Kind;
use super::refused::NotMade;
use super::source::Source;

impl From<NoSuchSale> for NotMade {
    fn from(error: NoSuchSale) -> Self {
        match error {
            NoSuchSale::Offer { found, expected } => Self::Offer { found, expected },
            NoSuchSale::Party { .. } => Self::Internal(error.to_string()),
        }
    }
}

impl From<ubl::NotWritable> for NotMade {
    fn from(error: ubl::NotWritable) -> Self {
        Self::NotWritable(error.to_string())
    }
}

/// What one party is offered, by one offer.
pub(super) fn quotation(
    source: &Source<'_>,
    view: &View,
    offer: &str,
    buyer: &str,
) -> Result<Vec<u8>, NotMade> {
    let sold = Sold::to(view, offer, buyer)?;
    Ok(ubl::quotation(&Quotation { sold, number: source.number, state: source.state })?)
}

/// An invoice, or the credit note that takes it back.
pub(super) fn billed(kind: Kind, invoice: &Invoice<'_>) -> Result<Vec<u8>, NotMade> {
    let written = if kind == Kind::CreditNote { ubl::credit_note(invoice) } else { ubl::invoice(invoice) };
    Ok(written?)
}
