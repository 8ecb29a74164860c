//! Invoices of accepted offers, and the credit notes that take them back.

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::money::Currency;
use evenfare_engine::text::{Code, Text};

use crate::number::Number;

/// What the workshop's own sale comes to: to the first partner on the route, or to the customer where there is
/// none. It is taken from the offer that was accepted, and never computed anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sale {
    /// Before VAT, in minor units.
    pub net_minor: i64,
    /// With VAT, in minor units.
    pub gross_minor: i64,
}

/// What an invoice or a credit note says beside its number. Everything else (parties, lines, VAT by group) stands in
/// the entry that it is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Billed {
    /// The number of the quote.
    pub quote: Number,
    /// The revision that was accepted.
    pub revision: u32,
    /// The offer that was accepted.
    pub offer: Code,
    /// The invoice that a credit note takes back (BT-25 of EN 16931); none on an invoice.
    pub preceding: Option<Number>,
    /// The partner who buys from the workshop, and may see it; none where the customer does.
    pub partner: Option<Code>,
    /// The day of issue. Its year is that of the number.
    pub issued: NaiveDate,
    /// The day on which it is due; none on a credit note.
    pub due: Option<NaiveDate>,
    /// Of its amounts.
    pub currency: Currency,
    /// What is charged; on a credit note the opposite of it.
    pub sale: Sale,
}

/// An invoice or a credit note with what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invoice {
    /// Its number.
    pub number: Number,
    /// What it says.
    pub billed: Billed,
    /// The job's reference.
    pub reference: Code,
    /// The end customer's name.
    pub customer: Text,
    /// When it was written down.
    pub recorded: DateTime<Utc>,
    /// Why a credit note was issued, in the words of who asked for it.
    pub reason: Text,
    /// The credit note that has taken it back.
    pub credited: Option<Number>,
}

impl Sale {
    /// With the signs turned round. Every amount of a quote has an opposite.
    pub(crate) fn opposite(self) -> Self {
        let Self { net_minor, gross_minor } = self;
        Self { net_minor: net_minor.saturating_neg(), gross_minor: gross_minor.saturating_neg() }
    }
}
