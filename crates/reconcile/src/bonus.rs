//! Volume bonuses: a percentage of a year's turnover, by steps, trued up month by month.

use std::collections::BTreeMap;
use std::sync::Arc;

use evenfare_engine::money::{Exact, Net, Overflow, Percent, kind};

use crate::chart::Role;
use crate::journal::{Event, Journal, Posting, Source};
use crate::month::Month;
use crate::terms::{BonusTier, Terms};

/// A partner's bonus at the end of a month, in the books' currency.
///
/// The percentage of the step that the year's turnover has reached counts for all of it, so reaching a step
/// gives more for the months before as well.
struct Bonus {
    partner: Arc<str>,
    month: Month,
    /// What was invoiced to him in the year so far, net.
    turnover_minor: i64,
    /// The bonus on it; rounded once.
    due_minor: i64,
    /// Of it, what this month adds or takes away.
    movement_minor: i64,
}

/// Posts the bonuses of each month that is over, by partner, on its last day.
pub(crate) fn post(journal: &mut Journal, terms: &Terms) -> Result<(), Overflow> {
    let mut tiers: BTreeMap<(&Arc<str>, i32), Vec<&BonusTier>> = BTreeMap::new();
    for tier in &terms.bonuses {
        tiers.entry((&tier.partner, tier.year)).or_default().push(tier);
    }
    if tiers.is_empty() {
        return Ok(());
    }
    let mut turnover: BTreeMap<(&Arc<str>, Month), i64> = BTreeMap::new();
    for (one, postings) in journal.transactions().filter(|(one, _)| one.source.event == Event::Invoice) {
        let month = Month::of(one.day);
        let Some(party) = one.source.party.as_ref() else { continue };
        let Some(((partner, _), _)) = tiers.get_key_value(&(party, month.year())) else { continue };
        for posting in postings.iter().filter(|posting| posting.role == Role::Revenue) {
            let sum = turnover.entry((partner, month)).or_default();
            *sum = sum.checked_sub(posting.base_minor).ok_or(Overflow)?;
        }
    }
    let mut bonuses: Vec<Bonus> = Vec::new();
    for (&(partner, month), &net) in turnover.iter().filter(|((_, month), _)| month.last_day() <= terms.until)
    {
        let last =
            bonuses.last().filter(|last| last.partner == *partner && last.month.year() == month.year());
        let (before, due_before) = last.map_or((0, 0), |last| (last.turnover_minor, last.due_minor));
        let turnover_minor = before.checked_add(net).ok_or(Overflow)?;
        let steps = tiers.get(&(partner, month.year())).map(Vec::as_slice).unwrap_or_default();
        let percent = reached(steps, turnover_minor);
        let due_minor = of(turnover_minor, percent)?;
        bonuses.push(Bonus {
            partner: Arc::clone(partner),
            month,
            turnover_minor,
            due_minor,
            movement_minor: due_minor.checked_sub(due_before).ok_or(Overflow)?,
        });
    }
    for bonus in &bonuses {
        let posting = |role, minor| Posting { role, currency: terms.currency, minor, base_minor: minor };
        let source = Source {
            event: Event::Bonus,
            document: format!("{}/{}", bonus.partner, bonus.month).into(),
            party: Some(Arc::clone(&bonus.partner)),
        };
        let owed = bonus.movement_minor.checked_neg().ok_or(Overflow)?;
        let postings = [posting(Role::BonusPayable, owed), posting(Role::Bonus, bonus.movement_minor)];
        journal.post(source, bonus.month.last_day(), bonus.month.last_day(), postings)?;
    }
    Ok(())
}

/// The percentage of the step that a turnover has reached.
pub(crate) fn reached(steps: &[&BonusTier], turnover_minor: i64) -> Percent {
    let reached = steps.iter().filter(|tier| tier.from_minor <= turnover_minor);
    let highest = reached.max_by_key(|tier| (tier.from_minor, tier.percent));
    highest.map_or(Percent::ZERO, |tier| tier.percent)
}

/// The bonus on a turnover; rounded once.
pub(crate) fn of(turnover: i64, percent: Percent) -> Result<i64, Overflow> {
    Exact::from_minor(turnover).percent(percent)?.round::<kind::Net>().map(Net::minor)
}
