//! What was paid, held against what was asked for.

use std::sync::Arc;

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
    into: &mut Vec<Difference>,
) -> Result<(), Unreconciled> {
    // By invoice, to find the payments behind one.
    let mut by_open: Vec<(u32, u32)> =
        matching.allocations.iter().map(|part| (part.open, part.payment)).collect();
    by_open.sort_unstable();
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        let rest = open.rest();
        if rest == 0 || open.standing == Standing::Double {
            continue;
        }
        let reason = match () {
            () if rest.saturating_abs() <= terms.rounding_minor => Reason::Rounding,
            // A credit note of its own is not overpaid: the money is still to go back.
            // What is asked is not told as well: one who has paid would be reminded.
            () if rest > 0 && open.due <= terms.until && !open.may_be_paid => Reason::Unpaid,
            () if rest < 0 && signed(open.invoice, 1) > 0 && !open.may_be_returned => Reason::Overpaid,
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
        into.push(difference);
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
    for (day, received) in transit.overdue(matching, terms.until) {
        into.push(Difference {
            day,
            reason: Reason::InTransit,
            quote: None,
            party: WORKSHOP.into(),
            currency: received.currency(),
            amount_minor: received.cleared(),
            documents: vec![payment_document(received)],
        });
    }
    Ok(())
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
