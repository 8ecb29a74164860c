//! What came of a proposed edition, on its way out.

use std::sync::Arc;

use evenfare_engine::money::{Currency, Overflow};
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::what_if::{Change, Compared, Example, Refusals, Step, Trial};

use super::refusal::Refusal;
use super::trying::NotRead;
use crate::wire::pb;

/// A trial as a message.
pub(super) fn trial(trial: &Trial) -> pb::TariffTrial {
    let currency = trial.currency;
    let of = |(code, compared): (&Arc<str>, &Compared)| part(&[Arc::clone(code)], compared, currency);
    pb::TariffTrial {
        edition: trial.edition.to_string(),
        currency_code: currency.code().to_owned(),
        cheaper: trial.cheaper(),
        same: trial.same(),
        dearer: trial.dearer(),
        refused: trial.refusals(),
        converted: trial.converted,
        all: Some(comparison(&trial.all, currency)),
        partners: trial.by_partner.iter().map(of).collect(),
        families: trial.by_family.iter().map(of).collect(),
        routes: trial.by_route.iter().map(|(route, compared)| part(route, compared, currency)).collect(),
        steps: trial.steps().map(step).collect(),
        largest: trial.largest.iter().map(|change| changed(change, currency)).collect(),
        refusals: trial.refused.iter().map(|(code, refusals)| refused(code, refusals, currency)).collect(),
    }
}

fn money(amount_minor: i64, currency: Currency) -> Option<pb::Money> {
    Some(pb::Money { amount_minor, currency_code: currency.code().to_owned() })
}

fn part(codes: &[Arc<str>], compared: &Compared, currency: Currency) -> pb::TrialPart {
    pb::TrialPart { codes: names(codes), comparison: Some(comparison(compared, currency)) }
}

fn names(codes: &[Arc<str>]) -> Vec<String> {
    codes.iter().map(ToString::to_string).collect()
}

fn comparison(compared: &Compared, currency: Currency) -> pb::TrialComparison {
    let margin = |margin: &Margin| pb::TrialMargin {
        end_net: money(margin.end_net_minor, currency),
        shares: money(margin.shares_minor, currency),
        workshop_net: money(margin.workshop_net_minor, currency),
        cost: money(margin.cost_minor, currency),
        contribution: money(margin.contribution_minor(), currency),
    };
    pb::TrialComparison {
        quotes: compared.then.quotes,
        then: Some(margin(&compared.then)),
        now: Some(margin(&compared.now)),
    }
}

fn step(step: Step) -> pb::TrialStep {
    let percent = |bound: i64| u32::try_from(bound).unwrap_or(0);
    pb::TrialStep {
        cheaper: step.now.is_lt(),
        dearer: step.now.is_gt(),
        more_than_percent: percent(step.more_than_percent),
        at_most_percent: step.at_most_percent.map(percent),
        quotes: step.quotes,
    }
}

fn changed(change: &Change, currency: Currency) -> pb::TrialChange {
    pb::TrialChange {
        number: change.number.to_string(),
        offer: change.offer.to_string(),
        route: names(&change.route),
        then: money(change.then_minor, currency),
        now: money(change.now_minor, currency),
    }
}

fn refused(code: &str, refusals: &Refusals, currency: Currency) -> pb::TrialRefusals {
    let example = |example: &Example| pb::TrialExample {
        number: example.number.to_string(),
        text: example.text.clone(),
    };
    pb::TrialRefusals {
        code: code.to_owned(),
        quotes: refusals.quotes,
        end_net: money(refusals.end_net_minor, currency),
        examples: refusals.examples.iter().map(example).collect(),
    }
}

impl From<NotRead> for Refusal {
    fn from(error: NotRead) -> Self {
        match error {
            NotRead::Store(error) => error.into(),
            NotRead::Edition(error) => Self::Internal(error.to_string()),
            NotRead::Damaged(why) | NotRead::Internal(why) => Self::Internal(why),
        }
    }
}

impl From<Overflow> for Refusal {
    fn from(error: Overflow) -> Self {
        Self::OutOfRange("TOO_LARGE", error.to_string())
    }
}
