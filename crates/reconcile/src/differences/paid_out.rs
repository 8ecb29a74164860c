//! Money that went out for nothing known, and stands on the account of a party.

use std::collections::HashSet;
use std::sync::Arc;

use super::known::Known;
use crate::difference::{Difference, Reason};
use crate::firm::WORKSHOP;
use crate::loaded::Loaded;
use crate::matching::{Matching, payment_document};

/// What went out to a party that is known, and neither pays out his bonus nor returns what came in for nothing known. To
/// whom nobody knows money goes for what is no business of these books. What the bank took back is told, whose ever it is.
/// Credit notes of ours that pay bonuses out are for that, though they are of no quote.
pub(crate) fn of_paid_out(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    (payments, credits): (&HashSet<Box<str>>, &HashSet<Box<str>>),
    into: &mut Known,
) {
    if !credits.is_empty() {
        into.told.retain(|one| {
            let is_ours = one.reason == Reason::InvoiceUnknown && *one.party == *WORKSHOP;
            !is_ours || !one.documents.iter().any(|paper| credits.contains(&paper.number))
        });
    }
    let unknown = matching.paid_for_nothing(loaded).filter(|(one, _)| !payments.contains(&one.name()));
    let unknown = unknown.map(|(one, party)| (one, Arc::clone(party)));
    let taken = matching.taken_for_nothing().map(|one| {
        let party = loaded.firms.of_payer(one.payment).map(Arc::clone);
        (one, party.unwrap_or_else(|| one.payment.party.as_deref().unwrap_or_default().into()))
    });
    into.extend(unknown.chain(taken).map(|(one, party)| Difference {
        day: one.booked,
        reason: Reason::PaidUnknown,
        quote: None,
        party,
        currency: one.currency(),
        amount_minor: one.cleared(),
        agreed_minor: None,
        documents: vec![payment_document(one)],
    }));
}
