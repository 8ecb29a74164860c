//! The same sums written out by hand: what one would write for just this kind of job.
//!
//! It does one unit of a built-up family in the tariff's currency, services only: no warranty, no
//! flat price, no alternatives, no working, nothing checked beforehand. Operators are plain; the
//! workspace's profiles check them for overflow as they do everywhere.

#![allow(clippy::indexing_slicing, reason = "indices were made from the tables they point into")]

use crate::plain::{Agreement, Due, Job, Step, Tariff};

// The engine's categories of lines, by their place in its list.
const PART: usize = 0;
const LABOUR: usize = 1;
const TEST: usize = 2;
const COURIER: usize = 3;
const SURCHARGE: usize = 7;
const MINIMUM: usize = 8;
const ENDING: usize = 9;

// And of the works that a partner may take over, the legs.
const LEG_IN: usize = 3;
const LEG_OUT: usize = 4;

#[derive(Debug, PartialEq)]
pub struct Figures {
    pub end_net: i64,
    pub lines: Vec<i64>,
    pub vat_due: Option<i64>,
    pub cost: i64,
    pub shares: Vec<i64>,
    pub workshop_net: i64,
    pub sales: Vec<Sale>,
    pub uneconomic: bool,
    pub under_floor: bool,
    pub scaled: bool,
}

#[derive(Debug, PartialEq)]
pub struct Sale {
    pub net: i64,
    pub lines: Vec<i64>,
    pub category: &'static str,
    pub tax: i64,
    pub gross: i64,
}

/// Nothing where the shares would push the workshop under its floor and an agreement refuses.
#[inline(never)]
pub fn figures(tariff: &Tariff, job: &Job) -> Option<Figures> {
    let plan = plan(tariff, job);
    let mut costs = costs(tariff, &plan);
    let leg = leg(tariff, job);
    costs.extend([
        (COURIER, leg),
        (COURIER, leg),
        (COURIER, round(i128::from(tariff.packaging) * job.parcels.len() as i128, 100)),
    ]);
    // Courier lines stand last: in, out, packaging.
    let leg_in = costs.len() - 3;
    let leg_out = costs.len() - 2;

    let lines = end_price(tariff, job, &costs);
    let end_net: i64 = lines.iter().map(|&(_, net)| net).sum();
    let customer_rate = rate(tariff, job.country, job.tax_date);

    let agreements: Vec<&Agreement> = job
        .route
        .iter()
        .filter_map(|&partner| {
            let agreements = &tariff.partners[partner].agreements;
            agreements.iter().find(|a| a.from <= job.received && job.received <= a.until)
        })
        .collect();
    // Each work to the partner nearest to the customer who has a credit for it.
    let mut works: Vec<(usize, usize, i64)> = Vec::new();
    for (stop, agreement) in agreements.iter().enumerate().rev() {
        for &(work, credit) in &agreement.credits {
            if works.iter().all(|&(taken, ..)| taken != work) {
                works.push((work, stop, credit));
            }
        }
    }
    let all: i64 = costs.iter().map(|&(_, cost)| cost).sum();
    let mut cost = all;
    for &(work, ..) in &works {
        match work {
            LEG_IN => cost -= costs[leg_in].1,
            LEG_OUT => cost -= costs[leg_out].1,
            _ => {}
        }
    }

    let mut by_category = [0_i64; 10];
    for &(category, net) in &lines {
        by_category[category] += net;
    }
    let mut shares: Vec<i64> = agreements
        .iter()
        .enumerate()
        .map(|(stop, agreement)| {
            let percents = agreement.discounts.iter();
            let discount =
                percents.map(|&(c, percent)| i128::from(by_category[c]) * i128::from(percent)).sum();
            let credits =
                works.iter().filter(|&&(_, taker, _)| taker == stop).map(|&(work, _, credit)| match work {
                    LEG_IN => credit.min(lines[leg_in].1),
                    LEG_OUT => credit.min(lines[leg_out].1),
                    _ => credit,
                });
            (round(discount, 1_000_000) + credits.sum::<i64>()).max(0)
        })
        .collect();

    let percent_of_end = percent(end_net, tariff.minimum_contribution_percent);
    let minimum = percent_of_end.max(tariff.minimum_contribution);
    let available = (end_net - cost - minimum).max(0);
    let scaled = shares.iter().sum::<i64>() > available;
    if scaled {
        if agreements.iter().any(|agreement| agreement.refuses) {
            return None;
        }
        shares = split(available, &shares, |a, b| b.cmp(&a));
    }

    let mut sales = Vec::with_capacity(shares.len() + 1);
    let weights: Vec<i64> = lines.iter().map(|&(_, net)| net).collect();
    let workshop_net = end_net - shares.iter().sum::<i64>();
    let mut net = workshop_net;
    let mut seller = tariff.country;
    for stop in 0..=shares.len() {
        let buyer = job.route.get(stop).map_or(job.country, |&partner| tariff.partners[partner].country);
        let charged = if seller == buyer { rate(tariff, seller, job.tax_date) } else { None };
        let tax = charged.map_or(0, |charged| percent(net, charged));
        sales.push(Sale {
            net,
            lines: if net == end_net { weights.clone() } else { split(net, &weights, |a, b| a.cmp(&b)) },
            category: if seller == buyer { "S" } else { "AE" },
            tax,
            gross: net + tax,
        });
        net += shares.get(stop).copied().unwrap_or(0);
        seller = buyer;
    }

    let worth =
        i128::from(tariff.families[job.family].replacement_value) * i128::from(tariff.uneconomic_percent);
    Some(Figures {
        end_net,
        lines: weights,
        vat_due: customer_rate.map(|rate| percent(end_net, rate)),
        cost,
        shares,
        workshop_net,
        sales,
        uneconomic: i128::from(end_net) * 1_000_000 > worth,
        under_floor: end_net - all < minimum,
        scaled,
    })
}

struct Plan {
    /// Part and quantity, in the order of parts.
    parts: Vec<(usize, i64)>,
    /// Thousandths of a minute, by grade.
    labour: Vec<i64>,
    /// Bench hours, by test.
    tests: Vec<Option<i64>>,
}

fn plan(tariff: &Tariff, job: &Job) -> Plan {
    let family = &tariff.families[job.family];
    // The larger of two findings at one place counts.
    let mut findings = job.findings.clone();
    findings.sort_by_key(|f| (f.finding, f.position, -f.times));
    findings.dedup_by_key(|f| (f.finding, f.position));

    let mut wanted: Vec<(usize, Option<usize>, i64)> = Vec::with_capacity(32);
    let mut operations = vec![0_i64; tariff.operations.len()];
    let mut tests = vec![None; tariff.tests.len()];
    tests[family.test] = Some(tariff.tests[family.test].bench_hours);
    let mut add = |step: &Step, at: Option<usize>, times_found: i64| match *step {
        Step::Part { part, quantity, position } => {
            wanted.push((part, position.or(at), quantity * times_found))
        }
        Step::Operation { operation, times } => operations[operation] += times * times_found,
        Step::Test { test, bench_hours } => tests[test] = tests[test].max(Some(bench_hours)),
    };
    for found in &findings {
        for step in &tariff.findings[found.finding] {
            add(step, found.position, found.times);
        }
    }
    for (due, step) in &family.refresh {
        let is_due = match *due {
            Due::Always => true,
            Due::Cycles(from) => job.cycles >= from,
            Due::Contacts { b10d, operations_per_cycle, share } => {
                let used = i128::from(job.cycles) * i128::from(operations_per_cycle) * 1_000_000;
                used >= i128::from(b10d) * 1_000 * i128::from(share)
            }
        };
        if is_due {
            add(step, None, 1);
        }
    }

    let mut labour = vec![0_i64; tariff.grades.len()];
    let mut parts = Vec::with_capacity(wanted.len());
    wanted.sort_unstable();
    for of_part in wanted.chunk_by(|a, b| a.0 == b.0) {
        let (mut placed, mut unplaced) = (0, 0);
        for at_position in of_part.chunk_by(|a, b| a.1 == b.1) {
            // The largest stands last.
            let (_, position, most) = at_position[at_position.len() - 1];
            match position {
                Some(_) => placed += most,
                None => unplaced = most,
            }
        }
        let (part, quantity) = (of_part[0].0, placed.max(unplaced));
        parts.push((part, quantity));
        labour[tariff.parts[part].fit_grade] += tariff.parts[part].fit_minutes * quantity;
    }
    for (operation, times) in tariff.operations.iter().zip(operations) {
        let times = if operation.once && times > 0 { 1_000 } else { times };
        labour[operation.grade] += operation.minutes * times;
    }
    Plan { parts, labour, tests }
}

/// Category and cost of each line of the plan.
fn costs(tariff: &Tariff, plan: &Plan) -> Vec<(usize, i64)> {
    let mut costs = Vec::with_capacity(plan.parts.len() + 8);
    for &(part, quantity) in &plan.parts {
        let part = &tariff.parts[part];
        let reached = part.breaks.iter().rev().find(|(from, _)| *from <= quantity);
        let mut best = i128::from(reached.map_or(part.unit_cost, |&(_, cost)| cost)) * i128::from(quantity);
        for &(from, cost) in part.breaks.iter().filter(|(from, _)| *from > quantity) {
            best = best.min(i128::from(cost) * i128::from(from));
        }
        costs.push((PART, round(best, 100_000)));
    }
    for (rate, &minutes) in tariff.grades.iter().zip(&plan.labour) {
        if minutes > 0 {
            costs.push((LABOUR, round(i128::from(*rate) * i128::from(minutes), 6_000_000)));
        }
    }
    for (test, hours) in tariff.tests.iter().zip(&plan.tests) {
        if let Some(hours) = *hours {
            // To one denominator: ten-thousandths x thousandths x thousandths, by the minute.
            let bench = i128::from(test.bench_rate) * i128::from(hours) * 60_000;
            let attended =
                i128::from(tariff.grades[test.grade]) * i128::from(test.attended_minutes) * 1_000_000;
            let energy = i128::from(tariff.energy) * i128::from(test.power_kw) * i128::from(hours) * 60;
            costs.push((TEST, round(bench + attended + energy, 6_000_000_000)));
        }
    }
    costs
}

/// One courier leg.
fn leg(tariff: &Tariff, job: &Job) -> i64 {
    let volume: i128 =
        job.parcels.iter().map(|p| i128::from(p.length) * i128::from(p.width) * i128::from(p.height)).sum();
    let actual: i64 = job.parcels.iter().map(|p| p.weight).sum();
    let step = i128::from(tariff.weight_step);
    let volumetric_steps = ceiling(volume, i128::from(tariff.volumetric_divisor) * 1_000_000 * step);
    let grams = volumetric_steps.max(ceiling(i128::from(actual), step)) * step;
    let rates = &tariff.zones[job.zone];
    let rate = rates.iter().find(|(up_to, _)| i128::from(*up_to) >= grams).map_or(0, |&(_, cost)| cost);
    // Ten-thousandths of a major unit, times a million for the percentages.
    let freight = i128::from(rate) * i128::from(1_000_000 + tariff.fuel);
    let insured = i128::from(job.declared_value) * i128::from(tariff.insurance);
    let insurance = insured.max(i128::from(tariff.insurance_minimum) * 1_000_000);
    round(freight + insurance, 100_000_000)
}

/// Category and net of each line.
fn end_price(tariff: &Tariff, job: &Job, costs: &[(usize, i64)]) -> Vec<(usize, i64)> {
    let mut lines = Vec::with_capacity(costs.len() + 3);
    for &(category, cost) in costs {
        lines.push((category, percent(cost, 1_000_000 + tariff.markups[category])));
    }
    let before = lines.len();
    for &extra in &job.extras {
        let extra = &tariff.extras[extra];
        let marked = lines[..before].iter().filter(|(category, _)| extra.categories.contains(category));
        let base = marked.map(|&(_, net)| net).sum();
        lines.push((SURCHARGE, percent(base, extra.percent)));
    }
    let mut sum: i64 = lines.iter().map(|&(_, net)| net).sum();
    if sum < tariff.minimum_charge {
        lines.push((MINIMUM, tariff.minimum_charge - sum));
        sum = tariff.minimum_charge;
    }
    // To the nearest multiple, a half up.
    let ending = (sum + tariff.ending_to / 2) / tariff.ending_to * tariff.ending_to;
    if ending != sum {
        lines.push((ENDING, ending - sum));
    }
    lines
}

/// By largest remainder; `ties` says which of two equal remainders is served first.
fn split(total: i64, weights: &[i64], ties: impl Fn(usize, usize) -> std::cmp::Ordering) -> Vec<i64> {
    let sum: i128 = weights.iter().map(|&weight| i128::from(weight)).sum();
    let mut left = total;
    let mut parts = Vec::with_capacity(weights.len());
    let mut remainders = Vec::with_capacity(weights.len());
    for (index, &weight) in weights.iter().enumerate() {
        let product = i128::from(weight) * i128::from(total);
        let quota = product.div_euclid(sum);
        parts.push(quota as i64);
        remainders.push((product - quota * sum, index));
        left -= quota as i64;
    }
    remainders.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(ties(a.1, b.1)));
    for &(_, index) in remainders.iter().take(left as usize) {
        parts[index] += 1;
    }
    parts
}

fn rate(tariff: &Tariff, country: usize, on: i64) -> Option<i64> {
    let mut rates = tariff.vat_rates.iter();
    rates.find(|rate| rate.country == country && rate.from <= on && on <= rate.until).map(|rate| rate.percent)
}

fn percent(amount: i64, percent: i64) -> i64 {
    round(i128::from(amount) * i128::from(percent), 1_000_000)
}

/// Half up on the magnitude.
fn round(numerator: i128, denominator: i128) -> i64 {
    let half = if numerator < 0 { -denominator / 2 } else { denominator / 2 };
    ((numerator + half) / denominator) as i64
}

fn ceiling(dividend: i128, divisor: i128) -> i128 {
    (dividend + divisor - 1) / divisor
}
