//! One sale of one offer, and what an invoice says of it beside the quote.

use chrono::NaiveDate;
use evenfare_engine::national::NationalVat;
use evenfare_engine::tariff::Party;
use evenfare_engine::text::{Code, Text};
use evenfare_engine::view::{OfferView, SaleView, View};

/// One sale of one way to do the job, with the parties between whom it is made.
///
/// What a [`View`] shows is what its reader may see, so the sale of a partner can only be taken from
/// his own view or the office's.
#[derive(Debug, Clone, Copy)]
pub struct Sold<'a> {
    /// The quote it is part of.
    pub view: &'a View,
    /// The way to do the job.
    pub offer: &'a OfferView,
    /// The sale.
    pub sale: &'a SaleView,
    /// Who sells.
    pub seller: &'a Party,
    /// Who buys.
    pub buyer: &'a Party,
}

/// The quote, as this reader sees it, has no such sale.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoSuchSale {
    /// No way to do the job has that name.
    #[error("the quote has no offer `{found}`; expected one of {expected}")]
    Offer {
        /// What was asked for.
        found: String,
        /// The names there are.
        expected: String,
    },
    /// Nobody of that code sells or buys, as far as this reader sees.
    #[error("`{found}` makes no sale that this reader sees; expected one of {expected}")]
    Party {
        /// What was asked for.
        found: String,
        /// The codes there are.
        expected: String,
    },
}

impl<'a> Sold<'a> {
    /// What that party sells, by code: `workshop` or a partner's.
    ///
    /// # Errors
    /// [`NoSuchSale`] where the quote has no such offer, or the reader sees no such sale.
    pub fn by(view: &'a View, offer: &str, seller: &str) -> Result<Self, NoSuchSale> {
        Self::find(view, offer, seller, |sale| &sale.seller)
    }

    /// What that party buys, by code: `customer` or a partner's.
    ///
    /// # Errors
    /// As [`by`](Self::by).
    pub fn to(view: &'a View, offer: &str, buyer: &str) -> Result<Self, NoSuchSale> {
        Self::find(view, offer, buyer, |sale| &sale.buyer)
    }

    fn find(
        view: &'a View,
        offer: &str,
        party: &str,
        end: impl Fn(&'a SaleView) -> &'a Code,
    ) -> Result<Self, NoSuchSale> {
        let Some(offer) = view.offer(offer) else {
            let expected = view.offers().map(|offer| &*offer.offer).collect::<Vec<_>>().join(", ");
            return Err(NoSuchSale::Offer { found: offer.to_owned(), expected });
        };
        let whole = |sale: &'a SaleView| {
            let (seller, buyer) = (view.party(&sale.seller)?, view.party(&sale.buyer)?);
            Some(Self { view, offer, sale, seller, buyer })
        };
        let sale = offer.sales.iter().find(|sale| end(sale).as_str() == party);
        sale.and_then(whole).ok_or_else(|| {
            let expected = offer.sales.iter().map(|sale| end(sale).as_str()).collect::<Vec<_>>().join(", ");
            NoSuchSale::Party { found: party.to_owned(), expected }
        })
    }
}

/// What an invoice or a credit note says beside the quote that it is for.
///
/// Nothing here is computed: numbers and days are given out by whoever keeps the books.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InvoiceFacts {
    /// Its number (EN 16931 BT-1).
    pub number: Code,
    /// The day of issue (BT-2).
    pub issued: NaiveDate,
    /// The day it is due (BT-9); a credit note has none.
    pub due: Option<NaiveDate>,
    /// The number of the quote that was accepted, without its revision (BT-12).
    pub quote: Code,
    /// The buyer's own order, where he gave a number (BT-13).
    pub order: Option<Text>,
    /// The invoice that is taken back or put right (BT-25, BT-26).
    pub preceding: Option<Preceding>,
    /// What the payer is asked to quote (BT-83); the invoice's number where nothing else is said.
    pub payment_reference: Option<Text>,
    /// Where to pay (BG-17).
    pub account: Option<Account>,
    /// The VAT in the currency of the seller's country, where the sale is in another (BT-6 and BT-111), as
    /// [`national_vat`](evenfare_engine::national::national_vat) gives it.
    pub national_vat: Option<NationalVat>,
}

/// An earlier invoice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preceding {
    /// Its number (BT-25).
    pub number: Code,
    /// The day it was issued (BT-26).
    pub issued: NaiveDate,
}

/// An account to be paid to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// The IBAN, without spaces (BT-84).
    pub iban: Code,
    /// The BIC, where it is needed (BT-86).
    pub bic: Option<Code>,
    /// Whose account it is, where that is not the seller (BT-85).
    pub holder: Option<Text>,
}

/// An invoice: a sale, and what is said beside it. Its credit note is one of the reversed quote.
#[derive(Debug, Clone, Copy)]
pub struct Invoice<'a> {
    /// What was sold, by whom and to whom.
    pub sold: Sold<'a>,
    /// Number, days, and where to pay.
    pub facts: &'a InvoiceFacts,
}

impl Invoice<'_> {
    /// The day of supply (BT-72), where the units have left by the day of issue. A day to come is a plan, which
    /// may change; an invoice that is issued before it has no day of supply to say (Directive 2006/112/EC
    /// Art. 226(7)).
    pub fn supplied(&self) -> Option<NaiveDate> {
        self.past(self.sold.view.dispatch)
    }

    /// The day on which VAT becomes chargeable (BT-7), where it has come by the day of issue.
    pub fn tax_point(&self) -> Option<NaiveDate> {
        self.past(self.sold.view.tax_date)
    }

    fn past(&self, day: NaiveDate) -> Option<NaiveDate> {
        Some(day).filter(|day| *day <= self.facts.issued)
    }
}
