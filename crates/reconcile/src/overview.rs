//! The overview: what was earned, by partner, family, route and month.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::agreed::Agreed;
use crate::error::Unreconciled;
pub use crate::margin::Margin;
use crate::margin::Parts;
use crate::month::Month;
use crate::rates::Rates;
use crate::terms::Terms;

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
    let mut parts = Parts::default();
    for deal in deals.iter().filter(counts) {
        parts.take(deal, terms.currency, rates, deal.invoice_by)?;
        let margin = parts.whole;
        overview.all.plus(margin)?;
        overview.by_month.entry(Month::of(deal.invoice_by)).or_default().plus(margin)?;
        route.clear();
        for (share, &shares_minor) in deal.shares.iter().zip(&parts.partners) {
            route.push(Arc::clone(&share.partner));
            entry(&mut overview.by_partner, &share.partner).plus(Margin { shares_minor, ..margin })?;
        }
        match overview.by_route.get_mut(&route) {
            Some(known) => known.plus(margin)?,
            None => overview.by_route.entry(route.clone()).or_default().plus(margin)?,
        }
        for (part, of_family) in deal.families.iter().zip(&parts.families) {
            entry(&mut overview.by_family, &part.family).plus(*of_family)?;
        }
    }
    Ok(overview)
}

fn entry<'m>(margins: &'m mut BTreeMap<Arc<str>, Margin>, name: &Arc<str>) -> &'m mut Margin {
    margins.entry(Arc::clone(name)).or_default()
}
