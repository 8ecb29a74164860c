//! Invoices and credit notes: our own, and those that partners wrote to their buyers.
//!
//! What stands on one invoice after the other may be shared between them: a year has a million.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::country::Country;
use evenfare_engine::money::{Currency, Percent};
use evenfare_engine::supply::VatCategory;

use super::Place;

/// An invoice, or what takes one back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InvoiceKind {
    /// An invoice (UNTDID 1001: 380).
    Invoice,
    /// A credit note (381). Its amounts are what it takes back, above nothing.
    CreditNote,
}

/// A seller or a buyer, as an invoice names him.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trader {
    /// The firm's name.
    pub name: Arc<str>,
    /// VAT identifier, in its normal form.
    pub vat_id: Option<Arc<str>>,
    /// Where it is established.
    pub country: Option<Country>,
}

impl Trader {
    /// Who it is, as far as the name of an invoice goes: the VAT identifier or, without one, the name.
    pub(crate) fn key(&self) -> &Arc<str> {
        self.vat_id.as_ref().unwrap_or(&self.name)
    }
}

/// VAT of one category and rate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InvoiceVat {
    /// The category (UNCL 5305); none where it is one that a quote never has.
    pub category: Option<VatCategory>,
    /// Its code as it was written.
    pub code: Arc<str>,
    /// None where the category has none.
    pub rate: Option<Percent>,
    /// What it is charged on.
    pub base_minor: i64,
    /// The VAT.
    pub tax_minor: i64,
}

/// All VAT of an invoice in the currency in which its seller accounts for VAT, where that is another than the
/// invoice's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AccountingVat {
    /// That currency (EN 16931 BT-6).
    pub currency: Currency,
    /// The VAT (BT-111).
    pub minor: i64,
}

/// One invoice or credit note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invoice {
    /// Where it was read.
    pub place: Place,
    /// Invoice or credit note.
    pub kind: InvoiceKind,
    /// Its number (EN 16931 BT-1). With the seller it is known again: loaded twice, it counts once.
    pub number: Box<str>,
    /// The day of issue (BT-2).
    pub issued: NaiveDate,
    /// The day it is due (BT-9), where that is said.
    pub due: Option<NaiveDate>,
    /// Of every amount but that of `accounting_vat` (BT-5).
    pub currency: Currency,
    /// The quote it is for, where it names one: order, contract or project reference, or its note.
    pub quote: Option<Box<str>>,
    /// Is that its note (BT-22), which may be any words? A reference is always the number of something.
    pub is_noted: bool,
    /// What else may name it: further references, then notes. Looked at where nothing before names a quote that is known.
    pub references: Box<[Box<str>]>,
    /// The invoice that a credit note takes back (BT-25), where it names one.
    pub preceding: Option<Box<str>>,
    /// Further invoices that it names so.
    pub other_preceding: Box<[Box<str>]>,
    /// What a payer is asked to quote (BT-83), where it is said.
    pub payment_reference: Option<Box<str>>,
    /// Who sells.
    pub seller: Arc<Trader>,
    /// Who buys.
    pub buyer: Arc<Trader>,
    /// Before VAT (BT-109).
    pub net_minor: i64,
    /// By category and rate.
    pub vat: Vec<InvoiceVat>,
    /// The VAT in the currency that it is accounted for in, where the paper says it. In the currency of the books
    /// it is what is posted.
    pub accounting_vat: Option<AccountingVat>,
    /// With VAT (BT-112).
    pub gross_minor: i64,
    /// By how much what is left to be paid is rounded (BT-114).
    pub rounding_minor: i64,
    /// What is left to be paid (BT-115).
    pub payable_minor: i64,
}

impl Invoice {
    /// Does another say the same? Where it stands is another thing, and so is what it mentions besides, further invoices
    /// among that: whoever sends an invoice again notes that he does.
    pub(crate) fn is_copy_of(&self, other: &Self) -> bool {
        let Self { place, references, other_preceding, .. } = other.clone();
        Self { place, references, other_preceding, ..self.clone() } == *other
    }
}
