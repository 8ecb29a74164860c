//! Transfers between own accounts: which side is of which.

use std::collections::HashMap;

use evenfare_engine::money::Overflow;

use crate::error::Unreconciled;
use crate::matching::{Matching, State};
use crate::rates::Rates;
use crate::reference::normal;
use crate::terms::Terms;

/// Days by which the two sides of a transfer may be apart.
const DAYS_APART: i64 = 10;

/// Of each transfer whose other side was booked before it, what that side is worth in the books' currency. The
/// sides are of opposite direction and the same amount, or in two currencies as near as the terms allow.
pub(crate) fn other_sides(
    matching: &Matching<'_, '_>,
    rates: &Rates,
    terms: &Terms,
) -> Result<HashMap<u32, i64>, Unreconciled> {
    let mut found = HashMap::new();
    // By own account and other side, what has not arrived.
    let mut waiting: HashMap<(String, String), Vec<(u32, i64)>> = HashMap::new();
    for (place, (one, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
        let (State::Transfer, Some(other)) = (state, one.payment.party_account.as_deref()) else { continue };
        let (own, other) = (normal(&one.statement.account), normal(other));
        // As they are posted: what moved, and what was kept back on the way.
        let worth = |minor| rates.converted(minor, one.currency(), terms.currency, one.booked);
        let base =
            worth(one.payment.minor)?.checked_add(worth(one.payment.charges_minor)?).ok_or(Overflow)?;
        let before = waiting.entry((other.clone(), own.clone())).or_default();
        let mut first = None;
        for (at, (earlier, worth)) in before.iter().enumerate() {
            let Some(sent) = matching.payment(*earlier) else { continue };
            let apart = base.checked_add(*worth).ok_or(Overflow)?;
            let fits = match sent.currency() == one.currency() {
                true => sent.cleared() == one.cleared().saturating_neg(),
                false => base.signum() != worth.signum() && matching.within_rate(apart, *worth)?,
            };
            if fits && one.booked.signed_duration_since(sent.booked).num_days() <= DAYS_APART {
                first = Some(at);
                break;
            }
        }
        match first {
            Some(at) => {
                let (_, worth) = before.remove(at);
                found.insert(place, worth);
            }
            None => waiting.entry((own, other)).or_default().push((place, base)),
        }
    }
    Ok(found)
}
