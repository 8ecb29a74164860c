//! Money that goes out to who is owed some back: what he paid in advance for quotes that were taken back, and what he paid
//! too much.
//!
//! In this order: all that is held of him for one quote; all of several debts together, where that is one way only. What
//! is less than all of them, or in another currency, is asked.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::advances::{Advances, asked};
use super::open::Open;
use super::payers::Payers;
use super::payments::{Matching, TOLD};
use super::question::{Undecided, Why};
use super::subset::{self, subsets};
use super::written::deal_of;
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::terms::{Part, PaymentId};

/// What is to go back to a party.
#[derive(Clone, Copy)]
enum Owed {
    /// Of an invoice that was paid too much, or a credit note.
    Open(u32),
    /// Of what is held for a quote: its place among those.
    Held(usize),
}

/// How much, above nothing.
#[derive(Clone, Copy)]
struct Debt {
    owed: Owed,
    currency: Currency,
    minor: i64,
}

/// Money that goes out, held against what is to go back.
struct Refunds<'r, 'm, 'a> {
    matching: &'r mut Matching<'m, 'a>,
    loaded: &'r Loaded<'a>,
    advances: Advances,
    payers: Payers,
    /// Invoices and credit notes of which something is to go back, by party.
    open: HashMap<Arc<str>, Vec<u32>>,
}

/// Matches money that goes out and names nothing.
pub(crate) fn refunds<'a>(matching: &mut Matching<'_, 'a>, loaded: &Loaded<'a>) -> Result<(), Unreconciled> {
    let is_any = !outgoing(matching).is_empty();
    if !is_any && matching.undecided.is_empty() {
        return Ok(());
    }
    let advances = Advances::new(matching, loaded);
    offer_everywhere(matching, loaded, &advances);
    let mut open: HashMap<Arc<str>, Vec<u32>> = HashMap::new();
    for (place, item) in (0_u32..).zip(&matching.open.items).filter(|_| is_any) {
        // What is written off is owed to nobody.
        if item.rest() < matching.terms.rounding_minor.saturating_neg() {
            open.entry(Arc::clone(item.party)).or_default().push(place);
        }
    }
    if !is_any || advances.all.is_empty() && open.is_empty() {
        return Ok(());
    }
    let payers = Payers::default();
    let mut refunds = Refunds { matching, loaded, advances, payers, open };
    refunds.of_one()?;
    refunds.of_several()
}

/// The payments that go out and of which nothing is known yet.
fn outgoing(matching: &Matching<'_, '_>) -> Vec<u32> {
    let mut new = matching.new_ones();
    new.retain(|place| matching.payment(*place).is_some_and(|one| one.cleared() < 0));
    new
}

/// What is asked for another reason may give back what was paid in advance as well, all of it or a part.
fn offer_everywhere(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>, advances: &Advances) {
    if advances.all.is_empty() {
        return;
    }
    let asked_so_far: HashMap<PaymentId, &Received<'_>> =
        asked(matching).map(|one| (one.id(), one)).collect();
    for question in &mut matching.undecided {
        let one = question.payment.as_ref().and_then(|payment| asked_so_far.get(payment));
        let Some(one) = one else { continue };
        let minor = one.cleared().saturating_neg();
        let has_it = |(at, held): &(usize, i64)| {
            *held >= minor && advances.all.get(*at).is_some_and(|own| own.currency == one.currency())
        };
        let mut fits = advances.given_back(one, loaded);
        if fits.is_empty() {
            let held = advances.of_payee(one, loaded).into_iter();
            fits = held.filter(has_it).map(|(at, _)| at).collect();
        }
        offer(question, loaded, advances, &fits, one);
    }
}

/// It may be for the quotes of these as well.
fn offer(
    question: &mut Undecided,
    loaded: &Loaded<'_>,
    advances: &Advances,
    fits: &[usize],
    one: &Received<'_>,
) {
    for at in fits.iter().take(TOLD) {
        if let Some(part) = of_quote(loaded, advances, *at, (one.currency(), one.cleared())) {
            question.candidates.push(vec![part.invoice.clone()]);
            question.parts.push(vec![part]);
        }
    }
}

/// So much for the quote of what is held there.
fn of_quote(
    loaded: &Loaded<'_>,
    advances: &Advances,
    at: usize,
    (currency, minor): (Currency, i64),
) -> Option<Part> {
    let invoice = deal_of(&loaded.deals, advances.all.get(at)?.deal)?.number.clone();
    Some(Part { invoice, currency, minor })
}

impl<'a> Refunds<'_, '_, 'a> {
    /// The invoices and credit notes of who gets a payment, of which something is to go back.
    fn open_of(&self, payment: u32) -> impl Iterator<Item = (u32, &Open<'a>)> {
        let party = self.payers.of(self.matching, self.loaded, payment);
        let own = party.and_then(|party| self.open.get(&party)).into_iter().flatten();
        own.filter_map(|place| Some((*place, self.matching.open.get(*place)?)))
    }

    /// All that is held of who gets it for one quote. As many payments as there are such quotes give back all of them;
    /// where there are fewer, or the party is owed as much for an invoice, it is asked.
    fn of_one(&mut self) -> Result<(), Unreconciled> {
        // Of one amount, those that may give back the same.
        let mut alike: BTreeMap<(i64, Vec<usize>), Vec<u32>> = BTreeMap::new();
        for place in outgoing(self.matching) {
            let Some(one) = self.matching.payment(place) else { continue };
            let fits = self.advances.given_back(one, self.loaded);
            if !fits.is_empty() {
                alike.entry((one.cleared(), fits)).or_default().push(place);
            }
        }
        let mut met: HashMap<(i64, usize), usize> = HashMap::new();
        for (minor, fits) in alike.keys() {
            for at in fits {
                let times = met.entry((*minor, *at)).or_default();
                *times = times.saturating_add(1);
            }
        }
        for ((minor, fits), payments) in alike {
            let is_met_once = |at: &usize| met.get(&(minor, *at)) == Some(&1);
            let is_enough = payments.len() >= fits.len() && fits.iter().all(is_met_once);
            for (nth, place) in payments.into_iter().enumerate() {
                let Some(one) = self.matching.payment(place) else { continue };
                let is_it = |(open, item): &(u32, &Open<'_>)| {
                    item.currency() == one.currency() && self.matching.asks(*open) == minor
                };
                let invoices: Vec<u32> = self.open_of(place).filter(is_it).map(|(open, _)| open).collect();
                if is_enough && invoices.is_empty() {
                    // More than there are quotes give back none of them.
                    let Some(at) = fits.get(nth) else { continue };
                    let left = self.advances.all.get(*at).map_or(0, |advance| advance.minor);
                    if minor.saturating_neg() <= left {
                        let all: Vec<Debt> = self.held(*at, minor.saturating_neg()).into_iter().collect();
                        self.give(place, &all)?;
                    }
                    continue;
                }
                let told: Vec<Vec<u32>> = invoices.iter().take(TOLD).map(|open| vec![*open]).collect();
                self.matching.ask(place, Why::EquallyGood, &told)?;
                invoices.iter().for_each(|open| self.matching.doubt(*open, true));
                self.advances.doubt(fits.iter().copied());
                if let Some(question) = self.matching.undecided.last_mut() {
                    offer(question, self.loaded, &self.advances, &fits, one);
                }
            }
        }
        Ok(())
    }

    fn held(&self, at: usize, minor: i64) -> Option<Debt> {
        let currency = self.advances.all.get(at)?.currency;
        Some(Debt { owed: Owed::Held(at), currency, minor })
    }

    /// All that is to go back to who gets a payment, when he gets it.
    fn debts(&self, place: u32, one: &Received<'_>) -> Vec<Debt> {
        let held = self.advances.of_payee(one, self.loaded).into_iter();
        let held = held.filter_map(|(at, minor)| self.held(at, minor));
        let open = self.open_of(place).filter(|(open, _)| self.matching.in_time(one.booked, *open));
        let open = open.map(|(open, item)| {
            let minor = self.matching.asks(open).saturating_neg();
            Debt { owed: Owed::Open(open), currency: item.currency(), minor }
        });
        let open = open.filter(|debt| debt.minor > 0);
        open.chain(held).collect()
    }

    /// Several debts together, or a part of one.
    fn of_several(&mut self) -> Result<(), Unreconciled> {
        for place in outgoing(self.matching) {
            let Some(one) = self.matching.payment(place) else { continue };
            let (currency, minor) = (one.currency(), one.cleared().saturating_neg());
            let (own, others): (Vec<Debt>, Vec<Debt>) =
                self.debts(place, one).into_iter().partition(|debt| debt.currency == currency);
            // All of one invoice is a matter of amounts.
            let is_whole = |debt: &Debt| matches!(debt.owed, Owed::Open(_)) && debt.minor == minor;
            if own.iter().any(is_whole) {
                continue;
            }
            let (less, more): (Vec<Debt>, Vec<Debt>) = own.into_iter().partition(|debt| debt.minor <= minor);
            let amounts: Vec<i64> = less.iter().map(|debt| debt.minor).collect();
            let ways = subsets(&amounts, minor);
            let ways: Vec<Vec<Debt>> = ways
                .iter()
                .map(|places| places.iter().filter_map(|place| less.get(*place).copied()).collect())
                .collect();
            match ways.as_slice() {
                [only] if !only.iter().any(|debt| self.is_in_question(*debt)) => {
                    self.give(place, only)?;
                }
                [] if less.len() > subset::MOST => {
                    let told = less.iter().take(TOLD).map(|debt| vec![*debt]).collect::<Vec<_>>();
                    self.ask(place, Why::TooMany, &told, &less);
                }
                [] => {
                    let mut parts: Vec<Vec<Debt>> =
                        more.iter().map(|debt| vec![Debt { minor, ..*debt }]).collect();
                    for debt in others {
                        let taken = self.worth(one, debt)?;
                        parts.extend(taken.map(|minor| vec![Debt { minor, ..debt }]));
                    }
                    if parts.is_empty() {
                        parts.extend(in_order(&less, minor));
                    }
                    let all: Vec<Debt> = parts.iter().flatten().copied().collect();
                    parts.truncate(TOLD);
                    if !parts.is_empty() {
                        self.ask(place, Why::GivenBack, &parts, &all);
                    }
                }
                // More ways than are looked for may take any of them.
                several => {
                    let all = if several.len() == subset::TOLD { less.clone() } else { several.concat() };
                    self.ask(place, Why::EquallyGood, several, &all);
                }
            }
        }
        Ok(())
    }

    /// What money in another currency is of a debt: all of it, where a bank's rate may be that far off, or a part.
    fn worth(&self, one: &Received<'_>, debt: Debt) -> Result<Option<i64>, Unreconciled> {
        let minor = one.cleared().saturating_neg();
        let minor = self.matching.rates.converted(minor, one.currency(), debt.currency, one.booked)?;
        let apart = debt.minor.saturating_sub(minor);
        if self.matching.within_rate(apart, debt.minor)? {
            return Ok(Some(debt.minor));
        }
        Ok(Some(minor).filter(|minor| (1..debt.minor).contains(minor)))
    }

    fn is_in_question(&self, debt: Debt) -> bool {
        match debt.owed {
            Owed::Open(place) => self.matching.is_in_question(place),
            Owed::Held(at) => self.advances.all.get(at).is_some_and(|advance| advance.may_be_returned),
        }
    }

    /// Gives all of these back with a payment.
    fn give(&mut self, place: u32, debts: &[Debt]) -> Result<(), Unreconciled> {
        let Some(one) = self.matching.payment(place) else { return Ok(()) };
        for Debt { owed, currency, minor } in debts.iter().copied() {
            match owed {
                Owed::Open(open) => self.matching.allocate(place, open, minor.saturating_neg())?,
                Owed::Held(at) => {
                    let Some(deal) = self.advances.all.get(at).map(|advance| advance.deal) else { continue };
                    self.matching.hold(place, deal, (currency, minor.saturating_neg()));
                    self.advances.give_back(at, one, self.loaded, minor);
                }
            }
        }
        Ok(())
    }

    /// Asks which of these a payment gives back; all of them are in question.
    fn ask(&mut self, place: u32, why: Why, answers: &[Vec<Debt>], all: &[Debt]) {
        let part = |debt: &Debt| {
            let (currency, minor) = (debt.currency, debt.minor.saturating_neg());
            match debt.owed {
                Owed::Held(at) => of_quote(self.loaded, &self.advances, at, (currency, minor)),
                Owed::Open(open) => {
                    let invoice = self.matching.open.get(open)?.invoice.number.clone();
                    Some(Part { invoice, currency, minor })
                }
            }
        };
        let answers: Vec<Vec<Part>> =
            answers.iter().map(|debts| debts.iter().filter_map(part).collect()).collect();
        self.matching.ask_parts(place, why, answers);
        for debt in all {
            match debt.owed {
                Owed::Open(open) => self.matching.doubt(open, true),
                Owed::Held(at) => self.advances.doubt([at]),
            }
        }
    }
}

/// Debts in their order, and of the last a part, that come to so much; nothing where they are less.
fn in_order(debts: &[Debt], minor: i64) -> Option<Vec<Debt>> {
    let mut left = minor;
    let mut taken = Vec::new();
    for debt in debts {
        let part = left.min(debt.minor);
        left = left.saturating_sub(part);
        taken.extend((part > 0).then_some(Debt { minor: part, ..*debt }));
    }
    (left == 0).then_some(taken)
}
