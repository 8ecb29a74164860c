//! Payments, and what they are for: by decision, by reference, else by party and amount.

use std::collections::HashMap;
use std::sync::Arc;

use evenfare_engine::money::{Currency, Exact, Overflow};

use super::numbers::Numbers;
use super::open::{Named, Open, OpenItems};
use super::papers::deal_of;
use super::question::{Undecided, Why};
use crate::difference::{Document, Paper};
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::rates::Rates;
use crate::reference::Words;
use crate::terms::{Decision, Part, PaymentId, Terms};
use crate::threads::Threads;

/// A part of a payment that clears a part of an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Allocation {
    pub(crate) payment: u32,
    pub(crate) open: u32,
    /// In the invoice's currency.
    pub(crate) minor: i64,
}

/// What is known of a payment that clears no invoice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum State {
    /// Nothing yet.
    New,
    /// It clears invoices.
    Allocated,
    /// It goes from one account of ours to another.
    Transfer,
    /// Paid for a quote of this party before there is an invoice.
    InAdvance(u32),
    /// A question is open.
    Asked,
    /// A person decided that it is for nothing that was agreed.
    Other,
    /// It is for nothing known.
    Unknown,
}

/// What a payment names.
struct Names {
    payment: u32,
    first: Named,
    /// How many invoices.
    invoices: usize,
    /// Is one of them not of who paid?
    is_contradicted: bool,
}

/// What payments name, and the invoices of each, one payment's after the other's.
struct Read {
    payments: Vec<Names>,
    invoices: Vec<u32>,
}

/// Payments as they are matched, one stage after the other.
pub(crate) struct Matching<'m, 'a> {
    pub(crate) payments: &'m [Received<'a>],
    pub(crate) open: OpenItems<'a>,
    pub(crate) states: Vec<State>,
    pub(crate) allocations: Vec<Allocation>,
    pub(crate) undecided: Vec<Undecided>,
    pub(crate) rates: &'m Rates,
    terms: &'m Terms,
}

impl<'m, 'a> Matching<'m, 'a> {
    pub(crate) fn new(
        loaded: &'m Loaded<'a>,
        open: OpenItems<'a>,
        rates: &'m Rates,
        terms: &'m Terms,
    ) -> Self {
        let payments = loaded.payments.as_slice();
        Self {
            payments,
            open,
            states: vec![State::New; payments.len()],
            allocations: Vec::with_capacity(payments.len()),
            undecided: Vec::new(),
            rates,
            terms,
        }
    }

    /// The payments of which nothing is known yet.
    pub(crate) fn new_ones(&self) -> Vec<u32> {
        let new = (0_u32..).zip(&self.states).filter(|(_, state)| **state == State::New);
        new.map(|(payment, _)| payment).collect()
    }

    pub(crate) fn payment(&self, payment: u32) -> Option<&'m Received<'a>> {
        self.payments.get(usize::try_from(payment).ok()?)
    }

    pub(crate) fn set(&mut self, payment: u32, state: State) {
        if let Some(place) = usize::try_from(payment).ok().and_then(|place| self.states.get_mut(place)) {
            *place = state;
        }
    }

    pub(crate) fn set_if_new(&mut self, payment: u32, state: State) {
        let at = usize::try_from(payment).ok().and_then(|place| self.states.get_mut(place));
        if let Some(place) = at.filter(|place| **place == State::New) {
            *place = state;
        }
    }

    /// Replays what persons decided. What is left are payments for invoices that are not written by the last day
    /// that is looked at, or of which a question is open.
    pub(crate) fn decided(&mut self, decisions: &[Decision]) -> Result<Vec<u32>, Unreconciled> {
        let mut towards: HashMap<&PaymentId, &[Part]> = HashMap::new();
        for decision in decisions {
            if let Decision::Payment { payment, towards: invoices, .. } = decision {
                towards.insert(payment, invoices);
            }
        }
        let mut later = Vec::new();
        if towards.is_empty() {
            return Ok(later);
        }
        for (place, payment) in (0..).zip(self.payments) {
            let Some(parts) = towards.get(&payment.id()) else { continue };
            if parts.is_empty() {
                self.set(place, State::Other);
            }
            let open = |part: &Part| Some((self.open.numbered(&part.invoice)?, part.minor));
            match parts.iter().map(open).collect::<Option<Vec<_>>>() {
                None => later.push(place),
                Some(parts) => {
                    for (open, minor) in parts {
                        self.allocate(place, open, minor)?;
                    }
                }
            }
        }
        Ok(later)
    }

    /// Sets aside what goes from one account of ours to another, whatever its words name.
    pub(crate) fn transfers(&mut self, loaded: &Loaded<'_>) {
        for place in self.new_ones() {
            if self.payment(place).is_some_and(|one| loaded.firms.is_transfer(one)) {
                self.set(place, State::Transfer);
            }
        }
    }

    /// Matches what names an invoice of ours or a quote. What payments name is read at once by all threads; what
    /// they clear, one after the other. What names an invoice that is not of who paid is left for later: the
    /// payments, each with the invoices it names.
    pub(crate) fn by_reference(
        &mut self,
        loaded: &Loaded<'_>,
        deals: &Numbers,
        threads: Threads,
    ) -> Result<Vec<(u32, Vec<u32>)>, Unreconciled> {
        let mut contradicted = Vec::new();
        for read in threads.parts(&self.new_ones(), |part| self.read(part, loaded, deals)) {
            let mut left = read.invoices.as_slice();
            for one in &read.payments {
                let (own, rest) = left.split_at_checked(one.invoices).unwrap_or_default();
                left = rest;
                match (own, one.first) {
                    ([], Named::Deal(deal)) => self.set(one.payment, State::InAdvance(deal)),
                    _ if one.is_contradicted => contradicted.push((one.payment, own.to_vec())),
                    _ => self.settle(one.payment, own)?,
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
            let payment = received.payment;
            named.clear();
            let structured = payment.structured.iter().map(AsRef::as_ref);
            for text in structured.chain(payment.end_to_end.as_deref()).chain([&*payment.remittance]) {
                self.open.named(text, deals, &mut words, &mut named);
            }
            named.sort_unstable();
            named.dedup();
            let Some(&first) = named.first() else { continue };
            let before = read.invoices.len();
            self.invoices(&named, &mut read.invoices);
            let own = read.invoices.get(before..).unwrap_or_default();
            let (invoices, is_contradicted) = (own.len(), self.contradicts(loaded, received, own));
            read.payments.push(Names { payment: place, first, invoices, is_contradicted });
        }
        read
    }

    /// Is the payer known, and none of those that one of the invoices is of: neither its buyer nor anybody on the
    /// route of its quote?
    fn contradicts(&self, loaded: &Loaded<'_>, received: &Received<'_>, invoices: &[u32]) -> bool {
        let mut others = invoices.iter().filter_map(|place| self.open.get(*place)).peekable();
        if others.peek().is_none() {
            return false;
        }
        let Some(payer) = loaded.firms.of_payer(received.payment) else { return false };
        others.any(|open| {
            let mut sales = open.deal.and_then(|deal| deal_of(&loaded.deals, deal)).into_iter();
            let mut sales = sales.by_ref().flat_map(|deal| &deal.sales);
            open.party != *payer && !sales.any(|sale| sale.buyer.id == *payer)
        })
    }

    /// The invoices that are named, and those of quotes that are named without one of their invoices; the
    /// first due first.
    fn invoices(&self, named: &[Named], into: &mut Vec<u32>) {
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

    /// Clears invoices that a payment names. Where it is not what is left of all of them, the first due is
    /// cleared first, and the last takes what is over.
    pub(crate) fn settle(&mut self, payment: u32, invoices: &[u32]) -> Result<(), Unreconciled> {
        let Some(first) = self.currency_of(invoices) else {
            return match invoices {
                [] => Ok(()),
                _ => self.ask(payment, Why::SeveralCurrencies, &[invoices.to_vec()]),
            };
        };
        for (place, part) in self.parts(payment, invoices, first)? {
            self.allocate(payment, place, part)?;
        }
        self.set(payment, State::Allocated);
        Ok(())
    }

    /// The currency that all of these invoices are of.
    fn currency_of(&self, invoices: &[u32]) -> Option<Currency> {
        let mut currencies = invoices.iter().map(|place| self.open.get(*place).map(Open::currency));
        let first = currencies.next()??;
        currencies.all(|currency| currency == Some(first)).then_some(first)
    }

    fn rest(&self, place: u32) -> i64 {
        self.open.get(place).map_or(0, Open::rest)
    }

    /// What invoices of one currency take of a payment.
    fn parts(
        &self,
        payment: u32,
        invoices: &[u32],
        currency: Currency,
    ) -> Result<Vec<(u32, i64)>, Unreconciled> {
        let together = invoices.iter().fold(0_i64, |sum, place| sum.saturating_add(self.rest(*place)));
        let mut left = self.amount_in(payment, currency, together)?;
        let mut parts: Vec<(u32, i64)> = Vec::with_capacity(invoices.len());
        for (number, place) in (1..).zip(invoices) {
            let part = match () {
                () if number == invoices.len() => left,
                // Money goes out: back to where it came from.
                () if left < 0 => {
                    let paid = self.open.get(*place).map_or(0, |open| open.paid.max(0));
                    left.max(paid.saturating_neg())
                }
                () => left.min(self.rest(*place).max(0)),
            };
            left = left.checked_sub(part).ok_or(Overflow)?;
            parts.push((*place, part));
        }
        parts.retain(|(_, part)| *part != 0);
        Ok(parts)
    }

    /// What a payment clears in the currency of an invoice: as the payer sent it where that is known, else
    /// converted at the reference rate of the day. A rate of the bank's that is no further off than
    /// the terms allow clears what is left.
    pub(crate) fn amount_in(&self, payment: u32, to: Currency, left: i64) -> Result<i64, Unreconciled> {
        let Some(received) = self.payment(payment) else { return Ok(0) };
        let cleared = received.cleared();
        if received.currency() == to {
            return Ok(cleared);
        }
        if let Some((sent, currency)) = received.payment.instructed
            && currency == to
        {
            // A reversal repeats what was sent once, with the sign of what goes out now.
            return Ok(if cleared < 0 { sent.saturating_abs().saturating_neg() } else { sent });
        }
        let converted = self.rates.converted(cleared, received.currency(), to, received.booked)?;
        let apart = left.saturating_sub(converted);
        Ok(if self.within_rate(apart, left)? { left } else { converted })
    }

    /// Is what two amounts are apart no more than the terms allow of the whole?
    pub(crate) fn within_rate(&self, apart: i64, whole: i64) -> Result<bool, Overflow> {
        let most = Exact::from_minor(whole.saturating_abs()).percent(self.terms.currency_percent)?;
        Ok(Exact::from_minor(apart.saturating_abs()).compare(most)?.is_le())
    }

    /// Clears a part of an invoice.
    pub(crate) fn allocate(&mut self, payment: u32, open: u32, minor: i64) -> Result<(), Unreconciled> {
        let Some(item) = self.open.get_mut(open) else { return Ok(()) };
        item.paid = item.paid.checked_add(minor).ok_or(Overflow)?;
        self.allocations.push(Allocation { payment, open, minor });
        self.set(payment, State::Allocated);
        Ok(())
    }

    /// Asks a person. Invoices that may have been paid in full by what is asked about are not said to be
    /// unpaid.
    pub(crate) fn ask(
        &mut self,
        payment: u32,
        why: Why,
        candidates: &[Vec<u32>],
    ) -> Result<(), Unreconciled> {
        let Some(received) = self.payment(payment) else { return Ok(()) };
        self.set(payment, State::Asked);
        let mut named = Vec::with_capacity(candidates.len());
        let mut taken = Vec::with_capacity(candidates.len());
        for candidate in candidates {
            let parts = match self.currency_of(candidate) {
                Some(currency) if why != Why::TooMany => self.parts(payment, candidate, currency)?,
                _ => candidate.iter().map(|place| (*place, self.rest(*place))).collect(),
            };
            let part = |(place, minor)| {
                let open = self.open.get(place)?;
                Some(Part { invoice: open.invoice.number.clone(), currency: open.currency(), minor })
            };
            taken.push(parts.into_iter().filter_map(part).collect());
            let mut numbers: Vec<Box<str>> = Vec::with_capacity(candidate.len());
            for &place in candidate {
                if let Some(open) = self.open.get_mut(place) {
                    open.in_question |= matches!(why, Why::EquallyGood | Why::OtherPayer);
                    numbers.push(open.invoice.number.clone());
                }
            }
            named.push(numbers);
        }
        self.undecided.push(Undecided {
            subject: payment_document(received),
            payment: Some(received.id()),
            seller: None,
            why,
            currency: received.currency(),
            amount_minor: received.payment.minor,
            candidates: named,
            parts: taken,
        });
        Ok(())
    }

    /// Who paid, where that is known.
    pub(crate) fn payer(&self, loaded: &Loaded<'a>, payment: u32) -> Option<Arc<str>> {
        loaded.firms.of_payer(self.payment(payment)?.payment).cloned()
    }
}

pub(crate) fn payment_document(received: &Received<'_>) -> Document {
    Document { paper: Paper::Payment, number: received.name(), place: Some(received.payment.place.clone()) }
}
