//! What an offer comes to in the currency of a trial, and its parts, which add up.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow, Ties, split};

use crate::agreed::{Agreed, FamilyPart};
use crate::error::Unreconciled;
use crate::overview::Margin;
use crate::rates::Rates;

/// What an offer comes to, and its parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Parts {
    pub(super) whole: Margin,
    /// What each partner keeps, in the order of the route.
    pub(super) partners: Vec<(Arc<str>, i64)>,
    pub(super) families: Vec<(Arc<str>, Margin)>,
}

/// What an offer comes to in its own currency.
pub(super) fn whole(agreed: &Agreed) -> Result<Margin, Overflow> {
    Margin::of(agreed, Ok)
}

impl Parts {
    /// In another currency, where it is another. The end price, what the workshop keeps and what it spends
    /// are converted and rounded once each, shares are what is left, and parts are shared out of those by
    /// largest remainder.
    pub(super) fn new(
        agreed: &Agreed,
        to: Currency,
        rates: &Rates,
        on: NaiveDate,
    ) -> Result<Self, Unreconciled> {
        let whole = Margin::of(agreed, |minor| rates.converted(minor, agreed.currency, to, on))?;
        let shares: Vec<i64> = agreed.shares.iter().map(|share| share.share.minor()).collect();
        let names = agreed.shares.iter().map(|share| Arc::clone(&share.partner));
        let partners = names.zip(shared(whole.shares_minor, &shares)?).collect();
        let by_family = |total, of: fn(&FamilyPart) -> i64| {
            shared(total, &agreed.families.iter().map(of).collect::<Vec<_>>())
        };
        let ends = by_family(whole.end_net_minor, |part| part.end_net.minor())?;
        let workshops = by_family(whole.workshop_net_minor, |part| part.workshop_net.minor())?;
        let costs = by_family(whole.cost_minor, |part| part.cost.minor())?;
        let margins = ends.into_iter().zip(workshops).zip(costs).map(|((end, workshop), cost)| {
            Ok(Margin {
                quotes: 1,
                end_net_minor: end,
                shares_minor: end.checked_sub(workshop).ok_or(Overflow)?,
                workshop_net_minor: workshop,
                cost_minor: cost,
            })
        });
        let names = agreed.families.iter().map(|part| Arc::clone(&part.family));
        let families = names.zip(margins.collect::<Result<Vec<_>, Overflow>>()?).collect();
        Ok(Self { whole, partners, families })
    }
}

/// Shared out by weights, or evenly where they weigh nothing.
fn shared(total: i64, weights: &[i64]) -> Result<Vec<i64>, Overflow> {
    let even = || split(total, &vec![1; weights.len()], Ties::First);
    match weights {
        // Without partners the workshop keeps it all, so nothing is left.
        [] => Ok(Vec::new()),
        _ => split(total, weights, Ties::First).or_else(|_| even()).map_err(|_| Overflow),
    }
}
