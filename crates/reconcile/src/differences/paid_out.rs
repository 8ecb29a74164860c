//! Money that went out for nothing known, and stands on the account of a party.

use std::collections::HashSet;
use std::sync::Arc;

use super::known::Known;
use crate::chart::Role;
use crate::difference::{Difference, Reason};
use crate::journal::{Event, Journal};
use crate::loaded::Loaded;
use crate::matching::{Matching, State, payment_document};

/// What went out to a party that is known, and neither pays out his bonus nor returns what came in for nothing known. To whom nobody knows money goes for what is no
/// business of these books.
pub(crate) fn of_paid_out(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    journal: &Journal,
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
    let bonuses = bonuses_paid(journal);
    into.extend(unknown.filter(|(one, _)| !bonuses.contains(&*one.name())).map(|(one, party)| Difference {
        day: one.booked,
        reason: Reason::PaidUnknown,
        quote: None,
        party: Arc::clone(party),
        currency: one.currency(),
        amount_minor: one.cleared(),
        documents: vec![payment_document(one)],
    }));
}

/// The payments that pay out bonuses.
fn bonuses_paid(journal: &Journal) -> HashSet<&str> {
    let payments = journal.transactions().filter(|(one, _)| one.source.event == Event::Payment);
    let of_bonuses =
        payments.filter(|(_, postings)| postings.iter().any(|posting| posting.role == Role::BonusPayable));
    of_bonuses.map(|(one, _)| &*one.source.document).collect()
}
