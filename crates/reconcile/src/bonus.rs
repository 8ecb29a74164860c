//! Volume bonuses: a percentage of a year's turnover, by steps, trued up month by month.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::money::{Exact, Net, Overflow, Percent, kind};

use crate::chart::Role;
use crate::error::Unreconciled;
use crate::journal::{Event, Journal, Posting, Source};
use crate::loaded::Loaded;
use crate::matching::{Matching, Open, Standing};
use crate::month::Month;
use crate::terms::{BonusTier, Terms};
use crate::worth::Worths;

/// What a month adds to a partner's bonus, or takes away, in the books' currency.
///
/// The percentage of the step that the year's turnover has reached counts for all of it, so reaching a step
/// gives more for the months before as well. The bonus so far is rounded once.
struct Bonus<'t> {
    partner: &'t Arc<str>,
    /// Of the turnover. A month of a later year takes away what was credited then.
    year: i32,
    month: Month,
    movement_minor: i64,
}

/// By partner, the year that it counts for, and the month: what was invoiced, net.
type ByMonth<'t> = BTreeMap<(&'t Arc<str>, i32, Month), i64>;

/// What was invoiced to each partner who has a bonus.
pub(crate) struct Turnover<'t> {
    by_month: ByMonth<'t>,
    /// The papers that count for another year than that of their day, by their numbers.
    pub(crate) years: HashMap<&'t str, i32>,
    /// Credit notes that may pay bonuses out; not among the others.
    credits: Vec<Credit<'t>>,
}

/// A credit note to a partner that names no sale and no invoice.
struct Credit<'t> {
    partner: &'t Arc<str>,
    issued: NaiveDate,
    number: &'t str,
    /// Below nothing.
    net: i64,
}

/// Turnover by our invoices, as they are posted. A credit note counts for the year of the invoice that it takes back,
/// and what is invoiced in the place of one that was taken back whole for the year of that one: the sale is of that year.
pub(crate) fn turnover<'t>(
    items: &[Open<'t>],
    worths: &Worths<'_>,
    terms: &'t Terms,
) -> Result<Turnover<'t>, Unreconciled> {
    let tiers = tiers(terms);
    let partners: HashSet<&Arc<str>> = tiers.keys().map(|(partner, _)| *partner).collect();
    let mut turnover = Turnover { by_month: ByMonth::new(), years: HashMap::new(), credits: Vec::new() };
    if partners.is_empty() {
        return Ok(turnover);
    }
    let mut by_year: HashMap<(&'t Arc<str>, i32), BTreeMap<Month, i64>> =
        tiers.into_keys().map(|of| (of, BTreeMap::new())).collect();
    let mut years = Years { items, others: HashMap::new(), taken_back: None };
    for (place, item) in (0..).zip(items) {
        let year = years.of(place, item);
        let of_year = by_year.get_mut(&(item.party, year));
        if of_year.is_none() && !partners.contains(item.party) {
            continue;
        }
        let net = worths.of(place, item)?.net;
        if may_pay_bonus(item, terms) {
            let (issued, number) = (item.invoice.issued, &*item.invoice.number);
            turnover.credits.push(Credit { partner: item.party, issued, number, net });
            continue;
        }
        let Some(of_year) = of_year else { continue };
        let sum = of_year.entry(Month::of(item.invoice.issued)).or_default();
        *sum = sum.checked_add(net).ok_or(Overflow)?;
    }
    let number = |place: &u32| Some(&*items.get(usize::try_from(*place).ok()?)?.invoice.number);
    turnover.years = years.others.iter().filter_map(|(place, year)| Some((number(place)?, *year))).collect();
    turnover.by_month = by_year
        .into_iter()
        .flat_map(|((partner, year), months)| {
            months.into_iter().map(move |(month, net)| ((partner, year, month), net))
        })
        .collect();
    Ok(turnover)
}

/// The years that invoices and credit notes count for, in the order of open items.
struct Years<'y, 't> {
    items: &'y [Open<'t>],
    /// Of those that count for another one than that of their day.
    others: HashMap<u32, i32>,
    /// The deal of which an invoice was taken back whole last, and the year of that.
    taken_back: Option<(u32, i32)>,
}

impl Years<'_, '_> {
    fn of(&mut self, place: u32, item: &Open<'_>) -> i32 {
        let own = item.invoice.issued.year();
        let year = if item.is_credit() {
            let year = item.takes_back.and_then(|of| {
                let invoice = self.items.get(usize::try_from(of).ok()?)?.invoice;
                Some(self.others.get(&of).copied().unwrap_or(invoice.issued.year()))
            });
            if item.standing == Standing::TakenBack {
                self.taken_back = item.deal.zip(year);
            }
            year
        } else {
            self.taken_back.filter(|(deal, _)| item.deal == Some(*deal)).map(|(_, year)| year)
        };
        let Some(year) = year.filter(|year| *year < own) else { return own };
        self.others.insert(place, year);
        year
    }
}

/// May a credit note pay out a bonus? It is of no sale and takes no invoice back, and is in the currency in which
/// bonuses are owed.
fn may_pay_bonus(item: &Open<'_>, terms: &Terms) -> bool {
    let names_none = item.deal.is_none() && item.takes_back.is_none() && item.invoice.preceding.is_none();
    names_none && item.is_credit() && item.standing == Standing::Kept && item.currency() == terms.currency
}

/// What paid bonuses out.
#[derive(Default)]
pub(crate) struct PaidOut {
    /// Payments, by their names.
    pub(crate) payments: HashSet<Box<str>>,
    /// Credit notes of ours, by their numbers.
    pub(crate) credits: HashSet<Box<str>>,
}

/// Posts the bonuses of each month that is over, by partner, on its last day, among what is posted besides invoices,
/// and answers what paid them out. That is posted against what is owed then: of a payment all of it, of a credit note
/// its net, which takes nothing off the turnover.
pub(crate) fn post<'a>(
    (invoices, others): (&mut Journal, &mut Journal),
    mut turnover: Turnover<'_>,
    (loaded, matching): (&Loaded<'a>, &Matching<'_, 'a>),
    terms: &Terms,
) -> Result<PaidOut, Overflow> {
    let tiers = tiers(terms);
    if tiers.is_empty() {
        return Ok(PaidOut::default());
    }
    let mut bonuses = bonuses(&turnover.by_month, &tiers, terms)?;
    let paid = paid_out(&bonuses, &turnover.credits, (loaded, matching), terms)?;
    let others_count = turnover.credits.iter().filter(|one| !paid.credits.contains(one.number));
    for credit in others_count {
        let month = Month::of(credit.issued);
        if tiers.contains_key(&(credit.partner, month.year())) {
            let sum = turnover.by_month.entry((credit.partner, month.year(), month)).or_default();
            *sum = sum.checked_add(credit.net).ok_or(Overflow)?;
        }
    }
    if paid.credits.len() < turnover.credits.len() {
        bonuses = self::bonuses(&turnover.by_month, &tiers, terms)?;
    }
    for Bonus { partner, year, month, movement_minor } in bonuses {
        let posting = |role, minor| Posting { role, currency: terms.currency, minor, base_minor: minor };
        let document = match year == month.year() {
            true => format!("{partner}/{month}"),
            false => format!("{partner}/{month}/{year}"),
        };
        let source =
            Source { event: Event::Bonus, document: document.into(), party: Some(Arc::clone(partner)) };
        let owed = movement_minor.checked_neg().ok_or(Overflow)?;
        let postings = [posting(Role::BonusPayable, owed), posting(Role::Bonus, movement_minor)];
        others.post(source, month.last_day(), month.last_day(), postings)?;
    }
    let owed = |journal: &mut Journal, event, names: &HashSet<Box<str>>, from| {
        if !names.is_empty() {
            journal.move_postings(|one, posting| {
                let pays = posting.role == from && one.source.event == event;
                (pays && names.contains(&one.source.document)).then_some(Role::BonusPayable)
            });
        }
    };
    owed(others, Event::Payment, &paid.payments, Role::Unapplied);
    owed(invoices, Event::Invoice, &paid.credits, Role::Revenue);
    Ok(paid)
}

/// The bonuses of each month that is over and in which something was invoiced, by partner and year.
fn bonuses<'t>(
    by_month: &ByMonth<'t>,
    tiers: &BTreeMap<(&Arc<str>, i32), Vec<&BonusTier>>,
    terms: &Terms,
) -> Result<Vec<Bonus<'t>>, Overflow> {
    let mut bonuses: Vec<Bonus<'t>> = Vec::new();
    let (mut of, mut turnover, mut due) = (None, 0_i64, 0_i64);
    for (&(partner, year, month), &net) in
        by_month.iter().filter(|((.., month), _)| month.last_day() <= terms.until)
    {
        if of.replace((partner, year)) != Some((partner, year)) {
            (turnover, due) = (0, 0);
        }
        turnover = turnover.checked_add(net).ok_or(Overflow)?;
        let steps = tiers.get(&(partner, year)).map(Vec::as_slice).unwrap_or_default();
        let before = std::mem::replace(&mut due, self::of(turnover, reached(steps, turnover))?);
        let movement_minor = due.checked_sub(before).ok_or(Overflow)?;
        bonuses.push(Bonus { partner, year, month, movement_minor });
    }
    Ok(bonuses)
}

/// What may pay a bonus out: the partner, the day, whether a payment or a credit note, its name, and how much as a minus.
type ForNothing<'p> = (&'p Arc<str>, NaiveDate, Event, Box<str>, i64);

/// Money that goes to a partner for no invoice pays out his bonus, and so does a credit note to him that is for none,
/// where it is no more than is owed of it on that day.
fn paid_out<'a>(
    bonuses: &[Bonus<'_>],
    credits: &[Credit<'_>],
    (loaded, matching): (&Loaded<'a>, &Matching<'_, 'a>),
    terms: &Terms,
) -> Result<PaidOut, Overflow> {
    let partners: BTreeSet<&Arc<str>> = bonuses.iter().map(|bonus| bonus.partner).collect();
    let mut all: Vec<ForNothing<'_>> = Vec::new();
    let payments = matching.paid_for_nothing(loaded);
    for (one, party) in
        payments.filter(|(one, party)| one.currency() == terms.currency && partners.contains(party))
    {
        all.push((party, one.booked, Event::Payment, one.name(), one.cleared()));
    }
    all.extend(
        credits.iter().map(|one| (one.partner, one.issued, Event::Invoice, one.number.into(), one.net)),
    );
    all.sort_unstable();
    let mut paid = PaidOut::default();
    for of_partner in all.chunk_by(|a, b| a.0 == b.0) {
        let mut out = 0_i64;
        for (partner, day, event, name, minor) in of_partner {
            let due = bonuses.iter().filter(|one| one.partner == *partner && one.month.last_day() <= *day);
            let due = due.map(|one| one.movement_minor).try_fold(0_i64, i64::checked_add).ok_or(Overflow)?;
            let after = out.checked_sub(*minor).ok_or(Overflow)?;
            if after <= due {
                out = after;
                let names = if *event == Event::Payment { &mut paid.payments } else { &mut paid.credits };
                names.insert(name.clone());
            }
        }
    }
    Ok(paid)
}

/// The year of which a bonus is, by what it is posted as, where it is not that of its day.
pub(crate) fn year_of(document: &str) -> Option<i32> {
    let (before, year) = document.rsplit_once('/')?;
    before.contains('/').then(|| year.parse().ok())?
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
