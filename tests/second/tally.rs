//! How many cases reach what: a generator that only makes plain worlds proves little.

use std::collections::BTreeMap;

use crate::engine::tables::Job;
use crate::engine::{Offer, Quote, Refused};

/// Counts of cases by what they reach.
#[derive(Default)]
pub struct Tally {
    pub cases: u32,
    reached: BTreeMap<String, u32>,
}

/// Everything that some case has to reach.
const WANTED: [&str; 47] = [
    "priced",
    "mistakes",
    "mistake: far_away",
    "mistake: unknown_class",
    "under the floor",
    "an alternative under the floor",
    "too large",
    "alternatives",
    "several units",
    "route of 1",
    "route of 2",
    "route of 3",
    "route of 4",
    "work named on the route",
    "other currency",
    "0 decimals",
    "3 decimals",
    "flat/",
    "/part/",
    "/labour/",
    "/test/",
    "/exchange",
    "/inspection",
    "surcharge/",
    "minimum",
    "ending up",
    "ending down",
    "unit without a parcel",
    "leg carried by a partner",
    "share of nothing",
    "VAT of S",
    "VAT of AE",
    "VAT of K",
    "VAT of G",
    "VAT of O",
    "two VAT groups",
    "free return",
    "return charged in part",
    "uneconomic",
    "under_floor",
    "shares_scaled",
    "wear_unknown",
    "under_warranty",
    "vat_not_known",
    "goods_in_chain",
    "several_invoices",
    "price of nothing",
];

impl Tally {
    pub fn add(&mut self, job: &Job, quote: &Result<Quote, Refused>) {
        self.cases += 1;
        let mut reached: Vec<String> = Vec::new();
        match quote {
            Err(Refused::Mistakes(mistakes)) => {
                reached.push("mistakes".into());
                reached.extend(mistakes.iter().map(|kind| format!("mistake: {kind}")));
            }
            Err(Refused::TooLarge) => reached.push("too large".into()),
            Err(Refused::UnderTheFloor(_)) => reached.push("under the floor".into()),
            Ok(quote) => {
                let mut when = |holds: bool, what: &str| holds.then(|| reached.push(what.into()));
                when(true, "priced");
                when(!quote.refused.is_empty(), "an alternative under the floor");
                when(quote.offers.len() > 1, "alternatives");
                when(job.units.len() > 1, "several units");
                when(!job.route.is_empty(), &format!("route of {}", job.route.len()));
                when(job.route.iter().any(|stop| stop.takes_over.is_some()), "work named on the route");
                when(job.currency.is_some(), "other currency");
                when(job.currency.as_deref() == Some("JPY"), "0 decimals");
                when(job.currency.as_deref() == Some("KWD"), "3 decimals");
                when(job.units.iter().any(|unit| unit.parcels.is_empty()), "unit without a parcel");
                quote.offers.iter().for_each(|offer| self::offer(offer, &mut reached));
            }
        }
        reached.sort_unstable();
        reached.dedup();
        for what in reached {
            *self.reached.entry(what).or_default() += 1;
        }
    }

    pub fn merge(&mut self, other: Self) {
        self.cases += other.cases;
        for (what, count) in other.reached {
            *self.reached.entry(what).or_default() += count;
        }
    }

    /// What no case has reached.
    pub fn missing(&self) -> Vec<&'static str> {
        WANTED.into_iter().filter(|what| !self.reached.contains_key(*what)).collect()
    }
}

fn offer(offer: &Offer, reached: &mut Vec<String>) {
    for kind in ["flat/", "/part/", "/labour/", "/test/", "/exchange", "/inspection", "surcharge/", "minimum"]
    {
        if offer.lines.iter().any(|line| line.0.contains(kind)) {
            reached.push(kind.into());
        }
    }
    let nothing = 0.into();
    let mut when = |holds: bool, what: &str| holds.then(|| reached.push(what.into()));
    let ending = offer.lines.last().filter(|line| line.0 == "ending").map(|line| &line.1);
    when(ending.is_some_and(|net| *net > nothing), "ending up");
    when(ending.is_some_and(|net| *net < nothing), "ending down");
    when(offer.costs.iter().any(|cost| cost.2), "leg carried by a partner");
    when(offer.shares.contains(&nothing), "share of nothing");
    when(offer.end_net == nothing, "price of nothing");
    for sale in &offer.sales {
        when(sale.groups.len() > 1, "two VAT groups");
        for (category, _) in sale.groups.keys() {
            when(true, &format!("VAT of {category}"));
        }
    }
    let covered = offer.covers.iter().any(Option::is_some);
    let charged = offer.lines.iter().any(|line| line.1 != nothing);
    when(covered && !charged, "free return");
    when(covered && charged, "return charged in part");
    reached.extend(offer.flags.iter().map(ToString::to_string));
}

impl std::fmt::Display for Tally {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (what, count) in &self.reached {
            let per_mille = u64::from(*count) * 1000 / u64::from(self.cases.max(1));
            writeln!(f, "{:>4}.{} %  {what}", per_mille / 10, per_mille % 10)?;
        }
        Ok(())
    }
}
