//! Who takes over which work, what each partner keeps, what the workshop must keep.

use evenfare_engine::category::Work;
use evenfare_engine::job::Job;
use evenfare_engine::tariff::{AgreementRow, Tariff, UnderFloor};
use num_bigint::BigInt;
use num_traits::Zero;

use super::cost::minor;
use super::{CostLine, EndLine, tariff_to_job};
use crate::big::{half_up, ratio, split, sum, whole};

/// What the route keeps of an end price.
#[derive(Debug)]
pub struct Keeps {
    /// Share of each partner.
    pub shares: Vec<BigInt>,
    pub scaled: bool,
    /// An agreement refuses the quote.
    pub refused: bool,
}

fn agreement<'t>(tariff: &'t Tariff, job: &Job, stop: usize) -> &'t AgreementRow {
    let partner = &job.route[stop].partner;
    tariff.agreements.iter().find(|row| row.partner == *partner && row.span.contains(job.received)).unwrap()
}

/// The works each partner of the route takes over: those named for him; what nobody is named for
/// goes to the partner nearest the customer who is credited for it and has nothing named for him.
pub fn works(tariff: &Tariff, job: &Job) -> Vec<Vec<Work>> {
    let mut works: Vec<Vec<Work>> =
        job.route.iter().map(|stop| stop.takes_over.clone().unwrap_or_default()).collect();
    for &work in Work::ALL {
        if works.iter().any(|own| own.contains(&work)) {
            continue;
        }
        let credits = |stop: usize| {
            let code = &agreement(tariff, job, stop).code;
            tariff.credits.iter().any(|row| row.agreement == *code && row.work == work)
        };
        let free = |stop: &usize| job.route[*stop].takes_over.is_none() && credits(*stop);
        if let Some(stop) = (0..job.route.len()).rev().find(free) {
            works[stop].push(work);
        }
    }
    works
}

/// Which legs leave the workshop's cost.
pub fn carried_by_partners(tariff: &Tariff, job: &Job, costs: &[CostLine]) -> Vec<bool> {
    let works: Vec<Work> = works(tariff, job).concat();
    let sold = costs.iter().any(|line| line.charged);
    let elsewhere = |line: &CostLine| match line.name.as_str() {
        "courier/leg_in" => works.contains(&Work::LegIn),
        "courier/leg_out" => works.contains(&Work::LegOut),
        _ => false,
    };
    costs.iter().map(|line| sold && elsewhere(line)).collect()
}

/// The larger of the tariff's amount and its percentage of the net end price.
pub fn minimum_contribution(tariff: &Tariff, job: &Job, end: &BigInt) -> BigInt {
    let amount = minor(tariff.price.minimum_contribution, tariff.currency).to_integer();
    let amount = half_up(&tariff_to_job(tariff, job, &amount));
    amount.max(half_up(
        &(whole(end.clone()) * ratio(tariff.price.minimum_contribution_percent.scaled(), 1_000_000)),
    ))
}

impl Keeps {
    pub fn new(tariff: &Tariff, job: &Job, costs: &[CostLine], lines: &[EndLine]) -> Self {
        let end = sum(lines.iter().map(|line| &line.net));
        let works = works(tariff, job);
        let stops = 0..job.route.len();
        if !costs.iter().any(|line| line.charged) {
            return Self { shares: stops.map(|_| BigInt::zero()).collect(), scaled: false, refused: false };
        }
        let units = job.units.iter().enumerate();
        let units =
            units.filter(|(index, _)| costs.iter().any(|line| line.unit == *index && line.charged)).count();
        let agreed: Vec<BigInt> =
            stops.clone().map(|stop| agreed(tariff, job, stop, &works[stop], lines, units)).collect();
        let elsewhere = carried_by_partners(tariff, job, costs);
        let spent = costs.iter().zip(&elsewhere).filter(|(_, elsewhere)| !**elsewhere);
        let spent: BigInt = spent.map(|(line, _)| half_up(&tariff_to_job(tariff, job, &line.carried))).sum();
        let available = (&end - spent - minimum_contribution(tariff, job, &end)).max(BigInt::zero());
        if sum(&agreed) <= available {
            return Self { shares: agreed, scaled: false, refused: false };
        }
        let refused =
            stops.into_iter().any(|stop| agreement(tariff, job, stop).under_floor == UnderFloor::Refuse);
        Self { shares: split(&available, &agreed, true), scaled: true, refused }
    }
}

fn agreed(
    tariff: &Tariff,
    job: &Job,
    stop: usize,
    works: &[Work],
    lines: &[EndLine],
    units: usize,
) -> BigInt {
    let code = &agreement(tariff, job, stop).code;
    let discounts = tariff.discounts.iter().filter(|row| row.agreement == *code);
    let exact = discounts.map(|row| {
        let nets = lines.iter().filter(|line| line.category == row.category).map(|line| &line.net);
        whole(sum(nets)) * ratio(row.percent.scaled(), 1_000_000)
    });
    let mut share = half_up(&exact.sum());
    for row in tariff.credits.iter().filter(|row| row.agreement == *code && works.contains(&row.work)) {
        let amount = minor(row.amount, tariff.currency).to_integer();
        let each = tariff_to_job(tariff, job, &amount);
        let of_leg =
            |name: &str| sum(lines.iter().filter(|line| line.id.ends_with(name)).map(|line| &line.net));
        share += match row.work {
            Work::LegIn => half_up(&each).min(of_leg("/courier/leg_in")),
            Work::LegOut => half_up(&each).min(of_leg("/courier/leg_out")),
            _ => half_up(&(each * whole(units))),
        };
    }
    share.max(BigInt::zero())
}
