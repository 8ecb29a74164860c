//! What is written about a sale: invoices, credit notes and charges.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::question::{Undecided, Why};
use crate::agreed::{Agreed, AgreedSale};
use crate::difference::{Document, Paper};
use crate::firm::WORKSHOP;
use crate::input::{Charge, Invoice, InvoiceKind, Place};
use crate::known_firms::KnownFirms;

/// What was written about a sale.
#[derive(Clone, Copy)]
pub(crate) enum Written<'a> {
    Invoice(&'a Invoice),
    Charge(&'a Charge),
}

impl<'a> Written<'a> {
    pub(crate) fn number(self) -> &'a str {
        match self {
            Self::Invoice(invoice) => &invoice.number,
            Self::Charge(charge) => &charge.invoice,
        }
    }

    pub(crate) fn issued(self) -> NaiveDate {
        match self {
            Self::Invoice(invoice) => invoice.issued,
            Self::Charge(charge) => charge.issued,
        }
    }

    pub(crate) fn currency(self) -> Currency {
        match self {
            Self::Invoice(invoice) => invoice.currency,
            Self::Charge(charge) => charge.currency,
        }
    }

    /// What it charges before VAT; below nothing, what it takes back.
    pub(crate) fn net(self) -> i64 {
        match self {
            Self::Invoice(invoice) => signed(invoice, invoice.net_minor),
            Self::Charge(charge) => charge.net_minor,
        }
    }

    pub(crate) fn gross(self) -> i64 {
        match self {
            Self::Invoice(invoice) => signed(invoice, invoice.gross_minor),
            Self::Charge(charge) => charge.net_minor.saturating_add(charge.vat_minor),
        }
    }

    pub(crate) fn vat(self) -> i64 {
        self.gross().saturating_sub(self.net())
    }

    /// Does it take something back? An invoice below nothing does as a credit note does.
    pub(crate) fn is_credit(self) -> bool {
        match self {
            Self::Invoice(Invoice { kind: InvoiceKind::Invoice, gross_minor, .. }) => *gross_minor < 0,
            Self::Invoice(Invoice { gross_minor, .. }) => *gross_minor >= 0,
            Self::Charge(charge) => charge.net_minor < 0,
        }
    }

    /// The invoice that it names as the one before it; of several the first.
    pub(crate) fn preceding(self) -> Option<&'a str> {
        match self {
            Self::Invoice(invoice) => invoice.preceding.as_deref(),
            Self::Charge(_) => None,
        }
    }

    /// All invoices that it names so.
    pub(crate) fn all_preceding(self) -> impl Iterator<Item = &'a str> {
        let others = match self {
            Self::Invoice(invoice) => &*invoice.other_preceding,
            Self::Charge(_) => &[],
        };
        self.preceding().into_iter().chain(others.iter().map(|number| &**number))
    }

    /// Who wrote it, where that is known.
    pub(crate) fn seller(self, firms: &KnownFirms<'a>) -> Option<&'a Arc<str>> {
        match self {
            Self::Invoice(invoice) => firms.of_trader(&invoice.seller),
            Self::Charge(charge) => firms.by_id(charge.partner.as_str()),
        }
    }

    /// Who wrote it, by the name that stands there.
    pub(crate) fn seller_name(self) -> Arc<str> {
        match self {
            Self::Invoice(invoice) => Arc::clone(&invoice.seller.name),
            Self::Charge(charge) => charge.partner.as_str().into(),
        }
    }

    /// Whom it is to; a row of a list names nobody.
    pub(crate) fn party(self, firms: &KnownFirms<'a>) -> Option<&'a str> {
        match self {
            Self::Invoice(invoice) => Some(firms.party(&invoice.buyer)),
            Self::Charge(_) => None,
        }
    }

    /// Is it to another than who bought by what was agreed? A row of a list names nobody. A partner may spell a name in his
    /// own way, so of his papers only a firm that is known, or another VAT identifier, is another; what we write is on the
    /// account of whom it names.
    pub(crate) fn is_to_another_than(self, sale: &AgreedSale, firms: &KnownFirms<'a>) -> bool {
        let Self::Invoice(invoice) = self else { return false };
        let (named, bought) = (&invoice.buyer, &sale.buyer);
        if **firms.party(named) == *bought.id {
            return false;
        }
        let is_told_apart = || named.vat_id.is_some() && bought.vat_id.is_some();
        *sale.seller.id == *WORKSHOP || firms.of_trader(named).is_some() || is_told_apart()
    }

    fn place(self) -> &'a Place {
        match self {
            Self::Invoice(invoice) => &invoice.place,
            Self::Charge(charge) => &charge.place,
        }
    }

    /// What it calls itself; a row of a list, by what it does.
    pub(crate) fn paper(self) -> Paper {
        let is_credit_note = match self {
            Self::Invoice(invoice) => invoice.kind == InvoiceKind::CreditNote,
            Self::Charge(_) => self.is_credit(),
        };
        if is_credit_note { Paper::CreditNote } else { Paper::Invoice }
    }

    pub(crate) fn document(self) -> Document {
        Document { paper: self.paper(), number: self.number().into(), place: Some(self.place().clone()) }
    }
}

/// An amount of an invoice as it is, of a credit note as what it takes back.
pub(crate) fn signed(invoice: &Invoice, minor: i64) -> i64 {
    match invoice.kind {
        InvoiceKind::Invoice => minor,
        InvoiceKind::CreditNote => minor.saturating_neg(),
    }
}

/// What became of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Standing {
    /// It counts.
    Kept,
    /// A second one for what was invoiced already.
    Double,
    /// An invoice taken back as a whole, or the credit note that does so.
    TakenBack,
    /// A credit note to another party than what it names is to: it takes nothing back of that.
    ToAnother,
}

/// A sale, by the places of its deal and of it in that.
pub(crate) type SaleAt = (u32, u32);

/// A paper of a sale.
pub(crate) struct OfSale<'a> {
    pub(crate) deal: u32,
    pub(crate) sale: u32,
    pub(crate) written: Written<'a>,
    pub(crate) standing: Standing,
}

impl<'a> OfSale<'a> {
    /// It, with who wrote it.
    pub(crate) fn by(&self, deals: &[&'a Agreed]) -> By<'a> {
        (self.written, sale_of(deals, self.deal, self.sale).map(|sale| &sale.seller.id))
    }
}

/// A paper, with who wrote it, where that is known.
pub(crate) type By<'a> = (Written<'a>, Option<&'a Arc<str>>);

/// Who wrote a paper: the firm or, where it is not known, what the paper says.
pub(crate) fn author<'a>((written, seller): By<'a>) -> &'a str {
    match (seller, written) {
        (Some(seller), _) => seller,
        (None, Written::Invoice(invoice)) => invoice.seller.key(),
        (None, Written::Charge(charge)) => charge.partner.as_str(),
    }
}

/// Seller, buyer, currency and gross: what a sale is known by without a number.
pub(crate) type BetweenWhom<'s> = (&'s str, &'s str, Currency, i64);

/// Asks which of these quotes a paper is for.
pub(crate) fn asked((written, seller): By<'_>, quotes: impl Iterator<Item = Box<str>>) -> Undecided {
    Undecided {
        subject: written.document(),
        payment: None,
        seller: seller.cloned(),
        why: Why::EquallyGood,
        currency: written.currency(),
        amount_minor: written.gross(),
        candidates: quotes.map(|quote| vec![quote]).collect(),
        parts: Vec::new(),
    }
}

pub(crate) fn deal_of<'a>(deals: &[&'a Agreed], deal: u32) -> Option<&'a Agreed> {
    deals.get(usize::try_from(deal).ok()?).copied()
}

pub(crate) fn sale_of<'a>(deals: &[&'a Agreed], deal: u32, sale: u32) -> Option<&'a AgreedSale> {
    deal_of(deals, deal)?.sales.get(usize::try_from(sale).ok()?)
}
