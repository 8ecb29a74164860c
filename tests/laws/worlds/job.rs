//! A job under a tariff: what arrived, from whom, by which route.

use chrono::{Datelike, Days, NaiveDate};
use evenfare_engine::category::Work;
use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Returned, Stop, Task, Unit};
use evenfare_engine::language::Language;
use evenfare_engine::money::UnitPrice;
use evenfare_engine::tariff::{Method, Tariff, Trigger, WearRow};
use evenfare_engine::text::{Code, Text};

use super::bench::position;
use super::figures::{Coins, text};
use super::rules::{codes, currency, some_quantity};
use super::trade::{COUNTRIES, vat_id};
use super::{code, day, kind};
use crate::tape::{Draw, Tape};

pub fn job(tape: &Tape, tariff: &Tariff) -> Job {
    let mut draw = tape.draw(kind::JOB, 0);
    let received = later(day(2026, 1, 10), draw.below(340));
    let quoted = draw.chance(40).then(|| later(received, draw.below(20)));
    let dispatch = draw.chance(40).then(|| later(quoted.unwrap_or(received), draw.below(60)));
    let tax_date = draw.chance(30).then(|| later(received, draw.below(90)));
    let asked = draw.chance(50).then(|| currency(&mut draw));
    let extras = draw.some_of(&codes(&tariff.extras, |row| &row.code), 50);
    let customer = customer(&mut draw, tariff);
    let units: Vec<Unit> =
        (0..1 + draw.below(4) as usize).map(|number| unit(tape, tariff, received, number)).collect();
    let alternatives = (0..draw.below(4) as usize).filter(|_| draw.chance(60));
    let alternatives = alternatives.map(|number| alternative(tape, tariff, &units, number)).collect();
    Job {
        reference: code("J-1"),
        received,
        quoted,
        dispatch,
        tax_date,
        currency: asked,
        customer,
        route: route(tape, tariff, received),
        extras,
        units,
        alternatives,
    }
}

fn later(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_add_days(Days::new(days)).unwrap()
}

fn earlier(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_sub_days(Days::new(days)).unwrap()
}

/// An identifier wherever a sale across a border of the Union may need one.
fn customer(draw: &mut Draw<'_>, tariff: &Tariff) -> Customer {
    let country = match draw.below(3) {
        0 => tariff.workshop.country,
        _ => draw.pick(&COUNTRIES).parse().unwrap(),
    };
    let workshop = (tariff.workshop.country, &tariff.workshop.vat_id);
    let partners = tariff.partners.iter().map(|partner| (partner.country, &partner.vat_id));
    let inside = |id: &Option<Text>| id.as_ref().is_some_and(|id| id.as_str().starts_with("XI"));
    let mut sellers = partners.chain([workshop]);
    let crosses = sellers.any(|(seller, id)| seller != country && (seller.is_eu() || inside(id)));
    let crosses = crosses && country.is_eu();
    let given = crosses || draw.chance(80);
    Customer {
        name: text("Harrow Lifts"),
        street: text("7 Quarry Road"),
        postcode: text(*draw.pick(&["20000", "10115", "99", ""])),
        city: text("Fennmouth"),
        country,
        vat_id: if given { vat_id(country, draw.chance(40)) } else { None },
        business: true,
        language: draw.chance(50).then(|| *draw.pick(Language::ALL)),
    }
}

fn coins(tariff: &Tariff) -> Coins {
    let dear = tariff.parts.iter().map(|part| part.unit_cost.scaled()).max().unwrap_or(0);
    Coins { currency: tariff.currency, most: dear.max(20_000_000) }
}

fn task(draw: &mut Draw<'_>, exchanges: bool) -> Task {
    match draw.below(20) {
        0..13 => Task::Refresh,
        13..17 if exchanges => Task::Exchange,
        13..17 => Task::Refresh,
        _ => Task::Decline,
    }
}

fn class(draw: &mut Draw<'_>, tariff: &Tariff, family: &Code) -> Option<Code> {
    let classes: Vec<Code> =
        tariff.flat_prices.iter().filter(|row| row.family == *family).map(|row| row.class.clone()).collect();
    (!classes.is_empty() && draw.chance(60)).then(|| draw.pick(&classes).clone())
}

fn unit(tape: &Tape, tariff: &Tariff, received: NaiveDate, number: usize) -> Unit {
    let mut draw = tape.draw(kind::UNITS, number);
    let family = draw.pick(&tariff.families);
    let built = draw.chance(70).then(|| earlier(received, draw.below(9_000)));
    let cycles = draw.chance(70).then(|| draw.within(0, 3_000_000) as u64);
    let hours = draw.chance(40).then(|| draw.within(0, 200_000) as u32);
    // Quite often just what a trigger asks for.
    let edges = Edges::of(tariff, received);
    let built = edges.built.filter(|_| draw.chance(30)).or(built);
    let cycles = edges.cycles.filter(|_| draw.chance(40)).or(cycles);
    let hours = edges.hours.filter(|_| draw.chance(40)).or(hours);
    let declared_value = if draw.chance(80) { coins(tariff).unit_price(&mut draw) } else { UnitPrice::ZERO };
    Unit {
        id: code(&format!("U{}", number + 1)),
        family: family.code.clone(),
        serial: text("S-100"),
        built,
        cycles,
        hours,
        declared_value,
        task: task(&mut draw, family.exchange_net.is_some()),
        class: class(&mut draw, tariff, &family.code),
        parcels: parcels(tape, number),
        findings: findings(&mut tape.draw(kind::FOUND, number), tariff, 6),
        returned: draw.chance(35).then(|| returned(tape, received, cycles, number)),
    }
}

/// Ages at which some row of a refresh list is just due.
#[derive(Default)]
struct Edges {
    built: Option<NaiveDate>,
    cycles: Option<u64>,
    hours: Option<u32>,
}

impl Edges {
    fn of(tariff: &Tariff, received: NaiveDate) -> Self {
        let mut edges = Self::default();
        for row in &tariff.refresh {
            let Some(threshold) = row.threshold.map(|threshold| threshold.scaled()) else { continue };
            let wear = tariff.wear.iter().find(|wear| Some(&wear.code) == row.wear.as_ref());
            match (row.trigger, wear) {
                (Trigger::Cycles, _) => edges.cycles = u64::try_from(threshold / 1_000).ok(),
                (Trigger::Years, _) => {
                    let year = received.year() - i32::try_from(threshold / 1_000).unwrap();
                    edges.built = received.with_year(year).or(edges.built);
                }
                (Trigger::Wear, Some(wear)) => edges.worn(wear, threshold),
                _ => {}
            }
        }
        edges
    }

    /// Where the share used comes out even.
    fn worn(&mut self, wear: &WearRow, share: i64) {
        if let (Some(b10d), Some(operations)) = (wear.b10d, wear.operations_per_cycle) {
            let (used, each) = (b10d * share as u64, 100 * operations.scaled() as u64);
            if each > 0 && used % each == 0 && used / each <= 1_000_000_000_000 {
                self.cycles = Some(used / each);
            }
        }
        if let (Some(hours), Some(rated), Some(service)) =
            (wear.rated_hours, wear.rated_celsius, wear.service_celsius)
        {
            let (below, used) = (rated - service, u64::from(hours) * share as u64);
            let life = if below >= 0 { used << (below / 10).min(20) } else { used >> (-below / 10) };
            if below % 10 == 0 && life % 100_000 == 0 && life <= 200_000_000_000 {
                self.hours = u32::try_from(life / 100_000).ok().or(self.hours);
            }
        }
    }
}

/// The first unit has one at least; another may lie in its parcel.
fn parcels(tape: &Tape, number: usize) -> Vec<Parcel> {
    let mut draw = tape.draw(kind::PARCELS, number);
    let least = u64::from(number == 0);
    (0..least + draw.below(3))
        .map(|_| Parcel {
            length_cm: some_quantity(&mut draw, 120_000),
            width_cm: some_quantity(&mut draw, 80_000),
            height_cm: some_quantity(&mut draw, 60_000),
            weight_kg: some_quantity(&mut draw, 40_000),
        })
        .collect()
}

pub fn findings(draw: &mut Draw<'_>, tariff: &Tariff, most: u64) -> Vec<Finding> {
    (0..draw.below(most))
        .map(|_| {
            let code = draw.pick(&tariff.findings).code.clone();
            let at = draw.chance(50).then(|| position(draw));
            let quantity = draw.chance(40).then(|| {
                let most = *draw.pick(&[4, 4, 4, 30, 1_000]);
                draw.within(1, most) as u32
            });
            Finding { code, position: at, quantity }
        })
        .collect()
}

fn returned(tape: &Tape, received: NaiveDate, cycles: Option<u64>, number: usize) -> Returned {
    let mut draw = tape.draw(kind::RETURNED, number);
    let limit = cycles.filter(|_| draw.chance(50));
    let then = limit.map(|cycles| draw.within(0, cycles as i64) as u64);
    Returned {
        quote: code("J-0"),
        dispatched: earlier(received, draw.below(900)),
        warranty_months: draw.within(0, 48) as u32,
        warranty_cycles: limit.map(|_| draw.within(0, 3_000_000) as u64),
        cycles_at_dispatch: then,
    }
}

fn alternative(tape: &Tape, tariff: &Tariff, units: &[Unit], number: usize) -> Alternative {
    let changes = units.iter().enumerate().filter_map(|(index, unit)| {
        let mut draw = tape.draw(kind::ALTERNATIVES, number * 4 + index);
        if !draw.chance(60) {
            return None;
        }
        let family = tariff.families.iter().find(|family| family.code == unit.family).unwrap();
        let flat = family.method == Method::Flat;
        Some(Change {
            unit: unit.id.clone(),
            task: draw.chance(60).then(|| task(&mut draw, family.exchange_net.is_some())),
            class: if flat { class(&mut draw, tariff, &family.code) } else { None },
            findings: findings(&mut draw, tariff, 4),
        })
    });
    Alternative { id: code(&format!("alt-{number}")), text: text("Another way"), changes: changes.collect() }
}

/// Direct, or the chain to a partner; with the works he takes over named or left to the agreements.
fn route(tape: &Tape, tariff: &Tariff, received: NaiveDate) -> Vec<Stop> {
    let mut draw = tape.draw(kind::ROUTE, 0);
    let priced: Vec<&Code> = tariff.partners.iter().map(|partner| &partner.code).collect();
    if priced.is_empty() || !draw.chance(75) {
        return Vec::new();
    }
    let mut chain = Vec::new();
    let mut next = Some((*draw.pick(&priced)).clone());
    while let Some(code) = next {
        next = tariff.partners.iter().find(|partner| partner.code == code).unwrap().buys_from.clone();
        chain.push(code);
    }
    chain.reverse();
    let agreed = |partner: &Code| credited(tariff, partner, received).is_some();
    if !chain.iter().all(agreed) {
        return Vec::new();
    }
    taking_over(&mut tape.draw(kind::ROUTE, 1), tariff, received, &chain)
}

/// The works that the agreement of the day credits; none where there is no agreement.
fn credited(tariff: &Tariff, partner: &Code, received: NaiveDate) -> Option<Vec<Work>> {
    let agreement =
        tariff.agreements.iter().find(|row| row.partner == *partner && row.span.contains(received))?;
    Some(tariff.credits.iter().filter(|row| row.agreement == agreement.code).map(|row| row.work).collect())
}

/// Stops of a route with works named for some of them, no work twice.
pub fn taking_over(draw: &mut Draw<'_>, tariff: &Tariff, received: NaiveDate, route: &[Code]) -> Vec<Stop> {
    let mut taken: Vec<Work> = Vec::new();
    let mut stops = Vec::new();
    for partner in route {
        let works = credited(tariff, partner, received).unwrap_or_default();
        let takes_over = draw.chance(50).then(|| {
            let free: Vec<Work> = works.into_iter().filter(|work| !taken.contains(work)).collect();
            draw.some_of(&free, 60)
        });
        taken.extend(takes_over.iter().flatten());
        stops.push(Stop { partner: partner.clone(), takes_over });
    }
    stops
}
