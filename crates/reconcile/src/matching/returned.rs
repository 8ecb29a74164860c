//! Money that came in for nothing known and was sent back, or went out so and came back.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use evenfare_engine::money::Currency;

use super::advances::Whose;
use super::payments::{Matching, State};
use crate::loaded::{Loaded, Received};

/// What goes out to who paid, of an amount that came in from him before for nothing known, returns it, and neither is told.
/// Of equal ones it makes no difference which, but that it was before. They stand on his account; of who has none, both are
/// for nothing that was agreed. So does what comes in from who was paid, where he has an account, and no bonus that he may
/// have been paid.
pub(crate) fn returned(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) {
    let is_unknown = |(_, (_, state)): &(u32, (&Received<'_>, &State))| **state == State::Unknown;
    let unknown = || (0_u32..).zip(matching.payments.iter().zip(&matching.states)).filter(is_unknown);
    if !unknown().any(|(_, (one, _))| one.cleared() < 0) {
        return;
    }
    let has_bonus: HashSet<&str> = matching.terms.bonuses.iter().map(|step| &*step.partner).collect();
    let is_told = |whose: &Whose| matches!(whose, Whose::Firm(firm) if !has_bonus.contains(&**firm));
    let mut earlier: HashMap<(Whose, Currency, i64), Vec<u32>> = HashMap::new();
    let mut pairs = Vec::new();
    for (place, (one, _)) in unknown() {
        let (Some(whose), minor) = (Whose::of(one, loaded), one.cleared()) else { continue };
        let opposite = (whose, one.currency(), minor.saturating_neg());
        match earlier.get_mut(&opposite).and_then(Vec::pop) {
            Some(first) => pairs.push((first, place)),
            None if minor > 0 || is_told(&opposite.0) => {
                earlier.entry((opposite.0, opposite.1, minor)).or_default().push(place);
            }
            None => {}
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
    /// What we paid to a party that is known, for nothing known, that returns nothing and did not come back; with the party.
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

    /// What moved for nothing known and was returned, and what returned it.
    pub(crate) fn both_returned(&self) -> HashSet<u32> {
        self.returned.iter().flat_map(|(first, later)| [*first, *later]).collect()
    }

    /// What went out for nothing known, returns nothing that came in and did not come back.
    fn gone_for_nothing(&self) -> impl Iterator<Item = &'m Received<'a>> {
        let returned = self.both_returned();
        let all = (0_u32..).zip(self.payments.iter().zip(&self.states));
        let unknown = all.filter(move |(place, (one, state))| {
            **state == State::Unknown && one.cleared() < 0 && !returned.contains(place)
        });
        unknown.map(|(_, (one, _))| one)
    }
}
