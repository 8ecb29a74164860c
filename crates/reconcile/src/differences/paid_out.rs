//! Money that went out for nothing known, and stands on the account of a party.

use std::collections::HashSet;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::known::Known;
use crate::chart::Role;
use crate::difference::{Difference, Reason};
use crate::journal::{Event, Journal};
use crate::loaded::{Loaded, Received};
use crate::matching::{Matching, State, payment_document};

/// Whose it is, in which currency and when: what came in and went out between him and us is gone through in this order.
type Key<'a> = (&'a Arc<str>, Currency, NaiveDate, usize);

/// What went out to a party that is known and neither pays out his bonus nor returns an equal sum that came in for nothing
/// known. To whom nobody knows money goes for what is no business of these books.
pub(crate) fn of_paid_out(
    loaded: &Loaded<'_>,
    matching: &Matching<'_, '_>,
    journal: &Journal,
    into: &mut Known,
) {
    let all = matching.payments.iter().zip(&matching.states).enumerate();
    let unknown = all.filter(|(_, (_, state))| **state == State::Unknown);
    let mut unknown: Vec<(Key<'_>, &Received<'_>)> = unknown
        .filter_map(|(place, (one, _))| {
            let party = loaded.firms.of_payer(one.payment)?;
            Some(((party, one.currency(), one.booked, place), one))
        })
        .collect();
    if !unknown.iter().any(|(_, one)| one.cleared() < 0) {
        return;
    }
    unknown.sort_unstable_by_key(|(key, _)| *key);
    let bonuses = bonuses_paid(journal);
    for of_party in unknown.chunk_by(|(a, _), (b, _)| (a.0, a.1) == (b.0, b.1)) {
        let mut came_in: Vec<i64> = Vec::new();
        for ((party, currency, day, _), one) in of_party {
            let minor = one.cleared();
            if minor >= 0 {
                came_in.push(minor);
                continue;
            }
            if let Some(place) = came_in.iter().position(|came_in| *came_in == minor.saturating_neg()) {
                came_in.swap_remove(place);
                continue;
            }
            if bonuses.contains(&*one.name()) {
                continue;
            }
            into.push(Difference {
                day: *day,
                reason: Reason::PaidUnknown,
                quote: None,
                party: Arc::clone(party),
                currency: *currency,
                amount_minor: minor,
                documents: vec![payment_document(one)],
            });
        }
    }
}

/// The payments that pay out bonuses.
fn bonuses_paid(journal: &Journal) -> HashSet<&str> {
    let payments = journal.transactions().filter(|(one, _)| one.source.event == Event::Payment);
    let of_bonuses =
        payments.filter(|(_, postings)| postings.iter().any(|posting| posting.role == Role::BonusPayable));
    of_bonuses.map(|(one, _)| &*one.source.document).collect()
}
