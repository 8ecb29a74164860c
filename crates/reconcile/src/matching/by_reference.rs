//! Payments that name an invoice of ours or a quote.

use super::numbers::Numbers;
use super::open::Named;
use super::payments::{Matching, State};
use super::question::Why;
use super::written::deal_of;
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::reference::Words;
use crate::threads::Threads;

/// A payment that is to be asked about, why, and the invoices that it names.
pub(super) type Contradicted = (u32, Why, Vec<u32>);

/// What a payment names.
struct Names {
    payment: u32,
    /// The quote that it pays before there is an invoice.
    in_advance: Option<u32>,
    /// How many invoices.
    invoices: usize,
    /// Is something that it names not of who paid?
    is_contradicted: bool,
}

/// What payments name, and the invoices of each, one payment's after the other's.
struct Read {
    payments: Vec<Names>,
    invoices: Vec<u32>,
}

impl Matching<'_, '_> {
    /// Matches what names an invoice of ours or a quote. What payments name is read at once by all threads; what
    /// they clear, one after the other. What names an invoice that is not of who paid is left for later.
    pub(crate) fn by_reference(
        &mut self,
        loaded: &Loaded<'_>,
        deals: &Numbers,
        threads: Threads,
    ) -> Result<Vec<Contradicted>, Unreconciled> {
        let mut contradicted = Vec::new();
        for read in threads.parts(&self.new_ones(), |part| self.read(part, loaded, deals)) {
            let mut left = read.invoices.as_slice();
            for one in &read.payments {
                let (own, rest) = left.split_at_checked(one.invoices).unwrap_or_default();
                left = rest;
                match one.in_advance {
                    _ if one.is_contradicted => {
                        contradicted.push((one.payment, Why::OtherPayer, own.to_vec()))
                    }
                    Some(deal) => self.set(one.payment, State::InAdvance(deal)),
                    None => self.settle(one.payment, own)?,
                }
            }
        }
        Ok(contradicted)
    }

    /// What each of these payments names, where it names anything.
    fn read(&self, payments: &[u32], loaded: &Loaded<'_>, deals: &Numbers) -> Read {
        let mut read = Read { payments: Vec::with_capacity(payments.len()), invoices: Vec::new() };
        let mut words = Words::default();
        let mut named = Vec::new();
        for &place in payments {
            let Some(received) = self.payment(place) else { continue };
            named.clear();
            self.names(received, deals, &mut words, &mut named);
            if named.is_empty() {
                continue;
            }
            let before = read.invoices.len();
            self.invoices(&named, &mut read.invoices);
            let own = read.invoices.get(before..).unwrap_or_default();
            read.payments.push(Names {
                payment: place,
                in_advance: if own.is_empty() { of_one_buyer(loaded, &named) } else { None },
                invoices: own.len(),
                is_contradicted: self.contradicts(loaded, received, &named, own),
            });
        }
        read
    }

    /// What a payment names, each once.
    pub(super) fn names(
        &self,
        received: &Received<'_>,
        deals: &Numbers,
        words: &mut Words,
        into: &mut Vec<Named>,
    ) {
        let payment = received.payment;
        let structured = payment.structured.iter().map(AsRef::as_ref);
        for text in structured.chain(payment.end_to_end.as_deref()).chain([&*payment.remittance]) {
            self.open.named(text, deals, words, into);
        }
        into.sort_unstable();
        into.dedup();
    }

    /// Is the payer known, and none of those that an invoice is of: neither its buyer nor anybody on the route of
    /// its quote? Where there is no invoice yet, the quotes say whose the payment is.
    fn contradicts(
        &self,
        loaded: &Loaded<'_>,
        received: &Received<'_>,
        named: &[Named],
        invoices: &[u32],
    ) -> bool {
        let Some(payer) = loaded.firms.of_payer(received.payment) else { return false };
        let on_route = |deal| {
            let mut sales = deal_of(&loaded.deals, deal).into_iter().flat_map(|deal| &deal.sales);
            sales.any(|sale| sale.buyer.id == *payer)
        };
        let mut open = invoices.iter().filter_map(|place| self.open.get(*place));
        if invoices.is_empty() {
            return named.iter().any(|one| matches!(one, Named::Deal(deal) if !on_route(*deal)));
        }
        open.any(|open| open.party != payer && !open.deal.is_some_and(on_route))
    }

    /// The invoices that are named, and those of quotes that are named without one of their invoices; the
    /// first due first.
    pub(super) fn invoices(&self, named: &[Named], into: &mut Vec<u32>) {
        let before = into.len();
        for one in named {
            match one {
                Named::Invoice(place) => into.push(*place),
                Named::Deal(deal) => {
                    let has =
                        |place: &u32| self.open.get(*place).is_some_and(|open| open.deal == Some(*deal));
                    if !into.iter().skip(before).any(has) {
                        into.extend(self.open.of_deal(*deal));
                    }
                }
            }
        }
        let due = |place: &u32| self.open.get(*place).map(|open| (open.due, &*open.invoice.number));
        let own = into.get_mut(before..).unwrap_or_default();
        own.sort_unstable_by(|a, b| due(a).cmp(&due(b)));
    }
}

/// The first quote that is named, where all of them are to one buyer.
fn of_one_buyer(loaded: &Loaded<'_>, named: &[Named]) -> Option<u32> {
    let deals =
        || named.iter().filter_map(|one| if let Named::Deal(deal) = one { Some(*deal) } else { None });
    let buyer = |deal| deal_of(&loaded.deals, deal)?.sales.first().map(|sale| &sale.buyer.id);
    let first = deals().next()?;
    deals().all(|deal| buyer(deal) == buyer(first)).then_some(first)
}
