//! Why something cannot be written.

use evenfare_engine::money::{Overflow, UnknownCurrency};

/// Why a sale cannot be written in a standard's form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotWritable {
    /// A reversal offers nothing.
    #[error("a reversal is no quotation; expected a quote or a revision of one")]
    Reversal,
    /// A credit note takes back, and this takes nothing back.
    #[error("revision {revision} takes nothing back; expected a reversal, of which a credit note is written")]
    NotAReversal {
        /// Which revision it is.
        revision: u32,
    },
    /// An invoice has one line at least (BR-16).
    #[error("the sale has no lines; expected one at least (EN 16931 BR-16)")]
    NoLines,
    /// The view does not fit its own sale.
    #[error("the quote does not tell which VAT each of its lines is charged")]
    LinesWithoutVat,
    /// What is not subject to VAT never stands on one invoice with anything else (BR-O-11).
    #[error(
        "part of the sale is not subject to VAT; expected two invoices, for EN 16931 has such lines on one of their own (BR-O-11)"
    )]
    MixedWithO,
    /// The category needs an identifier that a party does not have (BR-S-02, BR-AE-02, BR-IC-02, BR-G-02).
    #[error(
        "`{party}` has no VAT identifier; expected one, for category {category} asks for it (EN 16931 {rule})"
    )]
    NoVatIdentifier {
        /// The party's code.
        party: String,
        /// The category's code.
        category: &'static str,
        /// The rule that asks.
        rule: &'static str,
    },
    /// The amount has more decimals than there is room for (BR-DEC).
    #[error("`{amount}` has more than two decimals; EN 16931 has no room for a third (BR-DEC)")]
    ThirdDecimal {
        /// The amount, with its currency.
        amount: String,
    },
    /// VAT was rounded to fewer decimals than the standard rounds it to (BR-CO-17).
    #[error(
        "VAT of `{tax}` on `{base}` is rounded to what the currency has; EN 16931 rounds it to two decimals (BR-CO-17)"
    )]
    RoundedToo {
        /// The VAT, with its currency.
        tax: String,
        /// What it is charged on.
        base: String,
    },
    /// The published test of VAT takes the rate for zero (BR-CO-17).
    #[error(
        "VAT of `{tax}` is charged at {rate} %; expected a rate from 0.5 %, for the published test of EN 16931 takes what is below for none (BR-CO-17)"
    )]
    RateTooSmall {
        /// The rate, in percent.
        rate: String,
        /// The VAT, with its currency.
        tax: String,
    },
    /// The currency is none.
    #[error(transparent)]
    Currency(#[from] UnknownCurrency),
    /// An amount beyond its bounds.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}
