//! What came of a proposed edition, on its way out.

use std::sync::Arc;

use evenfare_engine::money::Currency;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::what_if::{Change, Compared, Example, Refusals, Step, Trial};

use super::pb;

/// A trial as a message.
pub(crate) fn trial(trial: &Trial) -> pb::TariffTrial {
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

fn part(codes: &[Arc<str>], compared: &Compared, currency: Currency) -> pb::TrialPart {
    pb::TrialPart { codes: names(codes), comparison: Some(comparison(compared, currency)) }
}

fn names(codes: &[Arc<str>]) -> Vec<String> {
    codes.iter().map(ToString::to_string).collect()
}

fn comparison(compared: &Compared, currency: Currency) -> pb::TrialComparison {
    let margin = |margin: &Margin| pb::TrialMargin {
        end_net: Some(pb::Money::of(margin.end_net_minor, currency)),
        shares: Some(pb::Money::of(margin.shares_minor, currency)),
        workshop_net: Some(pb::Money::of(margin.workshop_net_minor, currency)),
        cost: Some(pb::Money::of(margin.cost_minor, currency)),
        contribution: Some(pb::Money::of(margin.contribution_minor(), currency)),
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
        then: Some(pb::Money::of(change.then_minor, currency)),
        now: Some(pb::Money::of(change.now_minor, currency)),
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
        end_net: Some(pb::Money::of(refusals.end_net_minor, currency)),
        examples: refusals.examples.iter().map(example).collect(),
    }
}
