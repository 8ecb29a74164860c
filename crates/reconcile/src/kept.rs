//! Papers that nothing is posted of, as a closing keeps them.
//!
//! What is posted, a closing has in its journal: our invoices, payments, courier bills. Quotes, and what partners
//! invoice and charge, are only held against others; so a closing keeps what they said.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use crate::agreed::Agreed;
use crate::difference::Paper;
use crate::input::{Charge, Invoice, InvoiceKind};
use crate::matching::signed;

/// A paper, as far as a closing keeps it: a sale of a quote, an invoice or credit note that is not ours, or a line of
/// what a partner charged.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct KeptPaper {
    /// Quote, invoice or credit note; a line of what a partner charged is an invoice.
    pub paper: Paper,
    /// Who sells: a code; of an invoice the VAT identifier or, without one, the name.
    pub seller: Arc<str>,
    /// Its number; of a quote with the revision, as `Q-2026-00002/1`.
    pub number: Box<str>,
    /// The quote, as a line of what a partner charged names it; of other papers none.
    pub quote: Option<Box<str>>,
    /// The day it is of.
    pub day: NaiveDate,
    /// What it says; none where it is there no more.
    pub said: Option<Said>,
}

/// What a paper says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Said {
    /// Of the amounts.
    pub currency: Currency,
    /// Before VAT, in minor units; of a credit note below nothing.
    pub net_minor: i64,
    /// With VAT.
    pub gross_minor: i64,
}

/// What a paper is known again by.
pub(crate) type Name<'p> = (Paper, &'p str, &'p str, Option<&'p str>);

impl KeptPaper {
    pub(crate) fn name(&self) -> Name<'_> {
        (self.paper, &self.seller, &self.number, self.quote.as_deref())
    }

    /// Each sale of a quote.
    pub(crate) fn of_quote(agreed: &Agreed) -> impl Iterator<Item = Self> + '_ {
        agreed.sales.iter().map(|sale| Self {
            paper: Paper::Quote,
            seller: Arc::clone(&sale.seller.id),
            number: format!("{}/{}", agreed.number, agreed.revision).into(),
            quote: None,
            day: agreed.accepted,
            said: Some(Said {
                currency: agreed.currency,
                net_minor: sale.net.minor(),
                gross_minor: sale.gross.minor(),
            }),
        })
    }

    pub(crate) fn of_invoice(invoice: &Invoice) -> Self {
        let paper = match invoice.kind {
            InvoiceKind::Invoice => Paper::Invoice,
            InvoiceKind::CreditNote => Paper::CreditNote,
        };
        Self {
            paper,
            seller: Arc::clone(invoice.seller.key()),
            number: invoice.number.clone(),
            quote: None,
            day: invoice.issued,
            said: Some(Said {
                currency: invoice.currency,
                net_minor: signed(invoice, invoice.net_minor),
                gross_minor: signed(invoice, invoice.gross_minor),
            }),
        }
    }

    pub(crate) fn of_charge(charge: &Charge) -> Self {
        Self {
            paper: Paper::Invoice,
            seller: charge.partner.as_str().into(),
            number: charge.invoice.clone(),
            quote: Some(charge.quote.clone()),
            day: charge.issued,
            said: Some(Said {
                currency: charge.currency,
                net_minor: charge.net_minor,
                gross_minor: charge.net_minor.saturating_add(charge.vat_minor),
            }),
        }
    }
}
