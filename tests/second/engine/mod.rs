//! The computation a second time, from its description alone (`crates/engine/COMPUTATION.md`): slow,
//! plain, over fractions of any size, and without a line of the engine.

pub mod cost;
pub mod days;
pub mod mistakes;
pub mod numbers;
pub mod plan;
pub mod price;
pub mod route;
pub mod tables;
pub mod vat;

use std::collections::BTreeSet;

use num_bigint::BigInt;
use num_traits::Signed;

use days::Day;
use mistakes::Mistakes;
use numbers::{Q, half_up, percent, whole};
use price::{Item, Priced};
use route::UnderTheFloor;
use tables::{Job, Tariff, Unit};
use vat::Groups;

/// Why there is no quote.
#[derive(Debug, PartialEq)]
pub enum Refused {
    Mistakes(Mistakes),
    TooLarge,
    UnderTheFloor(UnderTheFloor),
}

/// What a quote says in figures.
pub struct Quote {
    pub days: [Day; 4],
    pub offers: Vec<Offer>,
    /// Alternatives that an agreement refuses.
    pub refused: Vec<(String, UnderTheFloor)>,
}

/// One way to do the job.
pub struct Offer {
    pub id: String,
    /// Name and net of each line of the end price.
    pub lines: Vec<(String, BigInt)>,
    pub end_net: BigInt,
    pub vat_rate: Option<Q>,
    pub vat_due: Option<BigInt>,
    pub sales: Vec<Sale>,
    pub shares: Vec<BigInt>,
    /// Name, cost, and whether a partner carries it.
    pub costs: Vec<(String, BigInt, bool)>,
    pub cost: BigInt,
    pub flags: BTreeSet<&'static str>,
    /// First and last day, and cycles, of each unit's warranty.
    pub warranties: Vec<Option<(Day, Day, Option<u64>)>>,
    /// What is found in each unit and no warranty covers, in words.
    pub excludes: Vec<Vec<String>>,
    /// The last day of the cover each unit came back under, where it is open, and the cycles left.
    pub covers: Vec<Option<(Day, Option<u64>)>>,
}

pub struct Sale {
    pub net: BigInt,
    pub lines: Vec<BigInt>,
    pub groups: Groups,
    pub gross: BigInt,
}

pub fn quoted(job: &Job) -> Day {
    job.quoted.unwrap_or(job.received)
}

pub fn dispatch(tariff: &Tariff, job: &Job) -> Day {
    let later = if quoted(job) > job.received { quoted(job) } else { job.received };
    job.dispatch.unwrap_or_else(|| later.plus_days(tariff.rules.terms.turnaround_days))
}

pub fn tax_date(tariff: &Tariff, job: &Job) -> Day {
    job.tax_date.unwrap_or_else(|| dispatch(tariff, job))
}

/// The job itself and its alternatives, each as a job of its own.
pub fn ways(job: &Job) -> Vec<(String, Job)> {
    let mut ways = vec![("main".to_owned(), job.clone())];
    for alternative in &job.alternatives {
        let mut way = job.clone();
        for change in &alternative.changes {
            if let Some(unit) = way.units.iter_mut().find(|unit| unit.id == change.unit) {
                unit.task = change.task.clone().unwrap_or_else(|| unit.task.clone());
                unit.class = change.class.clone().or_else(|| unit.class.clone());
                unit.findings.extend(change.findings.iter().cloned());
            }
        }
        ways.push((alternative.id.clone(), way));
    }
    ways
}

pub fn quote(tariff: &Tariff, job: &Job) -> Result<Quote, Refused> {
    let mistakes = mistakes::mistakes(tariff, job);
    if !mistakes.is_empty() {
        return Err(Refused::Mistakes(mistakes));
    }
    let (mut offers, mut refused) = (Vec::new(), Vec::new());
    for (id, way) in ways(job) {
        match offer(tariff, &way, id.clone()) {
            Ok(offer) => offers.push(offer),
            Err(Refused::UnderTheFloor(floor)) if id != "main" => refused.push((id, floor)),
            Err(refused) => return Err(refused),
        }
    }
    let valid_until = quoted(job).plus_days(tariff.rules.terms.validity_days);
    let days = [quoted(job), valid_until, dispatch(tariff, job), tax_date(tariff, job)];
    Ok(Quote { days, offers, refused })
}

fn offer(tariff: &Tariff, job: &Job, id: String) -> Result<Offer, Refused> {
    let own = &tariff.rules.edition.currency;
    let rate = price::exchange_rate(tariff, own, job.currency.as_ref().unwrap_or(own), job.received).unwrap();
    let priced = price::price(tariff, job);
    bounded(&priced.items)?;
    let goods = vat::goods(&priced);
    let priced = price::converted(priced, &rate);
    bounded(&priced.items)?;
    let tax_date = tax_date(tariff, job);
    let end_net = priced.end_net();
    let vat_rate = tariff.vat_rate(&job.customer.country, tax_date).map(|rate| (**rate).clone());
    let vat_due = vat_rate.as_ref().map(|rate| half_up(&(percent(rate) * whole(end_net.clone()))));
    // Also what the end customer has spent in his own country.
    if vat_due.as_ref().is_some_and(|due| &end_net + due > most()) {
        return Err(Refused::TooLarge);
    }
    let shared = route::share(tariff, job, &priced, &rate).map_err(|floor| {
        // A refusal says what the shares come to.
        if floor.shares > most() { Refused::TooLarge } else { Refused::UnderTheFloor(floor) }
    })?;
    let ends = vat::ends(tariff, job);
    let sales = shared.sales.iter().enumerate().map(|(place, net)| {
        let lines = route::by_line(net, &priced);
        let groups = vat::groups(tariff, &ends, place, &lines, &goods, tax_date);
        let gross = net + groups.values().map(|(_, tax)| tax).sum::<BigInt>();
        Sale { net: net.clone(), lines, groups, gross }
    });
    let sales: Vec<Sale> = sales.collect();
    if sales.iter().any(|sale| sale.gross > most()) {
        return Err(Refused::TooLarge);
    }
    let costs: Vec<(String, BigInt, bool)> = priced
        .items
        .iter()
        .filter_map(|item| {
            let carried = shared.carried_legs.iter().any(|leg| route::is_leg(&item.id, leg));
            Some((item.id.clone(), item.cost.clone()?, carried))
        })
        .collect();
    let mut flags = flags(tariff, job, &priced, &rate, &sales);
    let mut raise = |raised: bool, flag| raised.then(|| flags.insert(flag));
    raise(shared.scaled, "shares_scaled");
    raise(vat_rate.is_none(), "vat_not_known");
    let countries: BTreeSet<&str> = ends.iter().map(|end| end.country).collect();
    raise(goods.contains(&true) && !job.route.is_empty() && countries.len() > 1, "goods_in_chain");
    Ok(Offer {
        id,
        lines: priced.lines().map(|(item, net)| (item.id.clone(), net.clone())).collect(),
        vat_due,
        end_net,
        vat_rate,
        sales,
        shares: shared.shares,
        cost: costs.iter().filter(|cost| !cost.2).map(|cost| &cost.1).sum(),
        costs,
        flags,
        warranties: job.units.iter().map(|unit| warranty(tariff, job, unit)).collect(),
        excludes: job.units.iter().map(|unit| excludes(tariff, unit)).collect(),
        covers: job.units.iter().map(|unit| cover(job, unit)).collect(),
    })
}

/// No amount is beyond it.
fn most() -> BigInt {
    BigInt::from(10).pow(14)
}

fn bounded(items: &[Item]) -> Result<(), Refused> {
    let sums: [BigInt; 2] =
        [items.iter().flat_map(|it| &it.net).sum(), items.iter().flat_map(|it| &it.cost).sum()];
    let each = items.iter().flat_map(|item| item.net.iter().chain(&item.cost));
    if each.chain(&sums).any(|amount| amount.abs() > most()) { Err(Refused::TooLarge) } else { Ok(()) }
}

fn flags(tariff: &Tariff, job: &Job, priced: &Priced, rate: &Q, sales: &[Sale]) -> BTreeSet<&'static str> {
    let mut flags = BTreeSet::new();
    let mut raise = |raised: bool, flag| raised.then(|| flags.insert(flag));
    let end_net = priced.end_net();
    let share = percent(&tariff.rules.price.uneconomic_percent);
    let limit = |unit: &Unit| {
        let value = &tariff.families[&unit.family].replacement_value;
        cost::in_minor(tariff, value) * rate * &share
    };
    let own_lines = |index: usize| -> BigInt {
        priced.lines().filter(|(item, _)| item.unit == Some(index)).map(|(_, net)| net).sum()
    };
    let passes_alone = |(index, unit): (usize, &Unit)| whole(own_lines(index)) > limit(unit);
    let one_does = job.units.len() > 1 && job.units.iter().enumerate().any(passes_alone);
    raise(one_does || whole(end_net.clone()) > job.units.iter().map(limit).sum(), "uneconomic");
    let carried: BigInt = priced.items.iter().map(|item| &item.carried).sum();
    let least = route::minimum_contribution(tariff, &end_net, rate);
    raise(!priced.all_free && end_net - carried < least, "under_floor");
    raise(priced.wear_unknown, "wear_unknown");
    raise(priced.under_warranty, "under_warranty");
    let mixed =
        |sale: &Sale| sale.groups.len() > 1 && sale.groups.keys().any(|(category, _)| *category == "O");
    raise(sales.iter().any(mixed), "several_invoices");
    flags
}

fn warranty(tariff: &Tariff, job: &Job, unit: &Unit) -> Option<(Day, Day, Option<u64>)> {
    if unit.task == "decline" {
        return None;
    }
    if let (true, Some(returned), Some(until)) =
        (price::is_free(tariff, job, unit), &unit.returned, price::open_cover(job, unit))
    {
        return Some((returned.dispatched, until, returned.warranty_cycles));
    }
    let terms = &tariff.rules.terms;
    let months = tariff.families[&unit.family].warranty_months.unwrap_or(terms.warranty_months);
    let from = dispatch(tariff, job);
    Some((from, from.plus_months(months), terms.warranty_cycles))
}

/// Each finding that the catalogue excludes, once; of another unit that is sent instead nothing was found.
fn excludes(tariff: &Tariff, unit: &Unit) -> Vec<String> {
    let found: BTreeSet<&String> = unit.findings.iter().map(|finding| &finding.code).collect();
    let rows = found.into_iter().map(|code| &tariff.findings[code]);
    let excluded = rows.filter(|row| unit.task != "exchange" && row.warranty == "excluded");
    excluded.map(|row| row.text.clone()).collect()
}

fn cover(job: &Job, unit: &Unit) -> Option<(Day, Option<u64>)> {
    let until = price::open_cover(job, unit)?;
    let returned = unit.returned.as_ref()?;
    let left = match (returned.warranty_cycles, returned.cycles_at_dispatch, unit.cycles) {
        (Some(limit), Some(then), Some(now)) => Some(limit - (now - then)),
        _ => None,
    };
    Some((until, left))
}
