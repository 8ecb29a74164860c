//! What was paid, held against what was asked for.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::known::Known;
use super::off_rate::off_rate;
use crate::agreed::Agreed;
use crate::difference::{Difference, Document, Paper, Reason};
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::loaded::Loaded;
use crate::matching::{Advances, For, Matching, Open, Standing, State, Written, deal_of, payment_document};
use crate::sorted::run_of;
use crate::terms::Terms;
use crate::transit::Transit;

/// Differences of payments.
pub(crate) fn of_payments(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    transit: &Transit,
    terms: &Terms,
    into: &mut Known,
) -> Result<(), Unreconciled> {
    // By invoice, to find the payments behind one of which something is left: of a million few are.
    let is_left = |open: u32| matching.open.get(open).is_some_and(|open| open.rest() != 0);
    let parts = matching.allocations.iter().filter(|part| is_left(part.open));
    let mut by_open: Vec<(u32, u32)> = parts.map(|part| (part.open, part.payment)).collect();
    by_open.sort_unstable();
    let in_question = InQuestion::new(matching);
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        let rest = open.rest();
        // Of a second one is told all that it asks for; what was paid beyond that is to go back all the same.
        if rest == 0 || open.standing == Standing::Double && rest > 0 {
            continue;
        }
        let reason = match () {
            () if rest.saturating_abs() <= terms.rounding_minor => Reason::Rounding,
            () if rest > 0 && open.due <= terms.until => Reason::Unpaid,
            // A credit note of its own is not overpaid: the money is still to go back.
            () if rest < 0 && !open.is_credit() => Reason::Overpaid,
            () => continue,
        };
        if reason == Reason::Rounding && open.paid == 0 {
            continue;
        }
        let payments = run_of(&by_open, |(of, _)| of.cmp(&place));
        let mut difference = of_open(loaded, open, reason, rest.saturating_neg());
        // What is paid too much is known when it was paid, not when it was due.
        if reason != Reason::Unpaid {
            difference.day = open.asked;
        }
        for (_, payment) in payments {
            if let Some(received) = matching.payment(*payment) {
                difference.day = difference.day.max(received.booked);
                difference.documents.push(payment_document(received));
            }
        }
        let silent = if reason == Reason::Rounding { 0 } else { in_question.of(open) };
        tell(difference, silent, terms, into);
    }
    for off in off_rate(matching)? {
        let told = match off.of {
            For::Open(open) => {
                matching.open.get(open).map(|open| of_open(loaded, open, Reason::Currency, off.minor))
            }
            For::Deal(deal) => deal_of(&loaded.deals, deal).and_then(|deal| of_quote(deal, Reason::Currency)),
        };
        let Some((mut difference, received)) = told.zip(matching.payment(off.payment)) else { continue };
        (difference.agreed_minor, difference.amount_minor) = (Some(off.agreed_minor), off.minor);
        difference.day = received.booked;
        difference.currency = received.currency();
        difference.documents.push(payment_document(received));
        into.push(difference);
    }
    let returned = matching.both_returned();
    for (place, (received, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
        // Of what goes out, `of_paid_out` tells.
        if *state != State::Unknown || received.cleared() <= 0 || returned.contains(&place) {
            continue;
        }
        let party = loaded.firms.of_payer(received.payment).map(Arc::clone);
        let named = || received.payment.party.as_deref().unwrap_or_default().into();
        into.push(Difference {
            day: received.booked,
            reason: Reason::PaymentUnknown,
            quote: None,
            party: party.unwrap_or_else(named),
            currency: received.currency(),
            amount_minor: received.cleared(),
            agreed_minor: None,
            documents: vec![payment_document(received)],
        });
    }
    owed_back(loaded, matching, &in_question, terms, into);
    given_too_much(loaded, matching, into);
    for (day, received, is_asked) in transit.overdue(matching, terms.until) {
        let difference = Difference {
            day,
            reason: Reason::InTransit,
            quote: None,
            party: WORKSHOP.into(),
            currency: received.currency(),
            amount_minor: received.cleared(),
            agreed_minor: None,
            documents: vec![payment_document(received)],
        };
        if is_asked { into.ask(difference, 0) } else { into.push(difference) }
    }
    for lost in &transit.lost {
        let (first, later) = lost.sides;
        let payments = [first, later].into_iter().filter_map(|place| matching.payment(place));
        into.push(Difference {
            day: lost.day,
            reason: if lost.is_by_rate { Reason::Currency } else { Reason::InTransit },
            quote: None,
            party: WORKSHOP.into(),
            currency: lost.currency,
            amount_minor: lost.minor,
            agreed_minor: Some(lost.left_minor),
            documents: payments.map(payment_document).collect(),
        });
    }
    Ok(())
}

/// What was paid in advance for quotes that were taken back, less what went back of it: no invoice will ever ask for it.
fn owed_back(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    in_question: &InQuestion,
    terms: &Terms,
    into: &mut Known,
) {
    for advance in Advances::new(matching, loaded).all {
        let Some(deal) = deal_of(&loaded.deals, advance.deal) else { continue };
        let owed = of_quote(deal, Reason::Overpaid).filter(|_| advance.minor > terms.rounding_minor);
        let Some(mut difference) = owed else { continue };
        (difference.day, difference.currency) = (advance.day, advance.currency);
        difference.amount_minor = advance.minor;
        let payments = advance.payments.iter().filter_map(|place| matching.payment(*place));
        difference.documents.extend(payments.map(payment_document));
        let silent = in_question.went_out(advance.may_be_returned, advance.currency);
        tell(difference, silent, terms, into);
    }
}

/// What went back of an advance for a quote beyond all that had come in for it.
fn given_too_much(loaded: &Loaded<'_>, matching: &Matching<'_, '_>, into: &mut Known) {
    let given_back = matching.held.iter().filter(|held| held.minor < 0);
    let given_back: BTreeSet<(u32, Currency)> = given_back.map(|held| (held.deal, held.currency)).collect();
    let mut sums: BTreeMap<(u32, Currency), (i64, Vec<u32>)> = BTreeMap::new();
    for held in &matching.held {
        let of = (held.deal, held.currency);
        if given_back.contains(&of) {
            let (sum, payments) = sums.entry(of).or_default();
            *sum = sum.saturating_add(held.minor);
            payments.push(held.payment);
        }
    }
    for ((deal, currency), (minor, payments)) in sums.into_iter().filter(|(_, (sum, _))| *sum < 0) {
        let told = deal_of(&loaded.deals, deal).and_then(|deal| of_quote(deal, Reason::PaidUnknown));
        let Some(mut difference) = told else { continue };
        (difference.currency, difference.amount_minor) = (currency, minor);
        for received in payments.iter().filter_map(|place| matching.payment(*place)) {
            difference.day = difference.day.max(received.booked);
            difference.documents.push(payment_document(received));
        }
        into.push(difference);
    }
}

/// Tells a difference, but what a question may be the answer to.
fn tell(difference: Difference, silent: i64, terms: &Terms, into: &mut Known) {
    if silent == 0 {
        return into.push(difference);
    }
    let told = difference.amount_minor.saturating_abs().saturating_sub(silent);
    let told = if told > terms.rounding_minor { told } else { 0 };
    let sign = difference.amount_minor.signum();
    into.ask(difference, told.saturating_mul(sign));
}

/// The money that is asked about, of each currency. What it may be for is not told as well, one who has paid would be
/// reminded; but more of a debt than all of it together is owed whatever the answers are.
#[derive(Default)]
struct InQuestion {
    came_in: HashMap<Currency, i64>,
    went_out: HashMap<Currency, i64>,
}

impl InQuestion {
    fn new(matching: &Matching<'_, '_>) -> Self {
        let mut all = Self::default();
        for (received, state) in matching.payments.iter().zip(&matching.states) {
            if *state == State::Asked {
                let minor = received.cleared();
                let of = if minor < 0 { &mut all.went_out } else { &mut all.came_in };
                let sum = of.entry(received.currency()).or_default();
                *sum = sum.saturating_add(minor.saturating_abs());
            }
        }
        all
    }

    /// How much of what is left of an invoice may be answered for.
    fn of(&self, open: &Open<'_>) -> i64 {
        match open.rest() > 0 {
            // What a credit note takes back is seen when it is decided.
            true if open.may_be_credited => i64::MAX,
            true if open.may_be_paid => sum(&self.came_in, open.currency()),
            true => 0,
            false => self.went_out(open.may_be_returned, open.currency()),
        }
    }

    /// How much of what is to go back may be answered for, where it is asked about.
    fn went_out(&self, is_asked: bool, currency: Currency) -> i64 {
        if is_asked { sum(&self.went_out, currency) } else { 0 }
    }
}

/// The money that is asked about, for what is of a currency. What money of another is worth, is seen when it is decided.
fn sum(sums: &HashMap<Currency, i64>, currency: Currency) -> i64 {
    match sums.keys().any(|other| *other != currency) {
        true => i64::MAX,
        false => sums.get(&currency).copied().unwrap_or_default(),
    }
}

/// Of what is for a quote before there is an invoice; nothing so far.
fn of_quote(deal: &Agreed, reason: Reason) -> Option<Difference> {
    Some(Difference {
        day: deal.accepted,
        reason,
        quote: Some(deal.number.clone()),
        party: Arc::clone(&deal.sales.first()?.buyer.id),
        currency: deal.currency,
        amount_minor: 0,
        agreed_minor: None,
        documents: vec![Document { paper: Paper::Quote, number: deal.number.clone(), place: None }],
    })
}

fn of_open(loaded: &Loaded<'_>, open: &Open<'_>, reason: Reason, amount_minor: i64) -> Difference {
    let quote = open.deal.and_then(|deal| deal_of(&loaded.deals, deal)).map(|deal| deal.number.clone());
    let invoice = Written::Invoice(open.invoice).document();
    let of_quote = quote.clone().map(|number| Document { paper: Paper::Quote, number, place: None });
    Difference {
        day: open.due,
        reason,
        quote,
        party: Arc::clone(open.party),
        currency: open.currency(),
        amount_minor,
        agreed_minor: Some(open.payable),
        documents: of_quote.into_iter().chain([invoice]).collect(),
    }
}
