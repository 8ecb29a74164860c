//! Payments, and what they are for: by decision, by reference, else by party and amount.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::{Currency, Exact, Overflow};

use super::open::{Open, OpenItems};
use super::question::{Undecided, Why};
use super::written::signed;
use crate::difference::{Document, Paper};
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::rates::Rates;
use crate::sorted::run_of;
use crate::terms::Terms;

/// Candidates that are told where a question has many.
pub(crate) const TOLD: usize = 8;
/// Days by which a payment may come before its invoice: books and banks differ by a few.
const DAYS_EARLY: Days = Days::new(7);

/// A part of a payment that clears a part of an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Allocation {
    pub(crate) payment: u32,
    pub(crate) open: u32,
    /// In the invoice's currency.
    pub(crate) minor: i64,
}

/// A part of a payment that is for a quote before there is an invoice, or gives that back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Held {
    pub(crate) payment: u32,
    pub(crate) deal: u32,
    pub(crate) currency: Currency,
    /// Below nothing, what goes back.
    pub(crate) minor: i64,
}

/// What is known of a payment that clears no invoice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum State {
    /// Nothing yet.
    New,
    /// It clears invoices; a part of it may be held for quotes.
    Allocated,
    /// It goes from one account of ours to another.
    Transfer,
    /// Paid for quotes before there are invoices; or it gives that back.
    InAdvance,
    /// A question is open.
    Asked,
    /// A person decided that it is for nothing that was agreed.
    Other,
    /// It is for nothing known.
    Unknown,
}

/// What a person said of the other side of a transfer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum OtherSide {
    /// That payment; none where it is not booked by the last day that is looked at.
    Is(Option<u32>),
    /// Nothing but that it is for nothing that was agreed: it is not asked again.
    Unsaid,
}

/// A question of which each answer is invoices.
pub(super) struct Asked {
    /// Its place among the questions.
    pub(super) question: usize,
    pub(super) payment: u32,
    /// The invoices of each answer; answers that are others stand behind.
    pub(super) candidates: Vec<Vec<u32>>,
}

/// Payments as they are matched, one stage after the other.
pub(crate) struct Matching<'m, 'a> {
    pub(crate) payments: &'m [Received<'a>],
    pub(crate) open: OpenItems<'a>,
    pub(crate) states: Vec<State>,
    pub(crate) allocations: Vec<Allocation>,
    pub(crate) held: Vec<Held>,
    /// What is held for each quote so far.
    held_for: HashMap<(u32, Currency), i64>,
    /// Quotes of which it is asked whether money gave back what is held for them.
    pub(super) deals_in_question: BTreeSet<u32>,
    pub(crate) undecided: Vec<Undecided>,
    /// Of which questions the answers are invoices.
    pub(super) asked: Vec<Asked>,
    /// What moved for nothing known, and what took that back or returned it.
    pub(crate) returned: Vec<(u32, u32)>,
    /// What banks had kept back of payments, by what takes these back.
    kept_back: HashMap<u32, i64>,
    /// Of transfers, what was decided of their other sides.
    pub(crate) other_sides: BTreeMap<u32, OtherSide>,
    pub(crate) rates: &'m Rates,
    pub(super) terms: &'m Terms,
}

impl<'m, 'a> Matching<'m, 'a> {
    pub(crate) fn new(
        loaded: &'m Loaded<'a>,
        open: OpenItems<'a>,
        rates: &'m Rates,
        terms: &'m Terms,
    ) -> Self {
        Self {
            payments: loaded.payments.as_slice(),
            open,
            states: vec![State::New; loaded.payments.len()],
            allocations: Vec::with_capacity(loaded.payments.len()),
            held: Vec::new(),
            held_for: HashMap::new(),
            deals_in_question: BTreeSet::new(),
            undecided: Vec::new(),
            asked: Vec::new(),
            returned: Vec::new(),
            kept_back: HashMap::new(),
            other_sides: BTreeMap::new(),
            rates,
            terms,
        }
    }

    /// The payments of which nothing is known yet.
    pub(crate) fn new_ones(&self) -> Vec<u32> {
        let new = (0_u32..).zip(&self.states).filter(|(_, state)| **state == State::New);
        new.map(|(payment, _)| payment).collect()
    }

    fn state(&self, payment: u32) -> Option<&State> {
        self.states.get(usize::try_from(payment).ok()?)
    }

    /// Is nothing known of a payment yet?
    pub(super) fn is_new(&self, payment: u32) -> bool {
        self.state(payment) == Some(&State::New)
    }

    /// Did a person decide that it is for nothing that was agreed?
    pub(super) fn is_other(&self, payment: u32) -> bool {
        self.state(payment) == Some(&State::Other)
    }

    /// Is a question open about it?
    pub(super) fn is_asked(&self, payment: u32) -> bool {
        self.state(payment) == Some(&State::Asked)
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

    /// Clears invoices that a payment names. Where it is not what is left of all of them, the first due is
    /// cleared first, and the last takes what is over. Whose of several parties that would be is asked.
    pub(crate) fn settle(&mut self, payment: u32, invoices: &[u32]) -> Result<(), Unreconciled> {
        let Some(first) = self.currency_of(invoices) else {
            return match invoices {
                [] => Ok(()),
                _ => self.ask(payment, Why::SeveralCurrencies, &[invoices.to_vec()]),
            };
        };
        // Most payments are for one invoice, which takes all of it.
        if let [only] = *invoices {
            let part = self.amount_in(payment, first, self.rest(only))?;
            if part != 0 {
                self.allocate(payment, only, part)?;
            }
            self.set(payment, State::Allocated);
            return Ok(());
        }
        let parts = self.parts(payment, invoices, first)?;
        if !self.is_whole(invoices, &parts) {
            let by_party = self.by_party(invoices);
            if by_party.len() > 1 {
                let readings: Vec<Vec<u32>> = by_party.into_iter().chain([invoices.to_vec()]).collect();
                return self.ask(payment, Why::EquallyGood, &readings);
            }
        }
        for (place, part) in parts {
            self.allocate(payment, place, part)?;
        }
        self.set(payment, State::Allocated);
        Ok(())
    }

    /// The invoices of each party, in the order of the first of each.
    pub(super) fn by_party(&self, invoices: &[u32]) -> Vec<Vec<u32>> {
        let party = |place: &u32| self.open.get(*place).map(|open| open.party);
        let mut by_party: Vec<Vec<u32>> = Vec::new();
        for place in invoices {
            match by_party.iter_mut().find(|own| own.first().and_then(party) == party(place)) {
                Some(own) => own.push(*place),
                None => by_party.push(vec![*place]),
            }
        }
        by_party
    }

    /// Do these parts take all that is left of the invoices, or give back all that was paid?
    fn is_whole(&self, invoices: &[u32], parts: &[(u32, i64)]) -> bool {
        let part = |place: u32| parts.iter().filter(|(of, _)| *of == place).map(|(_, minor)| *minor).sum();
        let left = |place: &u32| part(*place) == self.rest(*place);
        let paid = |place: &u32| self.open.get(*place).map(|open| open.paid.saturating_neg());
        invoices.iter().all(left) || invoices.iter().all(|place| paid(place) == Some(part(*place)))
    }

    /// The currency that all of these invoices are of.
    pub(super) fn currency_of(&self, invoices: &[u32]) -> Option<Currency> {
        let mut currencies = invoices.iter().map(|place| self.open.get(*place).map(Open::currency));
        let first = currencies.next()??;
        currencies.all(|currency| currency == Some(first)).then_some(first)
    }

    /// What is left of an invoice.
    pub(super) fn rest(&self, place: u32) -> i64 {
        self.open.get(place).map_or(0, Open::rest)
    }

    /// By how much an invoice rounds the sum to be paid (BT-114), where that is no more than may be written off.
    pub(super) fn rounding(&self, place: u32) -> i64 {
        let Some(Open { invoice, .. }) = self.open.get(place) else { return 0 };
        let rounding = signed(invoice, invoice.rounding_minor);
        if rounding.saturating_abs() <= self.terms.rounding_minor { rounding } else { 0 }
    }

    /// What is left of an invoice, as it asks for it: rounded. Of what asks for nothing any more all goes back that came in.
    pub(super) fn asks(&self, place: u32) -> i64 {
        match self.rest(place) {
            0 => 0,
            rest if self.open.get(place).is_some_and(|open| open.payable == 0) => rest,
            rest => rest.saturating_add(self.rounding(place)),
        }
    }

    /// The first day of a payment that the invoice is written in time for.
    pub(super) fn earliest(&self, open: u32) -> NaiveDate {
        let issued = self.open.get(open).map_or(NaiveDate::MAX, |open| open.invoice.issued);
        issued.checked_sub_days(DAYS_EARLY).unwrap_or(issued)
    }

    /// Was the invoice written by the time of a payment?
    pub(super) fn in_time(&self, booked: NaiveDate, open: u32) -> bool {
        self.earliest(open) <= booked
    }

    /// What invoices of one currency take of a payment.
    pub(super) fn parts(
        &self,
        payment: u32,
        invoices: &[u32],
        currency: Currency,
    ) -> Result<Vec<(u32, i64)>, Unreconciled> {
        let together = invoices.iter().fold(0_i64, |sum, place| sum.saturating_add(self.rest(*place)));
        Ok(self.parts_of(self.amount_in(payment, currency, together)?, invoices)?)
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

    /// Holds a part of a payment for a quote, or gives back what is held.
    pub(crate) fn hold(&mut self, payment: u32, deal: u32, (currency, minor): (Currency, i64)) {
        self.held.push(Held { payment, deal, currency, minor });
        let sum = self.held_for.entry((deal, currency)).or_default();
        *sum = sum.saturating_add(minor);
        let at = usize::try_from(payment).ok().and_then(|place| self.states.get_mut(place));
        if let Some(state) = at.filter(|state| **state != State::Allocated) {
            *state = State::InAdvance;
        }
    }

    /// What is held for a quote so far; nothing where more went back than came in.
    pub(super) fn held_for(&self, deal: u32, currency: Currency) -> i64 {
        self.held_for.get(&(deal, currency)).copied().unwrap_or_default().max(0)
    }

    /// What is held of a payment, when all are matched.
    pub(crate) fn held_of(&self, payment: u32) -> &[Held] {
        run_of(&self.held, |held| held.payment.cmp(&payment))
    }

    /// Notes what the bank had kept back of what a payment takes back: that comes back with it.
    pub(super) fn keep_back(&mut self, payment: u32, minor: i64) {
        if minor != 0 {
            self.kept_back.insert(payment, minor);
        }
    }

    /// What a bank keeps back of a payment; below nothing, what it had kept back of the one that this takes back.
    pub(crate) fn charges(&self, payment: u32, received: &Received<'_>) -> i64 {
        let comes_back = self.kept_back.get(&payment).copied().unwrap_or_default();
        received.charges_minor.saturating_sub(comes_back)
    }

    /// Makes one of what a payment did of an invoice or a quote in several steps, of lists that are in order.
    pub(super) fn merge(&mut self) {
        self.allocations.dedup_by(|next, one| {
            let is_same = (next.payment, next.open) == (one.payment, one.open);
            one.minor = one.minor.saturating_add(if is_same { next.minor } else { 0 });
            is_same
        });
        self.allocations.retain(|one| one.minor != 0);
        self.held.dedup_by(|next, one| {
            let is_same = (next.payment, next.deal, next.currency) == (one.payment, one.deal, one.currency);
            one.minor = one.minor.saturating_add(if is_same { next.minor } else { 0 });
            is_same
        });
        self.held.retain(|one| one.minor != 0);
    }

    /// Is a question open that an invoice may be the answer to?
    pub(super) fn is_in_question(&self, open: u32) -> bool {
        self.open.get(open).is_some_and(Open::is_in_question)
    }

    /// Puts an invoice in question: money that came in or went out may be for it.
    pub(super) fn doubt(&mut self, open: u32, goes_out: bool) {
        if let Some(open) = self.open.get_mut(open) {
            open.put_in_question(goes_out);
        }
    }

    /// Every payment, what became of it, and the parts of invoices that it clears. Allocations stand one payment's after
    /// the other's when all are matched.
    pub(crate) fn with_parts(&self) -> impl Iterator<Item = (u32, &'m Received<'a>, &State, &[Allocation])> {
        let mut left = self.allocations.as_slice();
        (0_u32..).zip(self.payments.iter().zip(&self.states)).map(move |(place, (received, state))| {
            let own = left.iter().take_while(|part| part.payment <= place).count();
            let (parts, rest) = left.split_at_checked(own).unwrap_or_default();
            left = rest;
            (place, received, state, parts)
        })
    }

    /// Who paid, where that is known.
    pub(crate) fn payer(&self, loaded: &Loaded<'a>, payment: u32) -> Option<Arc<str>> {
        loaded.firms.of_payer(self.payment(payment)?.payment).cloned()
    }
}

pub(crate) fn payment_document(received: &Received<'_>) -> Document {
    Document { paper: Paper::Payment, number: received.name(), place: Some(received.payment.place.clone()) }
}
