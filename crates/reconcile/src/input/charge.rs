//! What partners say they charged their buyers.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::text::Code;

use super::Place;

/// One line of a partner's list: what he charged for the work of one quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Charge {
    /// Where it was read.
    pub place: Place,
    /// Who charged.
    pub partner: Code,
    /// The quote, as he wrote it.
    pub quote: Box<str>,
    /// His own invoice number. With the partner it is known again: loaded twice, it counts once.
    pub invoice: Box<str>,
    /// The day of his invoice.
    pub issued: NaiveDate,
    /// Of every amount.
    pub currency: Currency,
    /// What he charged before VAT; below nothing, what he gave back.
    pub net_minor: i64,
    /// VAT that he charged.
    pub vat_minor: i64,
}
