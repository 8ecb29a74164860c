//! What was paid in advance for quotes that were taken back: no invoice will ever ask for it, so it is to go back to who
//! paid it.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::payments::{Held, Matching, State};
use super::written::deal_of;
use crate::loaded::{Loaded, Received};
use crate::reference::normal;

/// Who paid, or to whom it goes: a firm that is known, else as the bank names him.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) enum Whose {
    Firm(Arc<str>),
    Other(String),
}

impl Whose {
    pub(super) fn of(one: &Received<'_>, loaded: &Loaded<'_>) -> Option<Self> {
        if let Some(firm) = loaded.firms.of_payer(one.payment) {
            return Some(Self::Firm(Arc::clone(firm)));
        }
        let named = one.payment.party_account.as_deref().or(one.payment.party.as_deref());
        named.map(normal).filter(|named| !named.is_empty()).map(Self::Other)
    }
}

/// What is held in one currency for a quote that was taken back.
pub(crate) struct Advance {
    pub(crate) deal: u32,
    pub(crate) currency: Currency,
    /// What came in less what went back.
    pub(crate) minor: i64,
    /// The day of the last of it, and of the reversal: it is owed back from then on.
    pub(crate) day: NaiveDate,
    pub(crate) payments: Vec<u32>,
    /// A question is open about money that went out to who paid.
    pub(crate) may_be_returned: bool,
    /// The day on which money came in last.
    came_in: NaiveDate,
    /// Who bought: to him goes also what nobody knows who paid.
    buyer: Option<Whose>,
    /// What of it is of whom.
    of: HashMap<Whose, i64>,
    /// What of it is of nobody known.
    of_strangers: i64,
}

impl Advance {
    fn add(&mut self, whose: Option<Whose>, minor: i64) {
        self.minor = self.minor.saturating_add(minor);
        if !matches!(whose, Some(Whose::Firm(_))) {
            self.of_strangers = self.of_strangers.saturating_add(minor);
        }
        if let Some(whose) = whose {
            let sum = self.of.entry(whose).or_default();
            *sum = sum.saturating_add(minor);
        }
    }

    /// What of it one paid himself, and all that may go back to him.
    fn of_one(&self, whose: &Whose) -> (i64, i64) {
        let own = self.of.get(whose).copied().unwrap_or_default();
        let is_buyer = self.buyer.as_ref() == Some(whose);
        (own, if is_buyer { own.saturating_add(self.of_strangers) } else { own })
    }
}

/// All of them, in the order of deals.
pub(crate) struct Advances {
    pub(crate) all: Vec<Advance>,
    of: HashMap<Whose, Vec<usize>>,
}

impl Advances {
    pub(crate) fn new(matching: &Matching<'_, '_>, loaded: &Loaded<'_>) -> Self {
        let mut held: BTreeMap<(u32, Currency), Advance> = BTreeMap::new();
        for &Held { payment, deal, currency, minor } in &matching.held {
            let Some(one) = matching.payment(payment) else { continue };
            let Some(agreed) = deal_of(&loaded.deals, deal) else { continue };
            let Some(reversed) = agreed.reversed_by(loaded.until) else { continue };
            let buyer = || agreed.sales.first().map(|sale| Whose::Firm(Arc::clone(&sale.buyer.id)));
            let advance = held.entry((deal, currency)).or_insert_with(|| Advance {
                deal,
                currency,
                minor: 0,
                day: reversed,
                payments: Vec::new(),
                may_be_returned: matching.deals_in_question.contains(&deal),
                came_in: NaiveDate::MIN,
                buyer: buyer(),
                of: HashMap::new(),
                of_strangers: 0,
            });
            advance.day = advance.day.max(one.booked);
            if minor > 0 {
                advance.came_in = advance.came_in.max(one.booked);
            }
            advance.payments.push(payment);
            advance.add(Whose::of(one, loaded), minor);
        }
        let mut all: Vec<Advance> = held.into_values().filter(|advance| advance.minor > 0).collect();
        let mut of: HashMap<Whose, Vec<usize>> = HashMap::new();
        for (at, advance) in all.iter_mut().enumerate() {
            advance.payments.sort_unstable();
            advance.payments.dedup();
            let buyer = advance.buyer.iter().filter(|buyer| !advance.of.contains_key(*buyer));
            for whose in advance.of.keys().chain(buyer) {
                of.entry(whose.clone()).or_default().push(at);
            }
        }
        let mut advances = Self { all, of };
        for one in asked(matching) {
            let mut doubted = advances.given_back(one, loaded);
            if doubted.is_empty() {
                doubted = advances.of_payee(one, loaded).iter().map(|(at, _)| *at).collect();
            }
            advances.doubt(doubted);
        }
        advances
    }

    /// Puts some in question.
    pub(super) fn doubt(&mut self, those: impl IntoIterator<Item = usize>) {
        for at in those {
            if let Some(advance) = self.all.get_mut(at) {
                advance.may_be_returned = true;
            }
        }
    }

    /// Notes what goes back of one.
    pub(super) fn give_back(&mut self, at: usize, one: &Received<'_>, loaded: &Loaded<'_>, minor: i64) {
        if let Some(advance) = self.all.get_mut(at) {
            advance.add(Whose::of(one, loaded), minor.saturating_neg());
        }
    }

    /// What is held of who gets a payment when he gets it, and how much of each may go back to him.
    pub(super) fn of_payee(&self, one: &Received<'_>, loaded: &Loaded<'_>) -> Vec<(usize, i64)> {
        let Some(whose) = Whose::of(one, loaded).filter(|_| !self.all.is_empty()) else {
            return Vec::new();
        };
        let held = |at: &usize| {
            let advance = self.all.get(*at).filter(|advance| advance.came_in <= one.booked)?;
            let (_, all) = advance.of_one(&whose);
            Some((*at, all.min(advance.minor))).filter(|(_, minor)| *minor > 0)
        };
        self.of.get(&whose).into_iter().flatten().filter_map(held).collect()
    }

    /// Those that a payment may give back: all that is held of who gets it.
    pub(super) fn given_back(&self, one: &Received<'_>, loaded: &Loaded<'_>) -> Vec<usize> {
        let Some(whose) = Whose::of(one, loaded).filter(|_| !self.all.is_empty()) else {
            return Vec::new();
        };
        let minor = one.cleared().saturating_neg();
        let fits = |at: &usize| {
            self.all.get(*at).is_some_and(|advance| {
                let (own, all) = advance.of_one(&whose);
                (minor == own || minor == all)
                    && minor <= advance.minor
                    && advance.currency == one.currency()
                    && advance.came_in <= one.booked
            })
        };
        self.of.get(&whose).into_iter().flatten().copied().filter(fits).collect()
    }
}

/// The payments that go out and are asked about.
pub(super) fn asked<'p, 'a>(matching: &Matching<'p, 'a>) -> impl Iterator<Item = &'p Received<'a>> {
    let all = matching.payments.iter().zip(&matching.states);
    all.filter(|(one, state)| **state == State::Asked && one.cleared() < 0).map(|(one, _)| one)
}
