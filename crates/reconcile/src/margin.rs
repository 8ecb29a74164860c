//! What quotes come to in one currency, and their parts, which add up.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow, Ties, split};

use crate::agreed::{Agreed, FamilyPart};
use crate::error::Unreconciled;
use crate::rates::Rates;

/// What quotes came to together, in minor units of the books' currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Margin {
    /// How many.
    pub quotes: u64,
    /// Their end prices, net.
    pub end_net_minor: i64,
    /// What partners keep of them; by partner, what that partner keeps.
    pub shares_minor: i64,
    /// What the workshop keeps of them.
    pub workshop_net_minor: i64,
    /// What it spends.
    pub cost_minor: i64,
}

impl Margin {
    /// What the workshop keeps over its cost.
    pub const fn contribution_minor(&self) -> i64 {
        self.workshop_net_minor.saturating_sub(self.cost_minor)
    }

    /// What one offer comes to, each amount as it is converted. Shares are what the others leave, so that all add up.
    fn of<E: From<Overflow>>(deal: &Agreed, converted: impl Fn(i64) -> Result<i64, E>) -> Result<Self, E> {
        let end_net_minor = converted(deal.end_net().minor())?;
        let workshop_net_minor = converted(deal.workshop_net().minor())?;
        Ok(Self {
            quotes: 1,
            end_net_minor,
            shares_minor: end_net_minor.checked_sub(workshop_net_minor).ok_or(Overflow)?,
            workshop_net_minor,
            cost_minor: converted(deal.cost.minor())?,
        })
    }

    /// What one offer comes to in its own currency.
    pub(crate) fn own(deal: &Agreed) -> Result<Self, Overflow> {
        Self::of(deal, Ok)
    }

    pub(crate) fn plus(&mut self, other: Self) -> Result<(), Overflow> {
        self.quotes = self.quotes.saturating_add(other.quotes);
        for (own, other) in [
            (&mut self.end_net_minor, other.end_net_minor),
            (&mut self.shares_minor, other.shares_minor),
            (&mut self.workshop_net_minor, other.workshop_net_minor),
            (&mut self.cost_minor, other.cost_minor),
        ] {
            *own = own.checked_add(other).ok_or(Overflow)?;
        }
        Ok(())
    }
}

/// What an offer comes to, and its parts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Parts {
    pub(crate) whole: Margin,
    /// What each partner keeps, in the order of the route.
    pub(crate) partners: Vec<i64>,
    /// What it comes to by family, in the offer's order.
    pub(crate) families: Vec<Margin>,
}

impl Parts {
    /// In another currency, where it is another. The end price, what the workshop keeps and what it spends
    /// are converted and rounded once each, shares are what is left, and parts are shared out of those by
    /// largest remainder.
    pub(crate) fn new(
        agreed: &Agreed,
        to: Currency,
        rates: &Rates,
        on: NaiveDate,
    ) -> Result<Self, Unreconciled> {
        let mut parts = Self::default();
        parts.take(agreed, to, rates, on)?;
        Ok(parts)
    }

    /// The same, in the room of the offer before it.
    pub(crate) fn take(
        &mut self,
        agreed: &Agreed,
        to: Currency,
        rates: &Rates,
        on: NaiveDate,
    ) -> Result<(), Unreconciled> {
        let whole = Margin::of(agreed, |minor| rates.converted(minor, agreed.currency, to, on))?;
        self.whole = whole;
        self.partners.clear();
        self.partners.extend(agreed.shares.iter().map(|share| share.share.minor()));
        share_out(whole.shares_minor, &mut self.partners)?;
        self.families.clear();
        if let [_] = agreed.families.as_slice() {
            self.families.push(whole);
            return Ok(());
        }
        let by_family = |total, of: fn(&FamilyPart) -> i64| {
            let mut parts: Vec<i64> = agreed.families.iter().map(of).collect();
            share_out(total, &mut parts).map(|()| parts)
        };
        let ends = by_family(whole.end_net_minor, |part| part.end_net.minor())?;
        let workshops = by_family(whole.workshop_net_minor, |part| part.workshop_net.minor())?;
        let costs = by_family(whole.cost_minor, |part| part.cost.minor())?;
        for ((end_net_minor, workshop_net_minor), cost_minor) in ends.into_iter().zip(workshops).zip(costs) {
            let shares_minor = end_net_minor.checked_sub(workshop_net_minor).ok_or(Overflow)?;
            self.families.push(Margin {
                quotes: 1,
                end_net_minor,
                shares_minor,
                workshop_net_minor,
                cost_minor,
            });
        }
        Ok(())
    }
}

/// Shared out by weights, which the parts stand in the place of; evenly where they weigh nothing. Weights that come
/// to the total are the parts.
fn share_out(total: i64, weights: &mut Vec<i64>) -> Result<(), Overflow> {
    let sum = weights.iter().try_fold(0_i64, |sum, weight| sum.checked_add(*weight));
    // Without partners the workshop keeps it all, so nothing is left.
    if sum != Some(total) && !weights.is_empty() {
        let even = || split(total, &vec![1; weights.len()], Ties::First);
        *weights = split(total, weights, Ties::First).or_else(|_| even()).map_err(|_| Overflow)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(total: i64, weights: &[i64], expect: &[i64]) {
        let mut parts = weights.to_vec();
        assert_eq!(share_out(total, &mut parts), Ok(()));
        assert_eq!(parts, expect, "{total} by {weights:?}");
    }

    #[test]
    fn the_largest_remainders_take_what_is_over() {
        check(100, &[70, 30], &[70, 30]);
        check(100, &[2, 2, 2], &[34, 33, 33]);
        check(101, &[1, 1, 4], &[17, 17, 67]);
        check(-7, &[1, 1], &[-4, -3]);
        check(5, &[0, 0], &[3, 2]);
        check(0, &[], &[]);
    }

    #[test]
    fn what_is_kept_over_the_cost_is_the_contribution() {
        let one = Margin { workshop_net_minor: 700, cost_minor: 450, ..Margin::default() };
        assert_eq!(one.contribution_minor(), 250);
    }
}
