//! The overview: what was earned, by partner, family, route and month.

use std::collections::BTreeMap;
use std::sync::Arc;

use evenfare_engine::money::Overflow;

use crate::agreed::Agreed;
use crate::error::Unreconciled;
use crate::month::Month;
use crate::rates::Rates;
use crate::terms::Terms;

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
    pub(crate) fn of<E: From<Overflow>>(
        deal: &Agreed,
        converted: impl Fn(i64) -> Result<i64, E>,
    ) -> Result<Self, E> {
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

    pub(crate) fn plus(&mut self, other: Self) -> Result<(), Overflow> {
        self.quotes = self.quotes.saturating_add(other.quotes);
        self.with_amounts(other, i64::checked_add)
    }

    /// Less the amounts of another; how many quotes there are stays.
    fn less(&mut self, other: Self) -> Result<(), Overflow> {
        self.with_amounts(other, i64::checked_sub)
    }

    fn with_amounts(&mut self, other: Self, step: fn(i64, i64) -> Option<i64>) -> Result<(), Overflow> {
        for (own, other) in [
            (&mut self.end_net_minor, other.end_net_minor),
            (&mut self.shares_minor, other.shares_minor),
            (&mut self.workshop_net_minor, other.workshop_net_minor),
            (&mut self.cost_minor, other.cost_minor),
        ] {
            *own = step(*own, other).ok_or(Overflow)?;
        }
        Ok(())
    }
}

/// Margins for charts and tables. Quotes count in the month by whose end their sales are to be invoiced, whether
/// they were or not; those that were taken back do not count.
///
/// Amounts by family, route and month add up to those of all, and so do shares by partner
/// (`margins_add_up`).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Overview {
    /// All together.
    pub all: Margin,
    /// By partner on the route. A quote of two partners counts for both.
    pub by_partner: BTreeMap<Arc<str>, Margin>,
    /// By family. A quote of two families counts for both with its part.
    pub by_family: BTreeMap<Arc<str>, Margin>,
    /// By route: partners' codes, nearest to the workshop first; none is direct.
    pub by_route: BTreeMap<Vec<Arc<str>>, Margin>,
    /// By month.
    pub by_month: BTreeMap<Month, Margin>,
}

pub(crate) fn overview(deals: &[&Agreed], rates: &Rates, terms: &Terms) -> Result<Overview, Unreconciled> {
    let mut overview = Overview::default();
    let counts = |deal: &&&Agreed| deal.reversed.is_none() && deal.invoice_by <= terms.until;
    let mut route: Vec<Arc<str>> = Vec::new();
    for deal in deals.iter().filter(counts) {
        let own = |minor| rates.converted(minor, deal.currency, terms.currency, deal.invoice_by);
        let margin = Margin::of(deal, own)?;
        overview.all.plus(margin)?;
        overview.by_month.entry(Month::of(deal.invoice_by)).or_default().plus(margin)?;
        route.clear();
        // What is converted part by part is rounded part by part: the last takes what the others leave.
        let mut left = margin;
        for (share, is_last) in with_last(&deal.shares) {
            route.push(Arc::clone(&share.partner));
            let kept = if is_last { left.shares_minor } else { own(share.share.minor())? };
            left.shares_minor = left.shares_minor.checked_sub(kept).ok_or(Overflow)?;
            let of_partner = Margin { shares_minor: kept, ..margin };
            entry(&mut overview.by_partner, &share.partner).plus(of_partner)?;
        }
        match overview.by_route.get_mut(&route) {
            Some(known) => known.plus(margin)?,
            None => overview.by_route.entry(route.clone()).or_default().plus(margin)?,
        }
        let mut left = margin;
        for (part, is_last) in with_last(&deal.families) {
            let (end, workshop) = (own(part.end_net.minor())?, own(part.workshop_net.minor())?);
            let of_part = Margin {
                quotes: 1,
                end_net_minor: end,
                shares_minor: end.checked_sub(workshop).ok_or(Overflow)?,
                workshop_net_minor: workshop,
                cost_minor: own(part.cost.minor())?,
            };
            let of_family = if is_last { left } else { of_part };
            left.less(of_family)?;
            entry(&mut overview.by_family, &part.family).plus(of_family)?;
        }
    }
    Ok(overview)
}

/// Each of them, and whether it is the last.
fn with_last<T>(all: &[T]) -> impl Iterator<Item = (&T, bool)> {
    all.iter().enumerate().map(|(place, one)| (one, place.saturating_add(1) == all.len()))
}

fn entry<'m>(margins: &'m mut BTreeMap<Arc<str>, Margin>, name: &Arc<str>) -> &'m mut Margin {
    margins.entry(Arc::clone(name)).or_default()
}
