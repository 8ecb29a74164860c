//! A trial, for programs.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::what_if::{self, Compared, Trial};
use serde::Serialize;

use crate::trial::Period;

/// All amounts are minor units of one currency.
#[derive(Serialize)]
pub(super) struct Told<'t> {
    edition: &'t str,
    currency: &'static str,
    from: NaiveDate,
    until: NaiveDate,
    accepted_only: bool,
    tried: u64,
    cheaper: u64,
    same: u64,
    dearer: u64,
    refused: u64,
    /// In other currencies, of those that can be compared.
    converted: u64,
    all: Sides,
    partners: Vec<Part<'t>>,
    families: Vec<Part<'t>>,
    routes: Vec<Route<'t>>,
    steps: Vec<Step>,
    largest: Vec<Change<'t>>,
    refusals: Vec<Refusals<'t>>,
}

#[derive(Serialize)]
struct Sides {
    quotes: u64,
    then: Figures,
    now: Figures,
}

#[derive(Serialize)]
struct Figures {
    end_net_minor: i64,
    shares_minor: i64,
    workshop_net_minor: i64,
    cost_minor: i64,
    contribution_minor: i64,
}

#[derive(Serialize)]
struct Part<'t> {
    code: &'t str,
    #[serde(flatten)]
    sides: Sides,
}

#[derive(Serialize)]
struct Route<'t> {
    route: Vec<&'t str>,
    #[serde(flatten)]
    sides: Sides,
}

/// `-1` falls, `0` stays, `1` rises.
#[derive(Serialize)]
struct Step {
    direction: i8,
    more_than_percent: i64,
    at_most_percent: Option<i64>,
    quotes: u64,
}

#[derive(Serialize)]
struct Change<'t> {
    number: &'t str,
    offer: &'t str,
    route: Vec<&'t str>,
    then_minor: i64,
    now_minor: i64,
}

#[derive(Serialize)]
struct Refusals<'t> {
    code: &'static str,
    quotes: u64,
    end_net_minor: i64,
    examples: Vec<Example<'t>>,
}

#[derive(Serialize)]
struct Example<'t> {
    number: &'t str,
    text: &'t str,
}

impl<'t> Told<'t> {
    pub(super) fn new(trial: &'t Trial, period: &Period) -> Self {
        let part = |(code, compared): (&'t Arc<str>, &Compared)| Part { code, sides: compared.into() };
        Self {
            edition: trial.edition.as_str(),
            currency: trial.currency.code(),
            from: period.from,
            until: period.until,
            accepted_only: period.accepted_only,
            tried: trial.tried(),
            cheaper: trial.cheaper(),
            same: trial.same(),
            dearer: trial.dearer(),
            refused: trial.refusals(),
            converted: trial.converted,
            all: (&trial.all).into(),
            partners: trial.by_partner.iter().map(part).collect(),
            families: trial.by_family.iter().map(part).collect(),
            routes: trial
                .by_route
                .iter()
                .map(|(route, compared)| Route { route: names(route), sides: compared.into() })
                .collect(),
            steps: trial.steps().map(Into::into).collect(),
            largest: trial
                .largest
                .iter()
                .map(|change| Change {
                    number: &change.number,
                    offer: &change.offer,
                    route: names(&change.route),
                    then_minor: change.then_minor,
                    now_minor: change.now_minor,
                })
                .collect(),
            refusals: trial
                .refused
                .iter()
                .map(|(code, refusals)| Refusals {
                    code,
                    quotes: refusals.quotes,
                    end_net_minor: refusals.end_net_minor,
                    examples: refusals
                        .examples
                        .iter()
                        .map(|example| Example { number: &example.number, text: &example.text })
                        .collect(),
                })
                .collect(),
        }
    }
}

impl From<&Compared> for Sides {
    fn from(compared: &Compared) -> Self {
        let figures = |margin: &Margin| Figures {
            end_net_minor: margin.end_net_minor,
            shares_minor: margin.shares_minor,
            workshop_net_minor: margin.workshop_net_minor,
            cost_minor: margin.cost_minor,
            contribution_minor: margin.contribution_minor(),
        };
        Self { quotes: compared.then.quotes, then: figures(&compared.then), now: figures(&compared.now) }
    }
}

fn names(route: &[Arc<str>]) -> Vec<&str> {
    route.iter().map(|code| &**code).collect()
}

impl From<what_if::Step> for Step {
    fn from(step: what_if::Step) -> Self {
        Self {
            direction: step.now as i8,
            more_than_percent: step.more_than_percent,
            at_most_percent: step.at_most_percent,
            quotes: step.quotes,
        }
    }
}
