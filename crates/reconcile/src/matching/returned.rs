//! Money that came in for nothing known and was sent back.

use std::collections::HashMap;

use evenfare_engine::money::Currency;

use super::payments::{Matching, State};
use crate::loaded::{Loaded, Received};
use crate::reference::normal;

/// Who is at the other side: a firm that is known, else as the bank names him.
#[derive(PartialEq, Eq, Hash)]
enum OtherSide<'l> {
    Firm(&'l str),
    Named(String),
}

impl<'l> OtherSide<'l> {
    fn of(one: &Received<'_>, loaded: &'l Loaded<'_>) -> Option<Self> {
        if let Some(firm) = loaded.firms.of_payer(one.payment) {
            return Some(Self::Firm(firm));
        }
        let named = one.payment.party_account.as_deref().or(one.payment.party.as_deref())?;
        Some(Self::Named(normal(named))).filter(|side| *side != Self::Named(String::new()))
    }
}

/// What goes out to who paid, of an amount that came in from him before for nothing known, returns it, and neither is told.
/// Of equal ones it makes no difference which, but that it was before. They stand on his account; of who has none, both are
/// for nothing that was agreed.
pub(crate) fn returned(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) {
    let is_unknown = |(_, (_, state)): &(u32, (&Received<'_>, &State))| **state == State::Unknown;
    let unknown = || (0_u32..).zip(matching.payments.iter().zip(&matching.states)).filter(is_unknown);
    if !unknown().any(|(_, (one, _))| one.cleared() < 0) {
        return;
    }
    let mut came_in: HashMap<(OtherSide<'_>, Currency, i64), Vec<u32>> = HashMap::new();
    let mut pairs = Vec::new();
    for (place, (one, _)) in unknown() {
        let (Some(side), minor) = (OtherSide::of(one, loaded), one.cleared()) else { continue };
        let alike = came_in.entry((side, one.currency(), minor.saturating_abs())).or_default();
        match minor > 0 {
            true => alike.push(place),
            false => pairs.extend(alike.pop().map(|first| (first, place))),
        }
    }
    for (first, later) in &pairs {
        if matching.payer(loaded, *first).is_none() {
            matching.set(*first, State::Other);
            matching.set(*later, State::Other);
        }
    }
    matching.returned.append(&mut pairs);
}
