//! Volume bonuses: a percentage of a year's turnover, by steps, trued up month by month.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::money::{Exact, Net, Overflow, Percent, kind};

use crate::chart::Role;
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::journal::{Event, Journal, Posting, Source};
use crate::loaded::Loaded;
use crate::matching::{Decided, Matching, Open, Standing};
use crate::month::Month;
use crate::terms::{BonusTier, Terms};
use crate::worth::Worths;

/// The steps of each partner and year.
pub(crate) type Tiers<'t> = BTreeMap<(&'t Arc<str>, i32), Vec<&'t BonusTier>>;

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

impl Bonus<'_> {
    /// What it is posted as.
    fn document(&self) -> Box<str> {
        let Self { partner, year, month, .. } = self;
        let document = match *year == month.year() {
            true => format!("{partner}/{month}"),
            false => format!("{partner}/{month}/{year}"),
        };
        document.into()
    }
}

/// A partner, the year that it counts for, and the month.
type Key<'t> = (&'t Arc<str>, i32, Month);

/// What was invoiced, net.
type ByMonth<'t> = BTreeMap<Key<'t>, i64>;

/// What was invoiced to each partner who has a bonus.
pub(crate) struct Turnover<'t> {
    by_month: ByMonth<'t>,
    /// The papers that count for another year than that of their day, by their numbers.
    pub(crate) years: HashMap<&'t str, i32>,
    /// Credit notes that may pay bonuses out; not among the others.
    credits: Vec<ForNothing<'t>>,
}

/// What may pay a bonus out: money that goes to a partner for no invoice, or a credit note to him that names no sale and no
/// invoice.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct ForNothing<'t> {
    partner: &'t Arc<str>,
    day: NaiveDate,
    event: Event,
    /// The payment's, or the credit note's number.
    name: Box<str>,
    /// Before VAT; below nothing.
    minor: i64,
}

/// Turnover by our invoices, as they are posted. A credit note counts for the year of the invoice that it takes back,
/// and what is invoiced in the place of one that was taken back whole for the year of that one: the sale is of that year.
pub(crate) fn turnover<'t>(
    items: &[Open<'t>],
    worths: &Worths<'_>,
    (terms, decided): (&'t Terms, &Decided<'_>),
) -> Result<Turnover<'t>, Unreconciled> {
    let tiers = tiers(terms);
    let partners: HashSet<&Arc<str>> = tiers.keys().map(|(partner, _)| *partner).collect();
    let mut turnover = Turnover { by_month: ByMonth::new(), years: HashMap::new(), credits: Vec::new() };
    if partners.is_empty() {
        return Ok(turnover);
    }
    let mut by_year: HashMap<(&'t Arc<str>, i32), BTreeMap<Month, i64>> =
        tiers.into_keys().map(|of| (of, BTreeMap::new())).collect();
    let years = items.chunk_by(|a, b| a.deal == b.deal).flat_map(|of_deal| {
        let taken_back = taken_back(items, of_deal);
        of_deal.iter().map(move |item| year(items, &taken_back, item))
    });
    for ((place, item), year) in (0..).zip(items).zip(years) {
        let of_year = by_year.get_mut(&(item.party, year));
        if of_year.is_none() && !partners.contains(item.party) {
            continue;
        }
        let (issued, number) = (item.invoice.issued, &*item.invoice.number);
        if year != issued.year() {
            turnover.years.insert(number, year);
        }
        let net = worths.of(place, item)?.net;
        if may_pay_bonus(item, terms, decided) {
            let (partner, event, name) = (item.party, Event::Invoice, number.into());
            turnover.credits.push(ForNothing { partner, day: issued, event, name, minor: net });
            continue;
        }
        let Some(of_year) = of_year else { continue };
        let sum = of_year.entry(Month::of(issued)).or_default();
        *sum = sum.checked_add(net).ok_or(Overflow)?;
    }
    turnover.by_month = by_year
        .into_iter()
        .flat_map(|((partner, year), months)| {
            months.into_iter().map(move |(month, net)| ((partner, year, month), net))
        })
        .collect();
    Ok(turnover)
}

/// The invoice that a credit note takes back.
fn taken_back_by<'o, 'a>(items: &'o [Open<'a>], credit: &Open<'_>) -> Option<&'o Open<'a>> {
    items.get(usize::try_from(credit.takes_back?).ok()?)
}

/// The invoices of a deal that were taken back whole: the day on which each was, and the year that it was written in.
fn taken_back(items: &[Open<'_>], of_deal: &[Open<'_>]) -> Vec<(NaiveDate, i32)> {
    let whole = of_deal.iter().filter(|item| item.deal.is_some() && item.standing == Standing::TakenBack);
    let both = whole.filter_map(|item| Some((item.invoice, taken_back_by(items, item)?.invoice)));
    both.map(|(credit, invoice)| (credit.issued, invoice.issued.year())).collect()
}

/// The year that a paper counts for: its own, or the first of which an invoice of its sale was taken back whole by its day.
/// A credit note is of the year of what it takes back.
fn year(items: &[Open<'_>], taken_back: &[(NaiveDate, i32)], item: &Open<'_>) -> i32 {
    let of = taken_back_by(items, item).unwrap_or(item).invoice.issued;
    let before = taken_back.iter().filter(|(day, _)| *day <= of).map(|(_, year)| *year);
    before.fold(of.year().min(item.invoice.issued.year()), i32::min)
}

/// May a credit note pay out a bonus? It is of no sale and takes no invoice back, and is in the currency in which
/// bonuses are owed. One that refers to something that nobody knows is of that, until a person says that it is of nothing;
/// a note is any words.
fn may_pay_bonus(item: &Open<'_>, terms: &Terms, decided: &Decided<'_>) -> bool {
    let invoice = item.invoice;
    let names_none = item.deal.is_none() && item.takes_back.is_none() && invoice.preceding.is_none();
    let is_it = item.is_credit() && item.standing == Standing::Kept && item.currency() == terms.currency;
    let refers_to_none = || {
        let is_said_so = || decided.get(&(WORKSHOP, &*invoice.number)) == Some(&None);
        invoice.quote.is_none() || invoice.is_noted || is_said_so()
    };
    names_none && is_it && refers_to_none()
}

/// What paid bonuses out, and what is owed of them.
#[derive(Default)]
pub(crate) struct PaidOut {
    /// Payments, by their names.
    pub(crate) payments: HashSet<Box<str>>,
    /// Credit notes of ours, by their numbers.
    pub(crate) credits: HashSet<Box<str>>,
    /// Of each partner who had one.
    pub(crate) owed: Vec<Owed>,
}

/// What a partner's bonuses come to less what paid them out.
pub(crate) struct Owed {
    pub(crate) partner: Arc<str>,
    /// What the last of them is posted as, and its day.
    pub(crate) document: Box<str>,
    pub(crate) day: NaiveDate,
    /// Below nothing, as he is owed it.
    pub(crate) minor: i64,
}

/// Posts the bonuses of each month that is over, by partner, on its last day, among what is posted besides invoices,
/// and answers what paid them out. That is posted against what is owed then: of a payment all of it, of a credit note
/// its net, which takes nothing off the turnover.
pub(crate) fn post<'t>(
    (invoices, others): (&mut Journal, &mut Journal),
    Turnover { mut by_month, credits: mut all, .. }: Turnover<'t>,
    (loaded, matching): (&Loaded<'t>, &Matching<'_, 't>),
    terms: &'t Terms,
) -> Result<PaidOut, Overflow> {
    let tiers = tiers(terms);
    if tiers.is_empty() {
        return Ok(PaidOut::default());
    }
    let payments = matching.paid_for_nothing(loaded);
    all.extend(payments.filter(|(one, _)| one.currency() == terms.currency).map(|(one, partner)| {
        let (day, event) = (one.booked, Event::Payment);
        ForNothing { partner, day, event, name: one.name(), minor: one.cleared() }
    }));
    all.sort_unstable();
    let mut paid = PaidOut::default();
    let mut out: HashMap<&Arc<str>, i64> = HashMap::new();
    for of_partner in all.chunk_by(|a, b| a.partner == b.partner) {
        let minor = paid_out(of_partner, &mut by_month, &tiers, &mut paid)?;
        out.extend(of_partner.first().map(|one| (one.partner, minor)));
    }
    let bonuses = bonuses(by_month.iter(), &tiers, terms.until)?;
    for bonus in &bonuses {
        let posting = |role, minor| Posting { role, currency: terms.currency, minor, base_minor: minor };
        let (document, party) = (bonus.document(), Some(Arc::clone(bonus.partner)));
        let source = Source { event: Event::Bonus, document, party };
        let owed = bonus.movement_minor.checked_neg().ok_or(Overflow)?;
        let postings = [posting(Role::BonusPayable, owed), posting(Role::Bonus, bonus.movement_minor)];
        others.post(source, bonus.month.last_day(), bonus.month.last_day(), postings)?;
    }
    for of_partner in bonuses.chunk_by(|a, b| a.partner == b.partner) {
        let moved = of_partner.iter().filter(|bonus| bonus.movement_minor != 0);
        let Some(last) = moved.max_by_key(|bonus| bonus.month) else { continue };
        let out = out.get(last.partner).copied().unwrap_or_default();
        paid.owed.push(Owed {
            partner: Arc::clone(last.partner),
            document: last.document(),
            day: last.month.last_day(),
            minor: out.checked_sub(sum(of_partner)?).ok_or(Overflow)?,
        });
    }
    let moved = |journal: &mut Journal, event, names: &HashSet<Box<str>>, from| {
        if !names.is_empty() {
            journal.move_postings(|one, posting| {
                let pays = posting.role == from && one.source.event == event;
                (pays && names.contains(&one.source.document)).then_some(Role::BonusPayable)
            });
        }
    };
    moved(others, Event::Payment, &paid.payments, Role::Unapplied);
    moved(invoices, Event::Invoice, &paid.credits, Role::Revenue);
    Ok(paid)
}

/// The bonuses of each month that is over and in which something was invoiced, by partner and year.
fn bonuses<'b, 't: 'b>(
    by_month: impl Iterator<Item = (&'b Key<'t>, &'b i64)>,
    tiers: &Tiers<'t>,
    until: NaiveDate,
) -> Result<Vec<Bonus<'t>>, Overflow> {
    let mut bonuses: Vec<Bonus<'t>> = Vec::new();
    let (mut of, mut turnover, mut due) = (None, 0_i64, 0_i64);
    for (&(partner, year, month), &net) in by_month.filter(|((.., month), _)| month.last_day() <= until) {
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

/// What bonuses come to.
fn sum(bonuses: &[Bonus<'_>]) -> Result<i64, Overflow> {
    bonuses.iter().try_fold(0_i64, |sum, one| sum.checked_add(one.movement_minor)).ok_or(Overflow)
}

/// Of what may pay out a partner's bonus, day after day, whatever is no more than is owed of it on its day does; answers how
/// much that is. A credit note that pays out none takes off the turnover of its month, and so off what is owed when that is
/// over.
fn paid_out<'t>(
    all: &[ForNothing<'t>],
    by_month: &mut ByMonth<'t>,
    tiers: &Tiers<'t>,
    paid: &mut PaidOut,
) -> Result<i64, Overflow> {
    let mut out = 0_i64;
    for ForNothing { partner, day, event, name, minor } in all {
        let own = by_month.range((*partner, i32::MIN, Month::of(NaiveDate::MIN))..);
        let own = own.take_while(|((of, ..), _)| of == partner);
        let due = sum(&bonuses(own, tiers, *day)?)?;
        let after = out.checked_sub(*minor).ok_or(Overflow)?;
        if after <= due {
            out = after;
            let names = if *event == Event::Payment { &mut paid.payments } else { &mut paid.credits };
            names.insert(name.clone());
        } else if *event == Event::Invoice && tiers.contains_key(&(*partner, day.year())) {
            let sum = by_month.entry((*partner, day.year(), Month::of(*day))).or_default();
            *sum = sum.checked_add(*minor).ok_or(Overflow)?;
        }
    }
    Ok(out)
}

/// The year of which a bonus is, by what it is posted as, where it is not that of its day.
pub(crate) fn year_of(document: &str) -> Option<i32> {
    let (before, year) = document.rsplit_once('/')?;
    before.contains('/').then(|| year.parse().ok())?
}

pub(crate) fn tiers(terms: &Terms) -> Tiers<'_> {
    let mut tiers = Tiers::new();
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
