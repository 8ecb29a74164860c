//! The end price: its lines, from cost lines and rows.

use evenfare_engine::category::Category;
use evenfare_engine::job::{Job, Task};
use evenfare_engine::tariff::{EndingDirection, Method, Tariff};
use num_bigint::BigInt;
use num_traits::Zero;

use super::cost::minor;
use super::{CostLine, Way, costs, tariff_to_job, under_warranty};
use crate::big::{Q, half_up, ratio, sum, whole};

/// One line of the end price, in the job's currency.
#[derive(Debug, Clone)]
pub struct EndLine {
    /// `U1/part/X`.
    pub id: String,
    pub category: Category,
    pub net: BigInt,
    /// Sold with an exchange unit.
    pub goods: bool,
}

/// The lines of one way to do the job.
pub fn end_lines(tariff: &Tariff, job: &Job, way: &Way<'_>) -> Vec<EndLine> {
    lines_of(tariff, job, way, &costs(tariff, job, way))
}

pub fn lines_of(tariff: &Tariff, job: &Job, way: &Way<'_>, costs: &[CostLine]) -> Vec<EndLine> {
    let mut lines = Vec::new();
    for (index, unit) in way.units.iter().enumerate() {
        let goods = unit.task == Task::Exchange;
        let of_unit = || costs.iter().filter(|line| line.unit == index);
        let charged = of_unit().any(|line| line.charged);
        let family = tariff.families.iter().find(|row| row.code == unit.unit.family).unwrap();
        let service = family.method == Method::Flat && unit.task == Task::Refresh;
        // What an open warranty excludes is built up.
        let flat = service && !under_warranty(job, unit);
        let mut push = |name: &str, category, net: Q| {
            let id = format!("{}/{name}", unit.unit.id);
            let net = if charged { half_up(&net) } else { BigInt::zero() };
            lines.push(EndLine { id, category, net, goods });
        };
        if flat {
            let prices = || tariff.flat_prices.iter().filter(|row| row.family == family.code);
            let price = prices().find(|row| row.class.as_str() == unit.class).unwrap();
            push(&format!("flat/{}", price.class), Category::Flat, minor(price.net, tariff.currency));
        }
        for line in of_unit() {
            let net = match line.category {
                Category::Exchange => minor(family.exchange_net.unwrap(), tariff.currency),
                Category::Inspection => minor(tariff.inspection.fee, tariff.currency),
                category => {
                    let markup = tariff.markups.iter().find(|row| row.category == category).unwrap();
                    whole(line.carried.clone()) * (whole(1) + ratio(markup.percent.scaled(), 1_000_000))
                }
            };
            let covered = flat && tariff.price.flat_covers.contains(&line.category);
            let never = unit.task == Task::Decline && line.name == "courier/leg_in";
            if !covered && !never {
                push(&line.name, line.category, net);
            }
        }
    }
    if costs.iter().any(|line| line.charged) {
        whole_job(tariff, job, way, &mut lines);
    }
    for line in &mut lines {
        line.net = half_up(&tariff_to_job(tariff, job, &line.net));
    }
    // Converted line by line, an ending that takes a job to nothing could take it below.
    let ending = |line: &EndLine| line.category == Category::Ending;
    let others = sum(lines.iter().filter(|line| !ending(line)).map(|line| &line.net));
    for line in lines.iter_mut().filter(|line| ending(line)) {
        line.net = line.net.clone().max(-&others);
    }
    lines
}

/// Surcharges, the minimum charge, the price ending.
fn whole_job(tariff: &Tariff, job: &Job, way: &Way<'_>, lines: &mut Vec<EndLine>) {
    // With the larger part of the job.
    let of_goods = sum(lines.iter().filter(|line| line.goods).map(|line| &line.net));
    let of_services = sum(lines.iter().filter(|line| !line.goods).map(|line| &line.net));
    let goods = way.units.iter().any(|unit| unit.task == Task::Exchange) && of_goods >= of_services;
    let line = |id: String, category, net| EndLine { id, category, net, goods };
    let before: Vec<(Category, BigInt)> =
        lines.iter().map(|line| (line.category, line.net.clone())).collect();
    for extra in tariff.extras.iter().filter(|row| job.extras.contains(&row.code)) {
        let marked: BigInt =
            before.iter().filter(|(c, _)| extra.categories.contains(c)).map(|(_, net)| net).sum();
        let net = half_up(&(whole(marked) * ratio(extra.percent.scaled(), 1_000_000)));
        lines.push(line(format!("surcharge/{}", extra.code), Category::Surcharge, net));
    }
    let sum = |lines: &[EndLine]| sum(lines.iter().map(|line| &line.net));
    let minimum = minor(tariff.price.minimum_charge, tariff.currency).to_integer();
    if sum(lines) < minimum {
        lines.push(line("minimum".to_owned(), Category::Minimum, minimum - sum(lines)));
    }
    let multiple = minor(tariff.price.ending_to, tariff.currency);
    if !multiple.is_zero() {
        let times = whole(sum(lines)) / multiple.clone();
        let taken = match tariff.price.ending_direction {
            EndingDirection::Up => times.ceil(),
            EndingDirection::Down => times.floor(),
            EndingDirection::Nearest => whole(half_up(&times)),
        };
        let net = (taken * multiple).to_integer() - sum(lines);
        if !net.is_zero() {
            lines.push(line("ending".to_owned(), Category::Ending, net));
        }
    }
}
