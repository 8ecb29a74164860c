//! Payments that name an invoice of ours or a quote.

use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::numbers::{Numbers, Reader};
use super::open::{For, Open};
use super::payments::{Matching, State};
use super::question::Why;
use super::written::deal_of;
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::threads::Threads;

/// A payment that is to be asked about, and why.
pub(super) struct Contradicted {
    pub(super) payment: u32,
    pub(super) why: Why,
    /// The invoices that it names.
    pub(super) invoices: Vec<u32>,
    /// Of money that goes out, the quotes that it names.
    pub(super) deals: Vec<u32>,
    /// It goes to somebody whom nobody knows, and is not asked about where he paid for whom he names.
    pub(super) is_to_stranger: bool,
}

/// What a payment names.
struct Names {
    payment: u32,
    /// How many quotes that it pays before there are invoices, or may give that back of.
    deals: usize,
    /// How many invoices.
    invoices: usize,
    /// Is something that it names not of who paid?
    is_contradicted: bool,
    /// Does it go to somebody whom nobody knows? What the bank takes back does not.
    is_to_stranger: bool,
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
    pub(super) fn by_reference(
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
                if !one.is_contradicted && !one.is_to_stranger {
                    self.settle_named(loaded, one.payment, in_advance, own)?;
                    continue;
                }
                self.set(one.payment, State::Asked);
                contradicted.push(Contradicted {
                    payment: one.payment,
                    why: Why::OtherPayer,
                    invoices: own.to_vec(),
                    deals: in_advance.to_vec(),
                    is_to_stranger: one.is_to_stranger,
                });
            }
        }
        Ok(contradicted)
    }

    /// What each of these payments names, where it names anything.
    fn read(&self, payments: &[u32], loaded: &Loaded<'_>, deals: &Numbers) -> Read {
        let mut read =
            Read { payments: Vec::with_capacity(payments.len()), deals: Vec::new(), invoices: Vec::new() };
        let mut reader = Reader::default();
        let mut named = Vec::new();
        for &place in payments {
            let Some(received) = self.payment(place) else { continue };
            named.clear();
            self.names(received, deals, &mut reader, &mut named);
            if named.is_empty() {
                continue;
            }
            let goes_out = received.cleared() < 0;
            let before = read.invoices.len();
            self.invoices(&named, goes_out, &mut read.invoices);
            let own = read.invoices.get(before..).unwrap_or_default();
            let deals = read.deals.len();
            self.in_advance(loaded, &named, (own, goes_out), &mut read.deals);
            let payer = loaded.firms.of_payer(received.payment);
            read.payments.push(Names {
                payment: place,
                deals: read.deals.len().saturating_sub(deals),
                invoices: own.len(),
                is_contradicted: payer.is_some_and(|payer| self.contradicts(loaded, payer, &named, own)),
                is_to_stranger: payer.is_none() && goes_out && !received.reversal,
            });
        }
        read
    }

    /// Clears the invoices that a payment names, and holds what is for quotes without one. Where it comes to what all of
    /// them ask for, each takes its own; else the invoices take it or, without any, the first quote.
    pub(super) fn settle_named(
        &mut self,
        loaded: &Loaded<'_>,
        payment: u32,
        deals: &[u32],
        invoices: &[u32],
    ) -> Result<(), Unreconciled> {
        let Some(one) = self.payment(payment) else { return Ok(()) };
        let (currency, cleared) = (one.currency(), one.cleared());
        if cleared < 0 {
            let of_invoices = self.give_back_named(payment, (currency, cleared), deals, invoices)?;
            return of_invoices.map_or(Ok(()), |invoices| self.settle(payment, &invoices));
        }
        let Some(first) = deals.first() else { return self.settle(payment, invoices) };
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
        if all != 0 && cleared == all {
            for (deal, minor) in asked {
                self.hold(payment, deal, (currency, minor));
            }
            for (place, minor) in owed.into_iter().filter(|(_, minor)| *minor != 0) {
                self.allocate(payment, place, minor)?;
            }
            return Ok(());
        }
        match invoices {
            [] => self.hold(payment, *first, (currency, cleared)),
            _ => self.settle(payment, invoices)?,
        }
        Ok(())
    }

    /// Gives back what money that goes out is for, where that is more than invoices: all of it, where it comes to that;
    /// else what is held, in the order of the quotes. What is more than that is of the first. Answers the invoices,
    /// where it is of them: one was paid too much, or nothing is held for the quotes.
    pub(super) fn give_back_named(
        &mut self,
        payment: u32,
        (currency, cleared): (Currency, i64),
        deals: &[u32],
        invoices: &[u32],
    ) -> Result<Option<Vec<u32>>, Unreconciled> {
        let invoices = self.moved(invoices);
        let owed: Vec<(u32, i64)> = invoices.iter().map(|place| (*place, self.rest(*place))).collect();
        let held: Vec<(u32, i64)> =
            deals.iter().map(|deal| (*deal, self.held_for(*deal, currency))).collect();
        let sum = |all: &[(u32, i64)]| all.iter().fold(0_i64, |sum, (_, minor)| sum.saturating_add(*minor));
        let all_held = sum(&held);
        let goes_back = |open: &Open<'_>| open.currency() == currency && open.rest() <= 0;
        let goes_back = |place: &u32| self.open.get(*place).is_some_and(goes_back);
        let is_all = invoices.iter().all(goes_back) && sum(&owed).saturating_sub(all_held) == cleared;
        if !is_all && !invoices.is_empty() && (all_held == 0 || owed.iter().any(|(_, rest)| *rest < 0)) {
            return Ok(Some(invoices));
        }
        let mut left = cleared.saturating_neg();
        if is_all {
            left = all_held;
            for (place, minor) in owed.into_iter().filter(|(_, minor)| *minor != 0) {
                self.allocate(payment, place, minor)?;
            }
        }
        let mut over = left.saturating_sub(all_held).max(0);
        for (deal, held) in held {
            let part = left.min(held.saturating_add(std::mem::take(&mut over)));
            left = left.saturating_sub(part);
            if part > 0 {
                self.hold(payment, deal, (currency, part.saturating_neg()));
            }
        }
        Ok(None)
    }

    /// Those of invoices that something was paid of, or is to be paid or to go back of; all, where there is none.
    fn moved(&self, invoices: &[u32]) -> Vec<u32> {
        let is_moved = |open: &Open<'_>| open.paid != 0 || open.rest() != 0;
        let moved = invoices.iter().filter(|place| self.open.get(**place).is_some_and(is_moved));
        let moved: Vec<u32> = moved.copied().collect();
        if moved.is_empty() { invoices.to_vec() } else { moved }
    }

    /// What a payment names, each once.
    pub(super) fn names(
        &self,
        received: &Received<'_>,
        deals: &Numbers,
        reader: &mut Reader,
        into: &mut Vec<For>,
    ) {
        let payment = received.payment;
        let structured = payment.structured.iter().map(AsRef::as_ref);
        for text in structured.chain(payment.end_to_end.as_deref()).chain([&*payment.remittance]) {
            self.open.named(text, deals, reader, into);
        }
        into.sort_unstable();
        into.dedup();
    }

    /// Is a payer who is known none of those that an invoice is of: neither its buyer nor anybody on the route of its quote?
    /// Of what has no invoice yet, the quote says whose it is.
    fn contradicts(&self, loaded: &Loaded<'_>, payer: &Arc<str>, named: &[For], invoices: &[u32]) -> bool {
        let on_route = |deal| {
            let mut sales = deal_of(&loaded.deals, deal).into_iter().flat_map(|deal| &deal.sales);
            sales.any(|sale| sale.buyer.id == *payer)
        };
        let mut open = invoices.iter().filter_map(|place| self.open.get(*place));
        let is_invoiced = |deal| open.clone().any(|open| open.deal == Some(deal));
        let is_of_another = |deal| !on_route(deal) && !is_invoiced(deal);
        named.iter().any(|one| matches!(one, For::Deal(deal) if is_of_another(*deal)))
            || open.any(|open| open.party != payer && !open.deal.is_some_and(on_route))
    }

    /// The invoices that are named, and those of quotes that are named without one of their invoices; of money that goes
    /// out, the papers of quotes that it may go back of. The first due first.
    pub(super) fn invoices(&self, named: &[For], goes_out: bool, into: &mut Vec<u32>) {
        let before = into.len();
        for one in named {
            match one {
                For::Open(place) => into.push(*place),
                For::Deal(deal) => {
                    let has =
                        |place: &u32| self.open.get(*place).is_some_and(|open| open.deal == Some(*deal));
                    if into.iter().skip(before).any(has) {
                        continue;
                    }
                    match goes_out {
                        true => into.extend(self.open.refundable(*deal)),
                        false => into.extend(self.open.of_deal(*deal)),
                    }
                }
            }
        }
        let due = |place: &u32| self.open.get(*place).map(|open| (open.due, &*open.invoice.number));
        let own = into.get_mut(before..).unwrap_or_default();
        own.sort_unstable_by(|a, b| due(a).cmp(&due(b)));
    }

    /// The quotes that are named and have no invoice, where all of them are to one buyer. What goes out may give back what
    /// was paid in advance beside an invoice that was taken back.
    fn in_advance(
        &self,
        loaded: &Loaded<'_>,
        named: &[For],
        (invoices, goes_out): (&[u32], bool),
        into: &mut Vec<u32>,
    ) {
        let before = into.len();
        let has_one = |deal| {
            let is_one = |open: &Open<'_>| open.deal == deal && (!goes_out || open.is_invoiced());
            invoices.iter().any(|place| self.open.get(*place).is_some_and(is_one))
        };
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
