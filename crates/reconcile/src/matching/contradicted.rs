//! Payments that say otherwise than who paid, or than the list of accounts: they are asked about.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::advances::Whose;
use super::by_reference::Contradicted;
use super::numbers::{Numbers, Reader};
use super::payments::{Matching, State, TOLD};
use super::question::Why;
use super::written::deal_of;
use crate::error::Unreconciled;
use crate::known_firms::name_key;
use crate::loaded::Loaded;
use crate::terms::Part;

impl Matching<'_, '_> {
    /// Sets aside what goes from one account of ours to another. That an account is ours the list alone does not say
    /// where it has no statement and the bank does not name us: what names an invoice or a quote there, or is of a
    /// party, is asked about.
    pub(super) fn transfers(&mut self, loaded: &Loaded<'_>, deals: &Numbers) -> Vec<Contradicted> {
        let mut contradicted = Vec::new();
        let mut reader = Reader::default();
        for place in self.new_ones() {
            let Some(one) = self.payment(place).filter(|one| loaded.is_transfer(one.statement, one.payment))
            else {
                continue;
            };
            let mut named = Vec::new();
            if !loaded.is_surely_ours(one.payment) {
                self.names(one, deals, &mut reader, &mut named);
                if !named.is_empty() || loaded.firms.of_payer(one.payment).is_some() {
                    let mut invoices = Vec::new();
                    self.invoices(&named, one.cleared() < 0, &mut invoices);
                    contradicted.push(Contradicted {
                        payment: place,
                        why: Why::OwnAccount,
                        invoices,
                        deals: Vec::new(),
                        is_to_stranger: false,
                    });
                    self.set(place, State::Asked);
                    continue;
                }
            }
            self.set(place, State::Transfer);
        }
        contradicted
    }

    /// Asks about payments that are contradicted, but for what the bank took back since. They may be for what they name, or
    /// for what is left of an invoice of the payer: each that fits by amount, else those that can take it.
    pub(super) fn ask_contradicted(
        &mut self,
        loaded: &Loaded<'_>,
        mut contradicted: Vec<Contradicted>,
    ) -> Result<(), Unreconciled> {
        contradicted.retain(|one| self.is_asked(one.payment));
        if contradicted.is_empty() {
            return Ok(());
        }
        let mut of_party: HashMap<Arc<str>, Vec<u32>> = HashMap::new();
        for (place, open) in (0_u32..).zip(&self.open.items) {
            if open.is_owed() && open.rest() != 0 {
                of_party.entry(Arc::clone(open.party)).or_default().push(place);
            }
        }
        for Contradicted { payment: place, why, invoices: named, deals, is_to_stranger } in contradicted {
            let Some(one) = self.payment(place) else { continue };
            let amount = one.cleared();
            let own = self.payer(loaded, place).and_then(|payer| of_party.get(&payer));
            let own = own.map(Vec::as_slice).unwrap_or_default().iter().copied().filter(|open| {
                let same = self.open.get(*open).is_some_and(|open| open.currency() == one.currency());
                same && !named.contains(open) && self.in_time(one.booked, *open)
            });
            let fits = own.clone().filter(|open| self.asks(*open) == amount && amount != 0);
            let mut readings: Vec<Vec<u32>> = fits.map(|open| vec![open]).collect();
            if readings.is_empty() {
                let takes = own.filter(|open| amount > 0 && self.asks(*open) > amount);
                readings.extend(takes.map(|open| vec![open]));
            }
            // Not all of many are told; they are in question all the same.
            let others = readings.split_off(readings.len().min(TOLD));
            if !named.is_empty() {
                readings.insert(0, named);
            }
            if readings.is_empty() && why == Why::OtherPayer && !is_to_stranger {
                // For a quote of another without an invoice: it is held for who paid, and told.
                self.set(place, State::Unknown);
                continue;
            }
            self.ask(place, why, &readings)?;
            others.into_iter().flatten().for_each(|open| self.doubt(open, amount < 0));
            if let Some(question) = self.undecided.last_mut().filter(|_| is_to_stranger) {
                for deal in deals.iter().filter_map(|deal| deal_of(&loaded.deals, *deal)).take(TOLD) {
                    let (invoice, currency) = (deal.number.clone(), one.currency());
                    question.candidates.push(vec![invoice.clone()]);
                    question.parts.push(vec![Part { invoice, currency, minor: amount }]);
                }
                self.deals_in_question.extend(deals);
            }
        }
        Ok(())
    }

    /// Takes those out of them that go to somebody whom nobody knows and who paid for whom they name: they give that back.
    /// Who did not may have sent us a paper of that number himself; a courier did, for our quotes stand on his labels.
    pub(super) fn give_back_to_strangers(
        &mut self,
        loaded: &Loaded<'_>,
        contradicted: Vec<Contradicted>,
    ) -> Result<Vec<Contradicted>, Unreconciled> {
        let (to_strangers, mut others): (Vec<_>, Vec<_>) =
            contradicted.into_iter().partition(|one| one.is_to_stranger);
        if to_strangers.is_empty() {
            return Ok(others);
        }
        let (has_paid, couriers) = (self.have_paid(loaded, &to_strangers), loaded.couriers());
        for (one, has_paid) in to_strangers.into_iter().zip(has_paid) {
            let name = self.payment(one.payment).and_then(|one| one.payment.party.as_deref());
            match has_paid {
                true => self.settle_named(loaded, one.payment, &one.deals, &one.invoices)?,
                false if name.is_some_and(|name| couriers.contains(&name_key(name))) => {
                    self.set(one.payment, State::Unknown);
                }
                false => others.push(one),
            }
        }
        Ok(others)
    }

    /// Of each, did who gets it pay something of those whose papers and quotes are named?
    fn have_paid(&self, loaded: &Loaded<'_>, to_strangers: &[Contradicted]) -> Vec<bool> {
        let of_invoice = |place: u32| self.open.get(place).map(|open| &**open.party);
        let of_deal = |deal: u32| Some(&*deal_of(&loaded.deals, deal)?.sales.first()?.buyer.id);
        let named = |one: &Contradicted| -> HashSet<&str> {
            let of_invoices = one.invoices.iter().filter_map(|place| of_invoice(*place));
            of_invoices.chain(one.deals.iter().filter_map(|deal| of_deal(*deal))).collect()
        };
        let wanted: HashSet<&str> = to_strangers.iter().flat_map(named).collect();
        let of_invoices =
            self.allocations.iter().map(|part| (part.payment, of_invoice(part.open), part.minor));
        let in_advance = self.held.iter().map(|held| (held.payment, of_deal(held.deal), held.minor));
        let mut paid: HashMap<Whose, HashSet<&str>> = HashMap::new();
        for (payment, party, minor) in of_invoices.chain(in_advance) {
            let party = party.filter(|party| minor > 0 && wanted.contains(party));
            let whose = party.and_then(|_| Whose::of(self.payment(payment)?, loaded));
            if let Some((whose, party)) = whose.zip(party) {
                paid.entry(whose).or_default().insert(party);
            }
        }
        let has_paid = |one: &Contradicted| {
            let whose = self.payment(one.payment).and_then(|one| Whose::of(one, loaded));
            let paid = whose.and_then(|whose| paid.get(&whose));
            paid.is_some_and(|paid| !paid.is_disjoint(&named(one)))
        };
        to_strangers.iter().map(has_paid).collect()
    }
}
