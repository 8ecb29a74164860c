//! What only a person can decide.

use std::sync::Arc;

use evenfare_engine::money::Currency;

use crate::difference::Document;
use crate::terms::{Part, PaymentId};

/// Why something was not matched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Why {
    /// Several matches are equally good.
    EquallyGood,
    /// The party has more open invoices than combinations of them are tried for.
    TooMany,
    /// It is a part of what is left of one of several invoices.
    PartOfSeveral,
    /// It names invoices of several currencies.
    SeveralCurrencies,
    /// It names an invoice, or a quote before there is one, of another party than the one that paid.
    OtherPayer,
}

impl Why {
    /// The stable code.
    pub const fn code(self) -> &'static str {
        match self {
            Self::EquallyGood => "equally_good",
            Self::TooMany => "too_many",
            Self::PartOfSeveral => "part_of_several",
            Self::SeveralCurrencies => "several_currencies",
            Self::OtherPayer => "other_payer",
        }
    }
}

/// A question for a person: what a payment or an invoice is for. A
/// [`Decision`](crate::terms::Decision) answers it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undecided {
    /// The payment or invoice.
    pub subject: Document,
    /// The payment's name, where it is one.
    pub payment: Option<PaymentId>,
    /// Who wrote the invoice, where it is one: `workshop` or the partner's code.
    pub seller: Option<Arc<str>>,
    /// Why it is asked.
    pub why: Why,
    /// Of the amount.
    pub currency: Currency,
    /// What came in, or the invoice's gross.
    pub amount_minor: i64,
    /// What it may be for: numbers of our invoices, which together are one match; for an invoice, the
    /// number of a quote. Some of the best, where there are many.
    pub candidates: Vec<Vec<Box<str>>>,
    /// For a payment, what each of the candidates takes of it, invoice by invoice; where there are too many to
    /// try, or of several currencies, what is left of each.
    pub parts: Vec<Vec<Part>>,
}
