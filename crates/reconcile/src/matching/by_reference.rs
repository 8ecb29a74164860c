//! Payments that name an invoice of ours or a quote.

use super::numbers::Numbers;
use super::open::For;
use super::payments::Matching;
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
    /// How many quotes that it pays before there are invoices.
    deals: usize,
    /// How many invoices.
    invoices: usize,
    /// Is something that it names not of who paid?
    is_contradicted: bool,
}

/// What payments name, and the quotes and the invoices of each, one payment's after the other's.
struct Read {
    payments: Vec<Names>,
    deals: Vec<u32>,
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
            let (mut deals, mut invoices) = (read.deals.as_slice(), read.invoices.as_slice());
            for one in &read.payments {
                let (own, rest) = invoices.split_at_checked(one.invoices).unwrap_or_default();
                let (in_advance, others) = deals.split_at_checked(one.deals).unwrap_or_default();
                (deals, invoices) = (others, rest);
                match one.is_contradicted {
                    true => contradicted.push((one.payment, Why::OtherPayer, own.to_vec())),
                    false => self.settle_named(loaded, one.payment, in_advance, own)?,
                }
            }
        }
        Ok(contradicted)
    }

    /// What each of these payments names, where it names anything.
    fn read(&self, payments: &[u32], loaded: &Loaded<'_>, deals: &Numbers) -> Read {
        let mut read =
            Read { payments: Vec::with_capacity(payments.len()), deals: Vec::new(), invoices: Vec::new() };
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
            let deals = read.deals.len();
            self.in_advance(loaded, &named, own, &mut read.deals);
            read.payments.push(Names {
                payment: place,
                deals: read.deals.len().saturating_sub(deals),
                invoices: own.len(),
                is_contradicted: self.contradicts(loaded, received, &named, own),
            });
        }
        read
    }

    /// Clears the invoices that a payment names, and holds what is for quotes without one. Where it comes to what all of
    /// them ask for, each takes its own; else the invoices take it or, without any, the first quote.
    fn settle_named(
        &mut self,
        loaded: &Loaded<'_>,
        payment: u32,
        deals: &[u32],
        invoices: &[u32],
    ) -> Result<(), Unreconciled> {
        let Some((one, first)) = self.payment(payment).zip(deals.first()) else {
            return self.settle(payment, invoices);
        };
        let (currency, cleared) = (one.currency(), one.cleared());
        let gross = |deal: &u32| {
            let agreed = deal_of(&loaded.deals, *deal).filter(|agreed| agreed.currency == currency)?;
            Some((*deal, agreed.sales.first()?.gross.minor()))
        };
        let rest = |place: &u32| {
            let open = self.open.get(*place).filter(|open| open.currency() == currency)?;
            Some((*place, open.rest()))
        };
        let asked: Option<Vec<(u32, i64)>> = deals.iter().map(gross).collect();
        let owed: Option<Vec<(u32, i64)>> = invoices.iter().map(rest).collect();
        let (asked, owed) = asked.zip(owed).unwrap_or_default();
        let all = asked.iter().chain(&owed).fold(0_i64, |sum, (_, minor)| sum.saturating_add(*minor));
        let goes_back = invoices.is_empty() && cleared == all.saturating_neg();
        if all != 0 && (cleared == all || goes_back) {
            for (deal, minor) in asked {
                let minor = if goes_back { minor.saturating_neg() } else { minor };
                self.hold(payment, deal, (currency, minor));
            }
            for (place, minor) in owed.into_iter().filter(|(_, minor)| *minor != 0) {
                self.allocate(payment, place, minor)?;
            }
            return Ok(());
        }
        match invoices {
            [] => self.hold_all(payment, *first),
            _ => self.settle(payment, invoices)?,
        }
        Ok(())
    }

    /// What a payment names, each once.
    pub(super) fn names(
        &self,
        received: &Received<'_>,
        deals: &Numbers,
        words: &mut Words,
        into: &mut Vec<For>,
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
        named: &[For],
        invoices: &[u32],
    ) -> bool {
        let Some(payer) = loaded.firms.of_payer(received.payment) else { return false };
        let on_route = |deal| {
            let mut sales = deal_of(&loaded.deals, deal).into_iter().flat_map(|deal| &deal.sales);
            sales.any(|sale| sale.buyer.id == *payer)
        };
        let mut open = invoices.iter().filter_map(|place| self.open.get(*place));
        if invoices.is_empty() {
            return named.iter().any(|one| matches!(one, For::Deal(deal) if !on_route(*deal)));
        }
        open.any(|open| open.party != payer && !open.deal.is_some_and(on_route))
    }

    /// The invoices that are named, and those of quotes that are named without one of their invoices; the
    /// first due first.
    pub(super) fn invoices(&self, named: &[For], into: &mut Vec<u32>) {
        let before = into.len();
        for one in named {
            match one {
                For::Open(place) => into.push(*place),
                For::Deal(deal) => {
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

    /// The quotes that are named and have no invoice, where all of them are to one buyer.
    fn in_advance(&self, loaded: &Loaded<'_>, named: &[For], invoices: &[u32], into: &mut Vec<u32>) {
        let before = into.len();
        let has_one =
            |deal| invoices.iter().any(|place| self.open.get(*place).is_some_and(|open| open.deal == deal));
        for one in named {
            if let For::Deal(deal) = one
                && !has_one(Some(*deal))
            {
                into.push(*deal);
            }
        }
        let buyer = |deal: &u32| deal_of(&loaded.deals, *deal)?.sales.first().map(|sale| &sale.buyer.id);
        let own = into.get(before..).unwrap_or_default();
        if own.iter().any(|deal| buyer(deal) != own.first().and_then(buyer)) {
            into.truncate(before);
        }
    }
}
