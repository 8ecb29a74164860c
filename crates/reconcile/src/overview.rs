//! The overview: what was earned, by partner, family, route and month.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::Overflow;

use crate::agreed::Agreed;
use crate::chart::Role;
use crate::error::Unreconciled;
use crate::journal::Journal;
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
    /// What was invoiced, net, by the month it is posted in: the revenue of the journal. It is what the workshop keeps
    /// where all was invoiced as agreed and in its month. An invoice is of a sale, or of none: not of families.
    pub invoiced: BTreeMap<Month, i64>,
}

impl Overview {
    /// What was invoiced in all months together, net.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn invoiced_minor(&self) -> Result<i64, Overflow> {
        self.invoiced.values().try_fold(0_i64, |sum, minor| sum.checked_add(*minor)).ok_or(Overflow)
    }

    /// The months in which anything was agreed or invoiced, with what was agreed and invoiced.
    pub fn months(&self) -> impl Iterator<Item = (Month, Margin, i64)> {
        let months: BTreeSet<Month> = self.by_month.keys().chain(self.invoiced.keys()).copied().collect();
        months.into_iter().map(|month| {
            let agreed = self.by_month.get(&month).copied().unwrap_or_default();
            (month, agreed, self.invoiced.get(&month).copied().unwrap_or_default())
        })
    }
}

/// Revenue by the month it is posted in, up to a day: what closed months lack is posted after the last of them.
pub(crate) fn invoiced(journal: &Journal, until: NaiveDate) -> Result<BTreeMap<Month, i64>, Overflow> {
    let mut invoiced = BTreeMap::new();
    for (one, postings) in journal.transactions().take_while(|(one, _)| one.posted <= until) {
        for posting in postings.iter().filter(|posting| posting.role == Role::Revenue) {
            let sum: &mut i64 = invoiced.entry(Month::of(one.posted)).or_default();
            *sum = sum.checked_sub(posting.base_minor).ok_or(Overflow)?;
        }
    }
    Ok(invoiced)
}

/// What was agreed; what was invoiced is not known yet.
pub(crate) fn overview(deals: &[&Agreed], rates: &Rates, terms: &Terms) -> Result<Overview, Unreconciled> {
    let mut overview = Overview::default();
    let counts = |deal: &&&Agreed| deal.reversed.is_none() && deal.invoice_by <= terms.until;
    // Put into order at the end: of a million quotes each would be compared with name after name.
    let mut by_partner: HashMap<&Arc<str>, Margin> = HashMap::new();
    let mut by_family: HashMap<&Arc<str>, Margin> = HashMap::new();
    let mut by_route: HashMap<Vec<&Arc<str>>, Margin> = HashMap::new();
    let mut route: Vec<&Arc<str>> = Vec::new();
    let mut parts = Parts::default();
    for deal in deals.iter().filter(counts) {
        parts.take(deal, terms.currency, rates, deal.invoice_by)?;
        let margin = parts.whole;
        overview.all.plus(margin)?;
        overview.by_month.entry(Month::of(deal.invoice_by)).or_default().plus(margin)?;
        route.clear();
        for (share, &shares_minor) in deal.shares.iter().zip(&parts.partners) {
            route.push(&share.partner);
            by_partner.entry(&share.partner).or_default().plus(Margin { shares_minor, ..margin })?;
        }
        match by_route.get_mut(route.as_slice()) {
            Some(known) => known.plus(margin)?,
            None => by_route.entry(route.clone()).or_default().plus(margin)?,
        }
        for (part, of_family) in deal.families.iter().zip(&parts.families) {
            by_family.entry(&part.family).or_default().plus(*of_family)?;
        }
    }
    let shared = |route: Vec<&Arc<str>>| route.into_iter().cloned().collect::<Vec<_>>();
    overview.by_route = by_route.into_iter().map(|(route, margin)| (shared(route), margin)).collect();
    overview.by_partner = in_order(by_partner);
    overview.by_family = in_order(by_family);
    Ok(overview)
}

fn in_order(margins: HashMap<&Arc<str>, Margin>) -> BTreeMap<Arc<str>, Margin> {
    margins.into_iter().map(|(name, margin)| (Arc::clone(name), margin)).collect()
}
