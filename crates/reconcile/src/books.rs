//! Papers and payments, posted.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow, Ties, split};

use crate::chart::Role;
use crate::error::Unreconciled;
use crate::journal::{Event, Journal, Posting, Source};
use crate::loaded::{Loaded, Received};
use crate::matching::{Allocation, For, Held, Matching, Open, State, deal_of, signed};
use crate::rates::Rates;
use crate::terms::Terms;
use crate::transit::{Side, Transit};
use crate::worth::{Worth, Worths};

/// What there is to post besides our invoices, the bonuses of a year among it.
fn others_to_post(loaded: &Loaded<'_>, terms: &Terms) -> usize {
    let bonuses = terms.bonuses.len().saturating_mul(12);
    loaded.payments.len().saturating_add(loaded.courier_bills.len()).saturating_add(bonuses)
}

/// Posts our invoices on the days they were issued, in a journal with room for the transactions of all [`others`]. The
/// postings of a transaction are in the order of their accounts.
pub(crate) fn invoices(
    loaded: &Loaded<'_>,
    items: &[Open<'_>],
    worths: &Worths<'_>,
    terms: &Terms,
) -> Result<Journal, Unreconciled> {
    let others = others_to_post(loaded, terms);
    // An invoice has gross, net and VAT.
    let mut journal =
        Journal::with_capacity(items.len().saturating_add(others), items.len().saturating_mul(3));
    for (place, item) in (0..).zip(items) {
        invoice(&mut journal, item, worths.of(place, item)?)?;
    }
    Ok(journal)
}

/// Posts all that happened besides our invoices, on the days it happened, in a journal of its own. `names` are those of
/// all payments.
pub(crate) fn others(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    worths: &Worths<'_>,
    transit: &Transit,
    names: Vec<Box<str>>,
    (rates, terms): (&Rates, &Terms),
) -> Result<Journal, Unreconciled> {
    let room = others_to_post(loaded, terms);
    // Most has two sides.
    let journal = Journal::with_capacity(room, room.saturating_mul(2));
    let cleared = vec![Cleared::default(); matching.open.items.len()];
    let (parts, held) = (Vec::new(), HashMap::new());
    let mut books = Books { journal, worths, cleared, held, parts, rates, terms };
    let returned: HashMap<u32, u32> =
        matching.returned.iter().map(|(first, later)| (*later, *first)).collect();
    for ((place, received, state, parts), name) in matching.with_parts().zip(names) {
        let first = returned.get(&place).and_then(|first| matching.payment(*first));
        let before = match first {
            Some(first) => Some(Side::of(first, rates, terms)?),
            None => transit.sent(place),
        };
        books.payment(loaded, matching, (place, received, name), (state, parts), before)?;
    }
    for kept in &loaded.kept_back {
        let (statement, currency) = (kept.statement, kept.statement.currency);
        let base = rates.converted(kept.minor, currency, terms.currency, kept.booked)?;
        let document = format!("{}/{}/{}", statement.account, statement.id, kept.entry);
        let source = Source { event: Event::BankCharges, document: document.into(), party: None };
        let bank = Posting { role: Role::Bank, currency, minor: kept.minor, base_minor: base };
        books.journal.post(source, kept.booked, kept.booked, [bank, against(bank, Role::BankCharges)?])?;
    }
    for bill in &loaded.courier_bills {
        let base = rates.converted(bill.net_minor, bill.currency, terms.currency, bill.carried)?;
        let party = Some(bill.courier.as_ref().into());
        let source = Source { event: Event::CourierBill, document: loaded.name_of(bill), party };
        let cost = Posting {
            role: Role::CourierCost,
            currency: bill.currency,
            minor: bill.net_minor,
            base_minor: base,
        };
        books.journal.post(
            source,
            bill.carried,
            bill.carried,
            [cost, against(cost, Role::CourierPayable)?],
        )?;
    }
    books.rounding(matching)?;
    Ok(books.journal)
}

/// What was cleared of an invoice so far: in its currency and in the books', and the last day.
#[derive(Clone, Copy, Default)]
struct Cleared {
    minor: i64,
    base: i64,
    day: Option<NaiveDate>,
}

struct Books<'b> {
    journal: Journal,
    worths: &'b Worths<'b>,
    /// By open item.
    cleared: Vec<Cleared>,
    /// What is held for each quote so far: in its currency and in the books'.
    held: HashMap<(u32, Currency), [i64; 2]>,
    /// What the payment at hand clears, and of whom.
    parts: Vec<(For, Posting)>,
    rates: &'b Rates,
    terms: &'b Terms,
}

/// The other side of a posting.
fn against(posting: Posting, role: Role) -> Result<Posting, Overflow> {
    let turned = |minor: i64| minor.checked_neg().ok_or(Overflow);
    Ok(Posting {
        role,
        currency: posting.currency,
        minor: turned(posting.minor)?,
        base_minor: turned(posting.base_minor)?,
    })
}

/// Gross owed, net earned, VAT owed.
fn invoice(journal: &mut Journal, item: &Open<'_>, worth: Worth) -> Result<(), Unreconciled> {
    let invoice = item.invoice;
    let (net, gross) = (signed(invoice, invoice.net_minor), signed(invoice, invoice.gross_minor));
    let vat = gross.checked_sub(net).ok_or(Overflow)?;
    let posting =
        |role, minor: i64, base_minor: i64| Posting { role, currency: invoice.currency, minor, base_minor };
    let source = Source {
        event: Event::Invoice,
        document: invoice.number.clone(),
        party: Some(Arc::clone(item.party)),
    };
    let postings = [
        posting(Role::Receivable, gross, worth.gross),
        against(posting(Role::Revenue, net, worth.net), Role::Revenue)?,
        against(posting(Role::VatPayable, vat, worth.vat), Role::VatPayable)?,
    ];
    Ok(journal.post(source, invoice.issued, invoice.issued, postings)?)
}

impl Books<'_> {
    /// What an invoice is worth in the books of what a payment clears of it: of all that was cleared so far,
    /// in proportion, so that nothing is left when nothing is left to be paid.
    fn clear(
        &mut self,
        item: &Open<'_>,
        place: u32,
        minor: i64,
        day: NaiveDate,
    ) -> Result<i64, Unreconciled> {
        let at = usize::try_from(place).ok();
        let Some(cleared) = at.and_then(|at| self.cleared.get_mut(at)) else { return Ok(0) };
        let before = cleared.base;
        cleared.minor = cleared.minor.checked_add(minor).ok_or(Overflow)?;
        cleared.day = Some(cleared.day.map_or(day, |known| known.max(day)));
        let (from, to) = (item.currency(), self.terms.currency);
        cleared.base = if from == to {
            cleared.minor
        } else {
            let worth = self.worths.of(place, item)?;
            match cleared.minor == item.payable {
                true => worth.payable,
                false => self.rates.converted(cleared.minor, from, to, worth.by_rates_of)?,
            }
        };
        Ok(cleared.base.checked_sub(before).ok_or(Overflow)?)
    }

    /// What is held of a payment, at the rate of its day. Where all of it is, in its own currency, that is what came in.
    /// What gives back what is held is worth what that was.
    fn hold(&mut self, held: &[Held], received: &Received<'_>, came_in: i64) -> Result<(), Unreconciled> {
        let is_own = held.iter().all(|part| part.currency == received.currency());
        let mut left = came_in;
        for (number, part) in (1..).zip(held) {
            let &Held { deal, currency, minor, .. } = part;
            let mut base_minor =
                self.rates.converted(minor, currency, self.terms.currency, received.booked)?;
            if is_own
                && number == held.len()
                && self.parts.iter().all(|(what, _)| matches!(what, For::Deal(_)))
            {
                base_minor = left;
            }
            left = left.checked_sub(base_minor).ok_or(Overflow)?;
            let base_minor = self.moved((deal, currency), minor, base_minor)?;
            let posting = Posting { role: Role::Unapplied, currency, minor, base_minor };
            self.parts.push((For::Deal(deal), against(posting, Role::Unapplied)?));
        }
        Ok(())
    }

    /// Moves what is held for a quote, and answers what that is worth in the books: as much as lessens what is held, its
    /// part of what that is worth, so that nothing is left where all went back; what is over, its part of `base_minor`.
    fn moved(&mut self, of: (u32, Currency), minor: i64, base_minor: i64) -> Result<i64, Overflow> {
        let [held, held_base] = self.held.entry(of).or_default();
        let is_lessened = held.signum().saturating_mul(minor.signum()) < 0;
        let lessened = if is_lessened { held.saturating_abs().min(minor.saturating_abs()) } else { 0 };
        let part = |base: i64, of: i64| {
            let weights = [lessened, of.saturating_abs().saturating_sub(lessened)];
            let parts = split(base, &weights, Ties::First).map_err(|_| Overflow)?;
            parts.first().copied().ok_or(Overflow)
        };
        let worth = match lessened {
            0 => base_minor,
            _ => {
                let over = base_minor.checked_sub(part(base_minor, minor)?).ok_or(Overflow)?;
                over.checked_sub(part(*held_base, *held)?).ok_or(Overflow)?
            }
        };
        *held = held.checked_add(minor).ok_or(Overflow)?;
        *held_base = held_base.checked_add(worth).ok_or(Overflow)?;
        Ok(worth)
    }

    /// Money in, charges kept back, what it clears; what exchange rates made of it is the rest.
    fn payment(
        &mut self,
        loaded: &Loaded<'_>,
        matching: &Matching<'_, '_>,
        (place, received, name): (u32, &Received<'_>, Box<str>),
        (state, parts): (&State, &[Allocation]),
        before: Option<Side>,
    ) -> Result<(), Unreconciled> {
        let Received { minor, payment, .. } = *received;
        let charges_minor = matching.charges(place, received);
        let (currency, day) = (received.currency(), received.booked);
        let (rates, books) = (self.rates, self.terms.currency);
        let base = |minor| rates.converted(minor, currency, books, day);
        let bank = Posting { role: Role::Bank, currency, minor, base_minor: base(minor)? };
        let mut charges = Posting {
            role: Role::BankCharges,
            currency,
            minor: charges_minor,
            base_minor: base(charges_minor)?,
        };
        self.parts.clear();
        for part in parts {
            let Some(item) = matching.open.get(part.open) else { continue };
            let base_minor = self.clear(item, part.open, part.minor, day)?;
            let cleared =
                Posting { role: Role::Receivable, currency: item.currency(), minor: part.minor, base_minor };
            self.parts.push((For::Open(part.open), against(cleared, Role::Receivable)?));
        }
        let came_in = bank.base_minor.checked_add(charges.base_minor).ok_or(Overflow)?;
        self.hold(matching.held_of(place), received, came_in)?;
        let party = |what: &For| match *what {
            For::Open(open) => matching.open.get(open).map(|item| item.party),
            For::Deal(deal) => Some(&deal_of(&loaded.deals, deal)?.sales.first()?.buyer.id),
        };
        let first = self.parts.first().and_then(|(what, _)| party(what));
        let rest = |role| {
            against(
                Posting {
                    role,
                    currency,
                    minor: received.cleared(),
                    base_minor: bank.base_minor.saturating_add(charges.base_minor),
                },
                role,
            )
        };
        let Some(first) = first else {
            let party = match state {
                State::Transfer => None,
                _ => loaded.firms.of_payer(payment).cloned(),
            };
            let role = match (state, &party) {
                // Each account has a statement of its own, and the two may be of different days.
                (State::Transfer, _) => Role::Transit,
                (State::Other, _) => Role::Clearing,
                (_, None) if minor < 0 => Role::Clearing,
                _ => Role::Unapplied,
            };
            let source = Source { event: Event::Payment, document: name, party };
            let mut rest = rest(role)?;
            let mut exchange =
                Posting { role: Role::Exchange, currency: self.terms.currency, minor: 0, base_minor: 0 };
            if let Some(Side { currency, minor, base_minor }) = before {
                // What was put into transit comes out of it; so does what came in for nothing known and goes back. What
                // did not arrive was kept back on the way; what rates made of it is the rest.
                let missing = if currency == received.currency() {
                    rest.minor.checked_sub(minor).ok_or(Overflow)?
                } else {
                    0
                };
                let missing_base = base(missing)?;
                charges.minor = charges.minor.checked_add(missing).ok_or(Overflow)?;
                charges.base_minor = charges.base_minor.checked_add(missing_base).ok_or(Overflow)?;
                let after = rest.base_minor.checked_sub(missing_base);
                exchange.base_minor =
                    after.and_then(|after| after.checked_sub(base_minor)).ok_or(Overflow)?;
                exchange.minor = exchange.base_minor;
                rest = Posting { role, currency, minor, base_minor };
            }
            return Ok(self.journal.post(source, day, day, [bank, charges, rest, exchange])?);
        };
        let source = |document, party| Source { event: Event::Payment, document, party };
        let books = |role, minor| Posting { role, currency: self.terms.currency, minor, base_minor: minor };
        let cleared = sum(self.parts.iter().map(|(_, posting)| posting))?;
        let exchange = came_in.checked_add(cleared).and_then(i64::checked_neg).ok_or(Overflow)?;
        let exchange = books(Role::Exchange, exchange);
        if self.parts.iter().all(|(what, _)| party(what) == Some(first)) {
            let postings = self.parts.iter().map(|(_, posting)| *posting);
            let all = [bank, charges].into_iter().chain(postings).chain([exchange]);
            return Ok(self.journal.post(source(name, Some(Arc::clone(first))), day, day, all)?);
        }
        // For invoices of several parties: the money first, then what it clears of each.
        let over = books(Role::Clearing, cleared);
        self.journal.post(source(name.clone(), None), day, day, [bank, charges, over, exchange])?;
        let mut by_party: Vec<(&Arc<str>, Vec<Posting>)> = Vec::new();
        for (what, posting) in &self.parts {
            let Some(party) = party(what) else { continue };
            match by_party.iter_mut().find(|(known, _)| *known == party) {
                Some((_, postings)) => postings.push(*posting),
                None => by_party.push((party, vec![*posting])),
            }
        }
        for (party, postings) in by_party {
            let over = against(books(Role::Clearing, sum(&postings)?), Role::Clearing)?;
            let all = postings.into_iter().chain([over]);
            self.journal.post(source(name.clone(), Some(Arc::clone(party))), day, day, all)?;
        }
        Ok(())
    }

    /// What is left of paid invoices by rounding is written off, on the day of the last payment.
    fn rounding(&mut self, matching: &Matching<'_, '_>) -> Result<(), Unreconciled> {
        for (place, item) in (0_u32..).zip(&matching.open.items) {
            let rest = item.rest();
            let cleared = usize::try_from(place).ok().and_then(|place| self.cleared.get(place));
            let Some(day) = cleared.and_then(|cleared| cleared.day) else { continue };
            if !item.is_written_off(self.terms) {
                continue;
            }
            let base_minor = self.clear(item, place, rest, day)?;
            let written_off =
                Posting { role: Role::Rounding, currency: item.currency(), minor: rest, base_minor };
            let source = Source {
                event: Event::Rounding,
                document: item.invoice.number.clone(),
                party: Some(Arc::clone(item.party)),
            };
            let postings = [against(written_off, Role::Receivable)?, written_off];
            self.journal.post(source, day, day, postings)?;
        }
        Ok(())
    }
}

/// What postings come to in the books' currency.
fn sum<'p>(postings: impl IntoIterator<Item = &'p Posting>) -> Result<i64, Overflow> {
    let mut postings = postings.into_iter();
    postings.try_fold(0_i64, |sum, posting| sum.checked_add(posting.base_minor).ok_or(Overflow))
}
