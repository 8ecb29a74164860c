//! Volume bonuses as the books have them, month by month: what a partner is told of his.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::Datelike as _;
use evenfare_engine::money::{Overflow, Percent};

use crate::bonus;
use crate::chart::Role;
use crate::journal::{Event, Journal, Posting};
use crate::month::Month;
use crate::terms::{BonusTier, Terms};

/// A partner's bonus of a year at the end of a month, in the books' currency.
///
/// It is what is posted: a paper of a closed month that came later counts from the month that was open then
/// (`bonuses_are_what_is_posted`).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Earned {
    /// The partner's code.
    pub partner: Arc<str>,
    /// The year of the turnover.
    pub year: i32,
    /// The month; one of a later year where a paper of the bonus's year came only then, or took back what was sold in it.
    pub month: Month,
    /// What was invoiced to him in the year so far, net, less what was credited of that, also later.
    pub turnover_minor: i64,
    /// The percentage of the step that the turnover has reached; it counts for all of it.
    pub percent: Percent,
    /// The bonus so far.
    pub due_minor: i64,
    /// Of it, what this month adds or takes away.
    pub movement_minor: i64,
    /// Of the movement, what is for the turnover of months before: trued up.
    pub true_up_minor: i64,
    /// The next step, where there is one.
    pub next: Option<Step>,
}

/// A step that is not reached yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// From that turnover on, net.
    pub from_minor: i64,
    /// How much more turnover reaches it.
    pub missing_minor: i64,
    /// The percentage that counts for all of the turnover then.
    pub percent: Percent,
}

/// What a month was closed with of a partner's bonus, besides what is posted: what the list of bonuses said then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reached {
    /// The partner's code.
    pub partner: Arc<str>,
    /// The year of the turnover.
    pub year: i32,
    /// The percentage of the step that the turnover had reached.
    pub percent: Percent,
    /// Where the next step began, and its percentage; none where there was none.
    pub next: Option<(i64, Percent)>,
}

impl Reached {
    pub(crate) fn of(one: &Earned) -> Self {
        Self {
            partner: Arc::clone(&one.partner),
            year: one.year,
            percent: one.percent,
            next: one.next.map(|next| (next.from_minor, next.percent)),
        }
    }
}

/// The steps of closed months; none of a month that was closed before they were kept.
pub(crate) type Closed<'c> = BTreeMap<Month, Option<&'c [Reached]>>;

/// What is posted in a month of a year's turnover and bonus.
#[derive(Default)]
struct Moved {
    turnover: i64,
    /// Of the turnover, what is of the month itself.
    own: i64,
    bonus: i64,
}

/// The bonus of each partner and year that one is agreed for: of each month of the year that is over, and of later months
/// in which something of it is posted. Partner by partner, year by year, in the order of months.
///
/// A closed month has the steps that it was closed with. Where none is agreed any more, an open month has what is taken
/// back. `years` are those that papers count for, by their numbers, where it is not that of their day.
pub(crate) fn earned(
    journal: &Journal,
    terms: &Terms,
    closed: &Closed<'_>,
    years: &HashMap<&str, i32>,
) -> Result<Vec<Earned>, Overflow> {
    let tiers = bonus::tiers(terms);
    let kept = closed.values().flatten().flat_map(|reached| reached.iter());
    let kept: BTreeSet<(&Arc<str>, i32)> = kept.map(|one| (&one.partner, one.year)).collect();
    let all_years: BTreeSet<(&Arc<str>, i32)> = tiers.keys().copied().chain(kept).collect();
    let (false, Some(first)) = (all_years.is_empty(), journal.first_month()) else { return Ok(Vec::new()) };
    let mut moved: HashMap<(&Arc<str>, i32), BTreeMap<Month, Moved>> =
        all_years.iter().map(|of| (*of, BTreeMap::new())).collect();
    for (one, postings) in journal.transactions() {
        let document = &*one.source.document;
        let (role, year) = match one.source.event {
            Event::Invoice => (Role::Revenue, years.get(document).copied()),
            Event::Bonus => (Role::BonusPayable, bonus::year_of(document)),
            _ => continue,
        };
        let Some(party) = one.source.party.as_ref() else { continue };
        let Some(of_year) = moved.get_mut(&(party, year.unwrap_or(one.day.year()))) else { continue };
        let month = Month::of(one.posted);
        let in_month = of_year.entry(month).or_default();
        let minor = sum(postings, role)?.checked_neg().ok_or(Overflow)?;
        let add = |to: &mut i64| to.checked_add(minor).map(|sum| *to = sum).ok_or(Overflow);
        if role == Role::BonusPayable {
            add(&mut in_month.bonus)?;
            continue;
        }
        add(&mut in_month.turnover)?;
        if Month::of(one.day) == month {
            add(&mut in_month.own)?;
        }
    }
    let mut all = Vec::new();
    for (partner, year) in all_years {
        let steps = tiers.get(&(partner, year));
        let moved = moved.remove(&(partner, year)).unwrap_or_default();
        let mut months: BTreeSet<Month> = moved.keys().copied().collect();
        let mut month = first;
        while month.last_day() <= terms.until {
            if month.year() == year {
                months.insert(month);
            }
            month = month.next();
        }
        let (mut turnover_minor, mut due_minor) = (0_i64, 0_i64);
        for month in months.into_iter().filter(|month| month.last_day() <= terms.until) {
            let nothing = Moved::default();
            let moved = moved.get(&month).unwrap_or(&nothing);
            turnover_minor = turnover_minor.checked_add(moved.turnover).ok_or(Overflow)?;
            due_minor = due_minor.checked_add(moved.bonus).ok_or(Overflow)?;
            let reached = match closed.get(&month) {
                // It says of whom a bonus was agreed then.
                Some(Some(kept)) => kept
                    .iter()
                    .find(|one| (&one.partner, one.year) == (partner, year))
                    .map(|one| (one.percent, one.next)),
                _ => steps.map(|steps| (bonus::reached(steps, turnover_minor), next(steps, turnover_minor))),
            };
            let Some((percent, next)) = reached.or((moved.bonus != 0).then_some((Percent::ZERO, None)))
            else {
                continue;
            };
            let missing = |from_minor: i64| from_minor.checked_sub(turnover_minor).ok_or(Overflow);
            let next = next.map(|(from_minor, percent)| {
                Ok(Step { from_minor, missing_minor: missing(from_minor)?, percent })
            });
            let before = turnover_minor.checked_sub(moved.own).ok_or(Overflow)?;
            let own = bonus::of(turnover_minor, percent)?.checked_sub(bonus::of(before, percent)?);
            all.push(Earned {
                partner: Arc::clone(partner),
                year,
                month,
                turnover_minor,
                percent,
                due_minor,
                movement_minor: moved.bonus,
                true_up_minor: own.and_then(|own| moved.bonus.checked_sub(own)).ok_or(Overflow)?,
                next: next.transpose()?,
            });
        }
    }
    Ok(all)
}

fn sum(postings: &[Posting], role: Role) -> Result<i64, Overflow> {
    let of_role = postings.iter().filter(|posting| posting.role == role);
    of_role.into_iter().try_fold(0_i64, |sum, one| sum.checked_add(one.base_minor).ok_or(Overflow))
}

/// The nearest step above that turnover: where it begins, and its percentage.
fn next(steps: &[&BonusTier], turnover_minor: i64) -> Option<(i64, Percent)> {
    let above = steps.iter().filter(|tier| tier.from_minor > turnover_minor);
    above.min_by_key(|tier| tier.from_minor).map(|tier| (tier.from_minor, tier.percent))
}
