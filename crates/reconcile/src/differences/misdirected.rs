//! Credit notes to another party than what they are about.

use std::collections::HashSet;
use std::sync::Arc;

use crate::difference::{Difference, Reason};
use crate::firm::WORKSHOP;
use crate::loaded::Loaded;
use crate::matching::{By, ByNumber, Decided, OfSale, Papers, Standing, Written, author, decided, packed};
use crate::terms::Decision;

/// The invoices that credit notes of sales name and that are not of their sale: by who wrote them and their numbers. Of a
/// million few are.
pub(super) struct Named<'a, 'd> {
    invoices: Vec<Written<'a>>,
    by_number: ByNumber<'a>,
    decided: Decided<'d>,
}

impl<'a, 'd> Named<'a, 'd> {
    pub(super) fn new(loaded: &Loaded<'a>, papers: &Papers<'a>, decisions: &'d [Decision]) -> Self {
        let decided = decided(decisions);
        let mut named = Self { invoices: Vec::new(), by_number: ByNumber::default(), decided };
        let of_one = papers.of_sales.chunk_by(|a, b| (a.deal, a.sale) == (b.deal, b.sale));
        let elsewhere = of_one.flat_map(|of_sale| {
            let numbers = of_sale.iter().flat_map(|of| of.written.all_preceding()).map(packed);
            let is_here = |number: &Option<u128>| {
                let is_it = |of: &OfSale<'_>| packed(of.written.number()) == *number;
                of_sale.iter().any(|of| !of.written.is_credit() && is_it(of))
            };
            let is_any_to_another = of_sale.iter().any(|of| of.standing == Standing::ToAnother);
            numbers.filter(move |number| is_any_to_another || !is_here(number))
        });
        let wanted: HashSet<Option<u128>> = elsewhere.collect();
        if wanted.is_empty() {
            return named;
        }
        let invoices = loaded.invoices.iter().map(|invoice| Written::Invoice(invoice));
        for written in invoices.chain(loaded.charges.iter().map(|charge| Written::Charge(charge))) {
            if !written.is_credit() && wanted.contains(&packed(written.number())) {
                let by = (written, written.seller(&loaded.firms));
                named.by_number.insert(author(by), written.number(), named.invoices.len());
                named.invoices.push(written);
            }
        }
        named
    }

    /// What is told of a credit note of a sale that is to another party than what it names: than the quote; or than the
    /// invoice, though the quote is of who has it, so that it takes back of that, and no person said so.
    pub(super) fn told(&self, loaded: &Loaded<'a>, of: &OfSale<'a>) -> Option<Difference> {
        let by = of.by(&loaded.deals);
        if of.standing == Standing::ToAnother {
            return Some(to_another(loaded, by, self.of_another(loaded, by).or_else(|| self.by(by).next())));
        }
        let is_decided = self.decided.contains_key(&(author(by), of.written.number()));
        let invoice = self.of_another(loaded, by).filter(|_| of.written.is_credit() && !is_decided)?;
        Some(to_another(loaded, by, Some(invoice)))
    }

    /// The first invoice that a paper names and that is to another party.
    fn of_another(&self, loaded: &Loaded<'a>, by: By<'a>) -> Option<Written<'a>> {
        let party = by.0.party(&loaded.firms)?;
        self.by(by).find(|invoice| invoice.party(&loaded.firms).is_some_and(|own| own != party))
    }

    /// The invoices that a paper names, of the one who wrote it.
    fn by(&self, by: By<'a>) -> impl Iterator<Item = Written<'a>> {
        let places = by.0.all_preceding().filter_map(move |number| self.by_number.get(author(by), number));
        places.filter_map(|place| self.invoices.get(place).copied())
    }
}

/// A credit note to another party than what it is about, with the invoice that it names. What we write concerns who
/// has it; his paper says that number too, and more of somebody else's he is not told.
pub(super) fn to_another(loaded: &Loaded<'_>, by: By<'_>, invoice: Option<Written<'_>>) -> Difference {
    let (written, seller) = by;
    let ours = seller.is_some_and(|seller| **seller == *WORKSHOP);
    let party = match (written, seller) {
        (Written::Invoice(credit), _) if ours => Arc::clone(loaded.firms.party(&credit.buyer)),
        (_, Some(seller)) => Arc::clone(seller),
        (_, None) => written.seller_name(),
    };
    Difference {
        day: written.issued(),
        reason: Reason::CreditOtherParty,
        quote: None,
        party,
        currency: written.currency(),
        amount_minor: written.gross(),
        agreed_minor: None,
        documents: [written].into_iter().chain(invoice).map(Written::document).collect(),
    }
}
