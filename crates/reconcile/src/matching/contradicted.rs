//! Payments that say otherwise than who paid, or than the list of accounts: they are asked about.

use std::collections::HashMap;
use std::sync::Arc;

use super::by_reference::Contradicted;
use super::numbers::Numbers;
use super::payments::{Matching, State, TOLD};
use super::question::Why;
use crate::error::Unreconciled;
use crate::loaded::Loaded;
use crate::reference::Words;

impl Matching<'_, '_> {
    /// Sets aside what goes from one account of ours to another. That an account is ours the list alone does not say
    /// where it has no statement and the bank does not name us: what names an invoice or a quote there, or is of a
    /// party, is asked about.
    pub(crate) fn transfers(&mut self, loaded: &Loaded<'_>, deals: &Numbers) -> Vec<Contradicted> {
        let mut contradicted = Vec::new();
        let mut words = Words::default();
        for place in self.new_ones() {
            let Some(one) = self.payment(place).filter(|one| loaded.is_transfer(one.statement, one.payment))
            else {
                continue;
            };
            let mut named = Vec::new();
            if !loaded.is_surely_ours(one.payment) {
                self.names(one, deals, &mut words, &mut named);
                if !named.is_empty() || loaded.firms.of_payer(one.payment).is_some() {
                    let mut invoices = Vec::new();
                    self.invoices(&named, &mut invoices);
                    contradicted.push((place, Why::OwnAccount, invoices));
                    self.set(place, State::Asked);
                    continue;
                }
            }
            self.set(place, State::Transfer);
        }
        contradicted
    }

    /// Asks about payments that are contradicted. They may be for what they name, or for what is left of an invoice of
    /// the payer: each that fits by amount, else those that can take it.
    pub(crate) fn ask_contradicted(
        &mut self,
        loaded: &Loaded<'_>,
        contradicted: Vec<Contradicted>,
    ) -> Result<(), Unreconciled> {
        if contradicted.is_empty() {
            return Ok(());
        }
        let mut of_party: HashMap<Arc<str>, Vec<u32>> = HashMap::new();
        for (place, open) in (0_u32..).zip(&self.open.items) {
            if open.is_owed() {
                of_party.entry(Arc::clone(open.party)).or_default().push(place);
            }
        }
        for (place, why, named) in contradicted {
            let Some(one) = self.payment(place) else { continue };
            let amount = one.cleared();
            let own = self.payer(loaded, place).and_then(|payer| of_party.get(&payer));
            let own = own.map(Vec::as_slice).unwrap_or_default().iter().copied().filter(|open| {
                let same = self.open.get(*open).is_some_and(|open| open.currency() == one.currency());
                same && !named.contains(open) && self.in_time(one.booked, *open)
            });
            let fits = own.clone().filter(|open| self.rest(*open) == amount && amount != 0);
            let mut readings: Vec<Vec<u32>> = fits.map(|open| vec![open]).collect();
            if readings.is_empty() {
                let takes = own.filter(|open| amount > 0 && self.rest(*open) > amount);
                readings.extend(takes.map(|open| vec![open]));
            }
            // Not all of many are told; they are in question all the same.
            let others = readings.split_off(readings.len().min(TOLD));
            if !named.is_empty() {
                readings.insert(0, named);
            }
            if readings.is_empty() && why == Why::OtherPayer {
                // For a quote of another without an invoice: it is held for who paid, and told.
                self.set(place, State::Unknown);
                continue;
            }
            self.ask(place, why, &readings)?;
            others.into_iter().flatten().for_each(|open| self.doubt(open, amount < 0));
        }
        Ok(())
    }
}
