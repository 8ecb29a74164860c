//! Volume bonuses: a percentage of a year's turnover, by steps, trued up month by month.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Exact, Net, Overflow, Percent, kind};

use crate::chart::Role;
use crate::error::Unreconciled;
use crate::journal::{Event, Journal, Posting, Source, Transaction};
use crate::matching::Open;
use crate::month::Month;
use crate::terms::{BonusTier, Terms};
use crate::worth::Worths;

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

/// What was invoiced to each partner who has a bonus, by month, net.
pub(crate) type Turnover<'t> = BTreeMap<(&'t Arc<str>, Month), i64>;

/// Turnover by our invoices, as they are posted.
pub(crate) fn turnover<'t>(
    items: &[Open<'t>],
    worths: &Worths<'_>,
    terms: &'t Terms,
) -> Result<Turnover<'t>, Unreconciled> {
    let mut by_year: HashMap<(&'t Arc<str>, i32), BTreeMap<Month, i64>> =
        tiers(terms).into_keys().map(|of| (of, BTreeMap::new())).collect();
    if by_year.is_empty() {
        return Ok(Turnover::new());
    }
    for (place, item) in (0..).zip(items) {
        let month = Month::of(item.invoice.issued);
        let Some(of_year) = by_year.get_mut(&(item.party, month.year())) else { continue };
        let sum = of_year.entry(month).or_default();
        *sum = sum.checked_add(worths.of(place, item)?.net).ok_or(Overflow)?;
    }
    let by_month = by_year.into_iter().flat_map(|((partner, _), months)| {
        months.into_iter().map(move |(month, net)| ((partner, month), net))
    });
    Ok(by_month.collect())
}

/// Posts the bonuses of each month that is over, by partner, on its last day, in the journal that has the payments.
pub(crate) fn post(journal: &mut Journal, turnover: &Turnover<'_>, terms: &Terms) -> Result<(), Overflow> {
    if turnover.is_empty() {
        return Ok(());
    }
    let tiers = tiers(terms);
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
    paid_out(journal, &bonuses, terms)
}

/// Money that goes to a partner for no invoice pays out his bonus, where it is no more than is owed of it on that day
/// and does not return what he paid for nothing known.
fn paid_out(journal: &mut Journal, bonuses: &[Bonus], terms: &Terms) -> Result<(), Overflow> {
    let mut paid: Vec<(&Arc<str>, NaiveDate, &str, i64)> = Vec::new();
    let partners: BTreeSet<&Arc<str>> = bonuses.iter().map(|bonus| &bonus.partner).collect();
    for (one, postings) in journal.transactions().filter(|(one, _)| one.source.event == Event::Payment) {
        for posting in postings.iter().filter(|posting| is_for_nothing(posting, terms)) {
            let party = one.source.party.as_ref().and_then(|party| partners.get(party));
            paid.extend(party.map(|party| (*party, one.day, &*one.source.document, posting.minor)));
        }
    }
    paid.sort_unstable();
    let mut of_bonuses: BTreeSet<Box<str>> = BTreeSet::new();
    for of_partner in paid.chunk_by(|a, b| a.0 == b.0) {
        let mut out = 0_i64;
        let mut came_in: Vec<i64> = Vec::new();
        for &(partner, day, document, minor) in of_partner {
            if minor < 0 {
                came_in.push(minor.saturating_neg());
                continue;
            }
            if let Some(place) = came_in.iter().position(|came_in| *came_in == minor) {
                came_in.swap_remove(place);
                continue;
            }
            let due = bonuses.iter().filter(|one| one.partner == *partner && one.month.last_day() <= day);
            let due = due.map(|one| one.movement_minor).try_fold(0_i64, i64::checked_add).ok_or(Overflow)?;
            let after = out.checked_add(minor).ok_or(Overflow)?;
            if after <= due {
                out = after;
                of_bonuses.insert(document.into());
            }
        }
    }
    journal.move_postings(|one, posting| {
        let pays = one.source.event == Event::Payment && is_for_nothing(posting, terms);
        (pays && of_bonuses.contains(&one.source.document)).then_some(Role::BonusPayable)
    });
    Ok(())
}

/// The payments that pay out bonuses, by their names.
pub(crate) fn payouts(journal: &Journal) -> HashSet<&str> {
    let payments = journal.transactions().filter(|(one, _)| one.source.event == Event::Payment);
    let pays = |(_, postings): &(&Transaction, &[Posting])| {
        postings.iter().any(|posting| posting.role == Role::BonusPayable)
    };
    payments.filter(pays).map(|(one, _)| &*one.source.document).collect()
}

/// Is it for nothing that is known, in the currency in which bonuses are owed?
fn is_for_nothing(posting: &Posting, terms: &Terms) -> bool {
    posting.role == Role::Unapplied && posting.currency == terms.currency
}

/// The steps of each partner and year.
pub(crate) fn tiers(terms: &Terms) -> BTreeMap<(&Arc<str>, i32), Vec<&BonusTier>> {
    let mut tiers: BTreeMap<(&Arc<str>, i32), Vec<&BonusTier>> = BTreeMap::new();
    for tier in &terms.bonuses {
        tiers.entry((&tier.partner, tier.year)).or_default().push(tier);
    }
    tiers
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
