//! A quote for people: what matters first, the rest in the order of the work.

mod closing;
mod head;
mod parties;
mod price;
mod units;

use evenfare_engine::money::Currency;
use evenfare_engine::view::{OfferView, Reader, SaleView, View};

use super::Page;

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
}

impl<'a> Sheet<'a> {
    fn amount(&self, minor: i64) -> String {
        super::money::amount(minor, self.currency)
    }

    /// The job itself and its alternatives.
    fn offers(&self) -> impl Iterator<Item = &'a OfferView> {
        std::iter::once(&self.view.main).chain(&self.view.alternatives)
    }

    /// The sale to the end customer, where the reader may see it.
    fn last_sale(&self) -> Option<&'a SaleView> {
        self.offer.sales.iter().find(|sale| sale.buyer == self.view.customer.code)
    }

    /// Who owes the VAT in the customer's country, and why.
    fn vat_by_whom(&self) -> String {
        let Some(sale) = self.last_sale() else { return String::new() };
        let mut reasons: Vec<&str> = sale.vat.iter().filter_map(|group| group.reason).collect();
        reasons.dedup();
        let seller =
            if sale.seller == self.view.workshop.code { "the workshop" } else { sale.seller.as_str() };
        let nothing_due = self.offer.end.vat_due_minor == Some(0);
        match (reasons.is_empty(), sale.vat.iter().any(|group| group.reason.is_none())) {
            (true, _) => format!("charged by {seller}"),
            (false, false) if nothing_due => format!("is not charged: {}", reasons.join("; ")),
            (false, false) => format!("owed by the customer: {}", reasons.join("; ")),
            (false, true) => {
                format!("charged by {seller} in part; the rest owed by the customer: {}", reasons.join("; "))
            }
        }
    }
}

/// The whole page.
pub(in crate::cli) fn page(sheet: Sheet<'_>) -> String {
    let mut page = Page::default();
    head::write(&mut page, sheet);
    units::write(&mut page, sheet);
    price::write(&mut page, sheet);
    parties::write(&mut page, sheet);
    closing::write(&mut page, sheet);
    page.finish()
}
