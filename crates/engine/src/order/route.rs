//! The partners of a route, their agreements, and who takes over which work.

use super::{StopOrder, unknown};
use crate::category::Work;
use crate::job::{Job, Stop};
use crate::problem::{Place, Problem};
use crate::tariff::entries::Agreement;
use crate::tariff::{Edition, LONGEST_ROUTE, Party};

pub(super) fn stops<'a>(
    job: &'a Job,
    edition: &'a Edition,
    problems: &mut Vec<Problem>,
) -> Vec<StopOrder<'a>> {
    let mut stops: Vec<StopOrder<'a>> = Vec::with_capacity(job.route.len());
    if job.route.len() > LONGEST_ROUTE {
        let expected = format!("at most {LONGEST_ROUTE} partners");
        problems.push(Problem::error(Place::field("route"), "too_many", job.route.len(), expected));
        return stops;
    }
    for (index, stop) in job.route.iter().enumerate() {
        let at = || Place::field("route").nth(index);
        let Some(partner) = edition.partners.find(stop.partner.as_str()) else {
            let (at, partners) = (at().at("partner"), &edition.partners);
            unknown(at, "unknown_partner", &stop.partner, partners, "partners.csv", problems);
            work_of(job, index, None, problems);
            continue;
        };
        let before = index.checked_sub(1).and_then(|i| job.route.get(i)).map(|stop| &stop.partner);
        if partner.buys_from.as_ref() != before {
            let expected = match &partner.buys_from {
                Some(above) => format!("{above} before {}, from whom he buys", stop.partner),
                None => format!("{} first, as he buys from the workshop", stop.partner),
            };
            let found = before.map_or("workshop", |code| code.as_str());
            problems.push(Problem::error(at().at("partner"), "not_his_supplier", found, expected));
        }
        let agreement = partner.agreements.iter().find(|agreement| agreement.span.contains(job.received));
        let Some(agreement) = agreement else {
            let expected = format!("an agreement with {} that holds on {}", stop.partner, job.received);
            problems.push(Problem::error(at().at("partner"), "no_agreement", &stop.partner, expected));
            work_of(job, index, None, problems);
            continue;
        };
        work_of(job, index, Some(agreement), problems);
        stops.push(StopOrder { partner, agreement, takes_over: Vec::new(), index });
    }
    share_out_work(job, &mut stops);
    stops
}

/// The work named for a stop: his agreement credits it, where he has one, and nobody before him is named for it.
fn work_of(job: &Job, index: usize, agreement: Option<&Agreement>, problems: &mut Vec<Problem>) {
    let Some(stop) = job.route.get(index) else { return };
    for (nth, work) in stop.takes_over.iter().flatten().enumerate() {
        let at = || Place::field("route").nth(index).at("takes_over").nth(nth);
        if let Some(agreement) = agreement
            && !agreement.credits.iter().any(|(credited, _)| credited == work)
        {
            let expected = format!("work that agreement {} credits", agreement.code);
            problems.push(Problem::error(at(), "work_without_credit", work, expected));
        }
        let elsewhere = job.route.iter().take(index).flat_map(|s| s.takes_over.iter().flatten());
        let here = stop.takes_over.iter().flatten().take(nth);
        if elsewhere.chain(here).any(|other| other == work) {
            problems.push(Problem::error(at(), "taken_over_twice", work, "each work by one partner at most"));
        }
    }
}

/// The partners on the route, with an agreement or without; nothing where one of them is unknown.
pub(super) fn partners<'a>(job: &Job, edition: &'a Edition) -> Option<Vec<&'a Party>> {
    let known = |stop: &Stop| edition.partners.find(stop.partner.as_str()).map(|partner| &partner.party);
    if job.route.len() > LONGEST_ROUTE { None } else { job.route.iter().map(known).collect() }
}

/// Work named on the job goes to the partner named. What nobody was named for goes to the partner
/// nearest the customer whose agreement credits it, if the job names nothing for him.
fn share_out_work(job: &Job, stops: &mut [StopOrder<'_>]) {
    let named: Vec<Work> =
        job.route.iter().flat_map(|stop| stop.takes_over.iter().flatten().copied()).collect();
    let mut given: Vec<Work> = Vec::new();
    for stop in stops.iter_mut().rev() {
        stop.takes_over = match job.route.get(stop.index).and_then(|s| s.takes_over.as_ref()) {
            Some(named) => named.clone(),
            None => stop
                .agreement
                .credits
                .iter()
                .map(|&(work, _)| work)
                .filter(|work| !named.contains(work) && !given.contains(work))
                .collect(),
        };
        stop.takes_over.sort();
        given.extend(&stop.takes_over);
    }
}
