//! Credit notes to another party than what they are about.

use std::collections::HashSet;
use std::sync::Arc;

use crate::difference::{Difference, Reason};
use crate::firm::WORKSHOP;
use crate::loaded::Loaded;
use crate::matching::{By, ByNumber, Papers, Standing, Written, author, packed};

/// The invoices that misdirected credit notes of sales name: by who wrote them and their numbers. Of a million few are.
pub(super) struct Named<'a> {
    invoices: Vec<Written<'a>>,
    by_number: ByNumber<'a>,
}

impl<'a> Named<'a> {
    pub(super) fn new(loaded: &Loaded<'a>, papers: &Papers<'a>) -> Self {
        let mut named = Self { invoices: Vec::new(), by_number: ByNumber::default() };
        let misdirected = papers.of_sales.iter().filter(|of| of.standing == Standing::ToAnother);
        let wanted: HashSet<Option<u128>> =
            misdirected.filter_map(|of| of.written.preceding()).map(packed).collect();
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

    /// The invoice that a paper names, of the one who wrote it.
    pub(super) fn by(&self, by: By<'_>) -> Option<Written<'a>> {
        let place = self.by_number.get(author(by), by.0.preceding()?)?;
        self.invoices.get(place).copied()
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
        documents: [written].into_iter().chain(invoice).map(Written::document).collect(),
    }
}
