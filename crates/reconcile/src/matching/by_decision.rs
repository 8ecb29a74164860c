//! Payments of which a person decided what they are for.

use std::collections::HashMap;

use super::numbers::Numbers;
use super::open::{For, Open};
use super::payments::{Matching, OtherSide, State};
use crate::error::Unreconciled;
use crate::loaded::Loaded;
use crate::terms::{Decision, Part, PaymentId};

/// A part of a payment that a person said is for a quote.
pub(super) struct OfQuote<'d> {
    payment: u32,
    deal: u32,
    part: &'d Part,
    /// Is it all of the payment?
    is_all: bool,
}

impl Matching<'_, '_> {
    /// Replays what persons decided. What is left are payments for invoices that are not written by the last day that is
    /// looked at, or of which a question is open; and what goes back of quotes, which is replayed when it is known what
    /// came in.
    pub(super) fn decided<'d>(
        &mut self,
        loaded: &Loaded<'_>,
        quotes: &Numbers,
        decisions: &'d [Decision],
    ) -> Result<(Vec<u32>, Vec<OfQuote<'d>>), Unreconciled> {
        let mut towards: HashMap<&PaymentId, &'d [Part]> = HashMap::new();
        for decision in decisions {
            if let Decision::Payment { payment, towards: invoices, .. } = decision {
                towards.insert(payment, invoices);
            }
        }
        let mut later = Vec::new();
        if towards.is_empty() {
            return Ok((later, Vec::new()));
        }
        let mut sides: HashMap<&str, Option<u32>> = towards
            .values()
            .copied()
            .flatten()
            .filter_map(Part::other_side)
            .map(|name| (name, None))
            .collect();
        let mut sided: Vec<(u32, &str)> = Vec::new();
        let mut of_quotes: Vec<OfQuote<'_>> = Vec::new();
        for (place, payment) in (0..).zip(self.payments) {
            if !sides.is_empty()
                && let Some(named) = sides.get_mut(&*payment.name())
            {
                *named = Some(place);
            }
            let Some(parts) = towards.get(&payment.id()) else { continue };
            if parts.is_empty() {
                // For nothing that was agreed, between accounts of ours.
                let is_transfer = loaded.is_transfer(payment.statement, payment.payment);
                self.set(place, if is_transfer { State::Transfer } else { State::Other });
                if is_transfer {
                    self.other_sides.insert(place, OtherSide::Unsaid);
                }
            }
            if let Some(name) = parts.iter().find_map(Part::other_side) {
                sided.push((place, name));
                continue;
            }
            let what = |part: &Part| {
                let open = self.open.numbered(&part.invoice).map(For::Open);
                open.or_else(|| quotes.get(&part.invoice).map(For::Deal))
            };
            let Some(all) = parts.iter().map(what).collect::<Option<Vec<_>>>() else {
                later.push(place);
                continue;
            };
            for (what, part) in all.into_iter().zip(*parts) {
                match what {
                    For::Open(open) => self.allocate(place, open, part.minor)?,
                    For::Deal(deal) => {
                        let is_all = parts.len() == 1;
                        of_quotes.push(OfQuote { payment: place, deal, part, is_all });
                    }
                }
            }
        }
        let (back, of_quotes): (Vec<_>, Vec<_>) =
            of_quotes.into_iter().partition(|of_quote| of_quote.part.minor < 0);
        // What was decided of invoices is paid by then.
        of_quotes.iter().try_for_each(|of_quote| self.decided_of_quote(of_quote))?;
        back.iter().for_each(|of_quote| self.set_if_new(of_quote.payment, State::InAdvance));
        self.decided_sides(&sided, &sides);
        Ok((later, back))
    }

    /// What was decided to be for a quote, as if the payment named it: for its invoices, where there are any.
    pub(super) fn decided_of_quote(
        &mut self,
        &OfQuote { payment, deal, part, is_all }: &OfQuote<'_>,
    ) -> Result<(), Unreconciled> {
        let Some(one) = self.payment(payment) else { return Ok(()) };
        let (from, minor) = (part.currency, part.minor);
        let mut invoices: Vec<u32> = match minor < 0 {
            true => self.open.refundable(deal).collect(),
            false => self.open.of_deal(deal).collect(),
        };
        invoices.sort_by_key(|place| self.open.get(*place).map(|open| open.due));
        if minor < 0 {
            let of_invoices = self.give_back_named(payment, (from, minor), &[deal], &invoices)?;
            let Some(of_invoices) = of_invoices else { return Ok(()) };
            invoices = of_invoices;
        }
        let currency = |place: &u32| self.open.get(*place).map(Open::currency);
        let Some(to) = invoices.first().and_then(currency) else {
            self.hold(payment, deal, (from, minor));
            return Ok(());
        };
        if is_all && from == one.currency() && self.currency_of(&invoices).is_some() {
            return self.settle(payment, &invoices);
        }
        let to = if invoices.iter().any(|place| currency(place) == Some(from)) { from } else { to };
        invoices.retain(|place| currency(place) == Some(to));
        let minor = self.rates.converted(minor, from, to, one.booked)?;
        for (place, part) in self.parts_of(minor, &invoices)? {
            self.allocate(payment, place, part)?;
        }
        Ok(())
    }

    /// Notes which payments are two sides of a transfer: those of which it was decided, with the names of the others. One
    /// that is not there yet is waited for.
    fn decided_sides(&mut self, sided: &[(u32, &str)], named: &HashMap<&str, Option<u32>>) {
        for place in named.values().flatten() {
            self.other_sides.insert(*place, OtherSide::Is(None));
        }
        for (place, name) in sided {
            let other = named.get(name).copied().flatten();
            self.other_sides.insert(*place, OtherSide::Is(other));
            if let Some(other) = other {
                self.other_sides.insert(other, OtherSide::Is(Some(*place)));
            }
        }
        let sides: Vec<u32> =
            named.values().flatten().chain(sided.iter().map(|(place, _)| place)).copied().collect();
        sides.into_iter().for_each(|place| self.set(place, State::Transfer));
    }
}
