//! What was paid, held against what was asked for.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::known::Known;
use super::off_rate::off_rate;
use crate::difference::{Difference, Document, Paper, Reason};
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::loaded::Loaded;
use crate::matching::{Matching, Open, Standing, State, Written, deal_of, payment_document, signed};
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
    // By invoice, to find the payments behind one.
    let mut by_open: Vec<(u32, u32)> =
        matching.allocations.iter().map(|part| (part.open, part.payment)).collect();
    by_open.sort_unstable();
    let in_question = InQuestion::new(matching);
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        let rest = open.rest();
        if rest == 0 || open.standing == Standing::Double {
            continue;
        }
        let reason = match () {
            () if rest.saturating_abs() <= terms.rounding_minor => Reason::Rounding,
            () if rest > 0 && open.due <= terms.until => Reason::Unpaid,
            // A credit note of its own is not overpaid: the money is still to go back.
            () if rest < 0 && signed(open.invoice, 1) > 0 => Reason::Overpaid,
            () => continue,
        };
        if reason == Reason::Rounding && open.paid == 0 {
            continue;
        }
        let from = by_open.partition_point(|(of, _)| *of < place);
        let payments = by_open.iter().skip(from).take_while(|(of, _)| *of == place);
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
        match in_question.of(open) {
            silent if silent > 0 && reason != Reason::Rounding => {
                let told = rest.saturating_abs().saturating_sub(silent);
                let told = if told > terms.rounding_minor { told } else { 0 };
                let sign = difference.amount_minor.signum();
                into.ask(difference, told.saturating_mul(sign));
            }
            _ => into.push(difference),
        }
    }
    for off in off_rate(matching)? {
        let (Some(received), Some(open)) = (matching.payment(off.payment), matching.open.get(off.open))
        else {
            continue;
        };
        let mut difference = of_open(loaded, open, Reason::Currency, off.minor);
        difference.day = received.booked;
        difference.currency = received.currency();
        difference.documents.push(payment_document(received));
        into.push(difference);
    }
    for (received, state) in matching.payments.iter().zip(&matching.states) {
        // What goes out for other things is no business of partner margins.
        if *state != State::Unknown || received.payment.minor <= 0 {
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
            amount_minor: received.payment.minor,
            documents: vec![payment_document(received)],
        });
    }
    owed_back(loaded, matching, terms, into);
    for (day, received, is_asked) in transit.overdue(matching, terms.until) {
        let difference = Difference {
            day,
            reason: Reason::InTransit,
            quote: None,
            party: WORKSHOP.into(),
            currency: received.currency(),
            amount_minor: received.cleared(),
            documents: vec![payment_document(received)],
        };
        if is_asked { into.ask(difference, 0) } else { into.push(difference) }
    }
    Ok(())
}

/// What was paid in advance for quotes that were taken back, less what went back of it: no invoice will ever ask for it.
fn owed_back(loaded: &Loaded<'_>, matching: &Matching<'_, '_>, terms: &Terms, into: &mut Known) {
    let mut held: BTreeMap<(u32, Currency), (NaiveDate, i64, Vec<Document>)> = BTreeMap::new();
    for (received, state) in matching.payments.iter().zip(&matching.states) {
        let State::InAdvance(deal) = *state else { continue };
        let Some(reversed) = deal_of(&loaded.deals, deal).and_then(|deal| deal.reversed) else { continue };
        let nothing = || (reversed, 0, Vec::new());
        let (day, minor, payments) = held.entry((deal, received.currency())).or_insert_with(nothing);
        *day = (*day).max(received.booked);
        *minor = minor.saturating_add(received.cleared());
        payments.push(payment_document(received));
    }
    for ((deal, currency), (day, amount_minor, payments)) in held {
        let Some(deal) = deal_of(&loaded.deals, deal).filter(|_| amount_minor > terms.rounding_minor) else {
            continue;
        };
        let Some(sale) = deal.sales.first() else { continue };
        let quote = Document { paper: Paper::Quote, number: deal.number.clone(), place: None };
        into.push(Difference {
            day,
            reason: Reason::Overpaid,
            quote: Some(deal.number.clone()),
            party: Arc::clone(&sale.buyer.id),
            currency,
            amount_minor,
            documents: [quote].into_iter().chain(payments).collect(),
        });
    }
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
        let (is_asked, sums) = match open.rest() > 0 {
            true => (open.may_be_paid, &self.came_in),
            false => (open.may_be_returned, &self.went_out),
        };
        let mut currencies = sums.keys();
        match is_asked {
            // What a credit note takes back, and what money of another currency is worth, is seen when it is decided.
            _ if open.may_be_credited && open.rest() > 0 => i64::MAX,
            true if currencies.any(|currency| *currency != open.currency()) => i64::MAX,
            true => sums.get(&open.currency()).copied().unwrap_or_default(),
            false => 0,
        }
    }
}

fn of_open(loaded: &Loaded<'_>, open: &Open<'_>, reason: Reason, amount_minor: i64) -> Difference {
    let quote = open.deal.and_then(|deal| deal_of(&loaded.deals, deal)).map(|deal| deal.number.clone());
    let invoice = Written::Invoice(open.invoice).document();
    let of_quote = quote.clone().map(|number| Document { paper: Paper::Quote, number, place: None });
    Difference {
        day: open.due,
        reason,
        quote,
        party: Arc::clone(&open.party),
        currency: open.currency(),
        amount_minor,
        documents: of_quote.into_iter().chain([invoice]).collect(),
    }
}
