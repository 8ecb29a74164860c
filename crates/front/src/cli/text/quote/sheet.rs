//! What a page is written about.

use evenfare_engine::money::Currency;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{OfferView, Reader, SaleView, VatView, View};

use crate::cli::text::money::amount;
use crate::cli::text::words::is_vat_known;

/// The category of what is not subject to VAT where the seller is.
const OUTSIDE_OF_VAT: VatCategory = VatCategory::O;

/// What is written about: one offer of a quote as one reader sees it.
#[derive(Clone, Copy)]
pub(in crate::cli) struct Sheet<'a> {
    /// The whole quote.
    pub(in crate::cli) view: &'a View,
    /// The offer that is shown in full.
    pub(in crate::cli) offer: &'a OfferView,
    /// Who reads.
    pub(in crate::cli) reader: &'a Reader,
    /// Of every amount.
    pub(in crate::cli) currency: Currency,
    /// Its number and what became of it, where it is kept.
    pub(in crate::cli) kept: Option<&'a str>,
}

impl<'a> Sheet<'a> {
    pub(super) fn amount(&self, minor: i64) -> String {
        amount(minor, self.currency)
    }

    /// What hangs on a VAT that is not always known.
    pub(super) fn known(&self, minor: Option<i64>) -> String {
        minor.map_or_else(|| String::from("not known"), |minor| self.amount(minor))
    }

    /// The sale to the end customer, where the reader may see it.
    pub(super) fn last_sale(&self) -> Option<&'a SaleView> {
        self.offer.sales.iter().find(|sale| sale.buyer == self.view.customer.code)
    }

    /// The sale in which the reader buys: the customer the last, a partner his own.
    pub(super) fn bought(&self) -> Option<&'a SaleView> {
        match self.reader {
            Reader::Customer => self.last_sale(),
            Reader::Partner(own) => self.offer.sales.iter().find(|sale| sale.buyer == *own),
            Reader::Office | Reader::Accountant => None,
        }
    }

    /// Who owes the VAT in the customer's country, and why.
    pub(super) fn vat_by_whom(&self) -> String {
        let Some(sale) = self.last_sale() else { return String::new() };
        if sale.net_minor == 0 && sale.gross_minor == 0 {
            return String::from("Nothing is charged");
        }
        let reasons = |groups: &[&VatView]| {
            let mut reasons: Vec<&str> = groups.iter().filter_map(|group| group.reason).collect();
            reasons.dedup();
            reasons.join("; ")
        };
        let seller =
            if sale.seller == self.view.workshop.code { "the workshop" } else { sale.seller.as_str() };
        let (charged, others): (Vec<_>, Vec<_>) = sale.vat.iter().partition(|group| group.reason.is_none());
        let (outside, owed): (Vec<_>, Vec<_>) =
            others.iter().copied().partition(|group| group.category == OUTSIDE_OF_VAT);
        let customer = self.view.customer.country;
        if charged.is_empty() && !others.is_empty() && self.offer.end.vat_due_minor == Some(0) {
            return format!("VAT is not charged: {}", reasons(&others));
        }
        let mut by_whom = Vec::new();
        if !charged.is_empty() || others.is_empty() {
            by_whom.push(format!("charged by {seller}"));
        }
        if !owed.is_empty() {
            by_whom.push(format!("owed by the customer: {}", reasons(&owed)));
        }
        // Outside of VAT where the seller is; what is owed elsewhere is for the law there.
        if !outside.is_empty() {
            let perhaps = if is_vat_known(customer) { "" } else { ", if taxable there" };
            by_whom.push(format!(
                "not charged by {seller}: the customer declares it under the law of his country, {}{perhaps}",
                customer.name()
            ));
        }
        match by_whom.as_slice() {
            [only] => format!("VAT {only}"),
            several => format!("VAT in part {}", several.join("; in part ")),
        }
    }
}
