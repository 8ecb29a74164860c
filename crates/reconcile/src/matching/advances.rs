//! What was paid in advance for quotes that were taken back: no invoice will ever ask for it, so it is to go back to who
//! paid it.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::by_amount::Payers;
use super::payments::{Matching, State, TOLD};
use super::question::{Undecided, Why};
use super::written::deal_of;
use crate::agreed::Agreed;
use crate::error::Unreconciled;
use crate::loaded::{Loaded, Received};
use crate::reference::normal;
use crate::terms::{Part, PaymentId};

/// Who paid, or to whom it goes: a firm that is known, else as the bank names him.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Whose {
    Firm(Arc<str>),
    Other(String),
}

impl Whose {
    fn of(one: &Received<'_>, loaded: &Loaded<'_>) -> Option<Self> {
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
    /// What of it is of whom.
    of: HashMap<Whose, i64>,
    /// What of it is of the quote's buyer as well: nobody knows who paid that.
    of_strangers: HashMap<Whose, i64>,
}

/// All of them, in the order of deals.
pub(crate) struct Advances {
    pub(crate) all: Vec<Advance>,
    of: HashMap<Whose, Vec<usize>>,
}

impl Advances {
    pub(crate) fn new(matching: &Matching<'_, '_>, loaded: &Loaded<'_>) -> Self {
        let mut held: BTreeMap<(u32, Currency), Advance> = BTreeMap::new();
        for (place, (one, state)) in (0_u32..).zip(matching.payments.iter().zip(&matching.states)) {
            let State::InAdvance(deal) = *state else { continue };
            let Some(agreed) = deal_of(&loaded.deals, deal) else { continue };
            let Some(reversed) = agreed.reversed else { continue };
            let currency = one.currency();
            let advance = held.entry((deal, currency)).or_insert_with(|| Advance {
                deal,
                currency,
                minor: 0,
                day: reversed,
                payments: Vec::new(),
                may_be_returned: false,
                came_in: NaiveDate::MIN,
                of: HashMap::new(),
                of_strangers: HashMap::new(),
            });
            let minor = one.cleared();
            advance.minor = advance.minor.saturating_add(minor);
            advance.day = advance.day.max(one.booked);
            if minor > 0 {
                advance.came_in = advance.came_in.max(one.booked);
            }
            advance.payments.push(place);
            let payer = Whose::of(one, loaded);
            if !matches!(payer, Some(Whose::Firm(_))) {
                let buyer = agreed.sales.first().map(|sale| Whose::Firm(Arc::clone(&sale.buyer.id)));
                buyer.into_iter().for_each(|buyer| add(&mut advance.of_strangers, buyer, minor));
            }
            payer.into_iter().for_each(|payer| add(&mut advance.of, payer, minor));
        }
        let all: Vec<Advance> = held.into_values().filter(|advance| advance.minor > 0).collect();
        let mut of: HashMap<Whose, Vec<usize>> = HashMap::new();
        for (at, advance) in all.iter().enumerate() {
            let of_strangers = advance.of_strangers.keys().filter(|buyer| !advance.of.contains_key(*buyer));
            for whose in advance.of.keys().chain(of_strangers) {
                of.entry(whose.clone()).or_default().push(at);
            }
        }
        let mut advances = Self { all, of };
        for one in asked(matching) {
            let mut doubted = advances.given_back(one, loaded);
            if doubted.is_empty() {
                doubted = advances.of_payee(one, loaded).to_vec();
            }
            for at in doubted {
                let held = advances.all.get_mut(at).filter(|advance| advance.came_in <= one.booked);
                held.into_iter().for_each(|advance| advance.may_be_returned = true);
            }
        }
        advances
    }

    /// What is held of who gets a payment.
    fn of_payee(&self, one: &Received<'_>, loaded: &Loaded<'_>) -> &[usize] {
        Whose::of(one, loaded).and_then(|whose| self.of.get(&whose)).map(Vec::as_slice).unwrap_or_default()
    }

    /// The quotes of these.
    fn quotes<'l>(&self, of: &[usize], loaded: &'l Loaded<'_>) -> Vec<&'l Agreed> {
        let deal = |at: &usize| deal_of(&loaded.deals, self.all.get(*at)?.deal);
        of.iter().filter_map(deal).take(TOLD).collect()
    }

    /// Those that a payment may give back: all that is held of who gets it.
    fn given_back(&self, one: &Received<'_>, loaded: &Loaded<'_>) -> Vec<usize> {
        let Some(whose) = Whose::of(one, loaded) else { return Vec::new() };
        let minor = one.cleared().saturating_neg();
        let fits = |at: &usize| {
            self.all.get(*at).is_some_and(|advance| {
                let own = advance.of.get(&whose).copied().unwrap_or_default();
                let of_strangers = advance.of_strangers.get(&whose).copied().unwrap_or_default();
                let is_all = minor == own || minor == own.saturating_add(of_strangers);
                is_all
                    && minor <= advance.minor
                    && advance.currency == one.currency()
                    && advance.came_in <= one.booked
            })
        };
        self.of_payee(one, loaded).iter().copied().filter(fits).collect()
    }
}

/// The payments that go out and are asked about.
fn asked<'p, 'a>(matching: &Matching<'p, 'a>) -> impl Iterator<Item = &'p Received<'a>> {
    let all = matching.payments.iter().zip(&matching.states);
    all.filter(|(one, state)| **state == State::Asked && one.cleared() < 0).map(|(one, _)| one)
}

/// It may be for these quotes as well.
fn offer(question: &mut Undecided, quotes: &[&Agreed], one: &Received<'_>) {
    for quote in quotes {
        let (currency, minor) = (one.currency(), one.cleared());
        question.candidates.push(vec![quote.number.clone()]);
        question.parts.push(vec![Part { invoice: quote.number.clone(), currency, minor }]);
    }
}

fn add(sums: &mut HashMap<Whose, i64>, whose: Whose, minor: i64) {
    let sum = sums.entry(whose).or_default();
    *sum = sum.saturating_add(minor);
}

/// Money that goes out to who paid in advance, of what is held of him for one quote that was taken back, gives it back. As
/// many payments as there are such quotes give back all of them; where there are fewer, or the party is owed as much for
/// an invoice, it is asked.
pub(crate) fn refunds(matching: &mut Matching<'_, '_>, loaded: &Loaded<'_>) -> Result<(), Unreconciled> {
    let mut new = matching.new_ones();
    new.retain(|place| matching.payment(*place).is_some_and(|one| one.cleared() < 0));
    if new.is_empty() && matching.undecided.is_empty() {
        return Ok(());
    }
    let advances = Advances::new(matching, loaded);
    if advances.all.is_empty() {
        return Ok(());
    }
    // What is asked for another reason may give it back as well.
    let asked_so_far: HashMap<PaymentId, &Received<'_>> =
        asked(matching).map(|one| (one.id(), one)).collect();
    for question in &mut matching.undecided {
        let one = question.payment.as_ref().and_then(|payment| asked_so_far.get(payment));
        if let Some(one) = one {
            offer(question, &advances.quotes(&advances.given_back(one, loaded), loaded), one);
        }
    }
    // Of one amount, those that may give back the same.
    let mut alike: BTreeMap<(i64, Vec<usize>), Vec<u32>> = BTreeMap::new();
    for place in new {
        let Some(one) = matching.payment(place) else { continue };
        let fits = advances.given_back(one, loaded);
        if !fits.is_empty() {
            alike.entry((one.cleared(), fits)).or_default().push(place);
        }
    }
    if alike.is_empty() {
        return Ok(());
    }
    let mut met: HashMap<(i64, usize), usize> = HashMap::new();
    for (minor, fits) in alike.keys() {
        for at in fits {
            let times = met.entry((*minor, *at)).or_default();
            *times = times.saturating_add(1);
        }
    }
    let mut left: Vec<i64> = advances.all.iter().map(|advance| advance.minor).collect();
    let payers = Payers::new(matching);
    let mut owed: HashMap<(Arc<str>, Currency, i64), Vec<u32>> = HashMap::new();
    for (place, open) in (0_u32..).zip(&matching.open.items) {
        if open.rest() < 0 {
            let key = (Arc::clone(&open.party), open.currency(), open.rest());
            owed.entry(key).or_default().push(place);
        }
    }
    for ((minor, fits), payments) in alike {
        let is_met_once = |at: &usize| met.get(&(minor, *at)) == Some(&1);
        let is_enough = payments.len() >= fits.len() && fits.iter().all(is_met_once);
        for (nth, place) in payments.into_iter().enumerate() {
            let Some(one) = matching.payment(place) else { continue };
            let payee = payers.of(matching, loaded, place);
            let invoices = payee.and_then(|payee| owed.get(&(payee, one.currency(), minor)));
            let invoices: Vec<u32> = invoices.into_iter().flatten().copied().collect();
            if is_enough && invoices.is_empty() {
                // More than there are quotes give back none of them.
                let Some(at) = fits.get(nth) else { continue };
                if let Some((advance, left)) = advances.all.get(*at).zip(left.get_mut(*at))
                    && minor.saturating_neg() <= *left
                {
                    *left = left.saturating_add(minor);
                    matching.set(place, State::InAdvance(advance.deal));
                }
                continue;
            }
            let told: Vec<Vec<u32>> = invoices.iter().take(TOLD).map(|open| vec![*open]).collect();
            matching.ask(place, Why::EquallyGood, &told)?;
            invoices.iter().for_each(|open| matching.doubt(*open, true));
            if let Some(question) = matching.undecided.last_mut() {
                offer(question, &advances.quotes(&fits, loaded), one);
            }
        }
    }
    Ok(())
}
