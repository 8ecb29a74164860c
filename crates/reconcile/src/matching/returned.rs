//! Money that came in for nothing known and was sent back.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::advances::Whose;
use super::payments::{Matching, State};
use crate::loaded::{Loaded, Received};

/// What goes out to who paid, of an amount that came in from him before for nothing known, returns it, and neither is told.
/// Of equal ones it makes no difference which, but that it was before. They stand on his account; of who has none, both are
/// for nothing that was agreed.
pub(crate) fn returned(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) {
    let is_unknown = |(_, (_, state)): &(u32, (&Received<'_>, &State))| **state == State::Unknown;
    let unknown = || (0_u32..).zip(matching.payments.iter().zip(&matching.states)).filter(is_unknown);
    if !unknown().any(|(_, (one, _))| one.cleared() < 0) {
        return;
    }
    let mut came_in: HashMap<(Whose, Currency, i64), Vec<u32>> = HashMap::new();
    let mut pairs = Vec::new();
    for (place, (one, _)) in unknown() {
        let (Some(whose), minor) = (Whose::of(one, loaded), one.cleared()) else { continue };
        let alike = came_in.entry((whose, one.currency(), minor.saturating_abs())).or_default();
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

impl<'m, 'a> Matching<'m, 'a> {
    /// What we paid to a party that is known, for nothing known, and that returns nothing that came in; with the party.
    pub(crate) fn paid_for_nothing(
        &self,
        loaded: &Loaded<'a>,
    ) -> impl Iterator<Item = (&'m Received<'a>, &'a Arc<str>)> {
        let paid = self.gone_for_nothing().filter(|one| !one.reversal);
        paid.filter_map(move |one| Some((one, loaded.firms.of_payer(one.payment)?)))
    }

    /// What the bank took back and it is not known of what.
    pub(crate) fn taken_for_nothing(&self) -> impl Iterator<Item = &'m Received<'a>> {
        self.gone_for_nothing().filter(|one| one.reversal)
    }

    /// What went out for nothing known and returns nothing that came in.
    fn gone_for_nothing(&self) -> impl Iterator<Item = &'m Received<'a>> {
        let returns: HashSet<u32> = self.returned.iter().map(|(_, later)| *later).collect();
        let all = (0_u32..).zip(self.payments.iter().zip(&self.states));
        let unknown = all.filter(move |(place, (one, state))| {
            **state == State::Unknown && one.cleared() < 0 && !returns.contains(place)
        });
        unknown.map(|(_, (one, _))| one)
    }
}
