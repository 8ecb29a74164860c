//! Money that went out for nothing known, and stands on the account of a party.

use std::collections::HashSet;
use std::sync::Arc;

use super::known::Known;
use crate::difference::{Difference, Reason};
use crate::loaded::Loaded;
use crate::matching::{Matching, State, payment_document};

/// What went out to a party that is known, and neither pays out his bonus nor returns what came in for nothing known. To
/// whom nobody knows money goes for what is no business of these books.
pub(crate) fn of_paid_out<'j>(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    pay_bonuses: impl FnOnce() -> HashSet<&'j str>,
    into: &mut Known,
) {
    let returns: HashSet<u32> = matching.returned.iter().map(|(_, later)| *later).collect();
    let all = (0_u32..).zip(matching.payments.iter().zip(&matching.states));
    let unknown = all.filter(|(place, (one, state))| {
        **state == State::Unknown && one.cleared() < 0 && !returns.contains(place)
    });
    let unknown = unknown.filter_map(|(_, (one, _))| Some((one, loaded.firms.of_payer(one.payment)?)));
    let mut unknown = unknown.peekable();
    if unknown.peek().is_none() {
        return;
    }
    let bonuses = pay_bonuses();
    into.extend(unknown.filter(|(one, _)| !bonuses.contains(&*one.name())).map(|(one, party)| Difference {
        day: one.booked,
        reason: Reason::PaidUnknown,
        quote: None,
        party: Arc::clone(party),
        currency: one.currency(),
        amount_minor: one.cleared(),
        agreed_minor: None,
        documents: vec![payment_document(one)],
    }));
}
