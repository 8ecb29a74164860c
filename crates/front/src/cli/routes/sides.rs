//! What each route comes to.

use evenfare_engine::Refused;
use evenfare_engine::country::Country;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Job;
use evenfare_engine::money::Currency;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use serde::Serialize;

use crate::cli::mistakes::told;
use crate::cli::outcome::{Failure, under_the_floor};

/// One job by every route.
#[derive(Debug, Serialize)]
pub(super) struct Sides {
    pub(super) reference: Code,
    pub(super) edition: Code,
    pub(super) currency: &'static str,
    /// What to call VAT goes by it.
    #[serde(skip)]
    pub(super) customer_country: Country,
    /// Compared, route by route, that of the alternatives as well.
    pub(super) end_price_is_the_same: bool,
    /// Compared, route by route.
    pub(super) vat_due_is_the_same: bool,
    pub(super) routes: Vec<Side>,
}

/// One route.
#[derive(Debug, Serialize)]
pub(super) struct Side {
    /// The partners, nearest to the workshop first.
    pub(super) route: Vec<Code>,
    /// The job names this one.
    pub(super) is_the_jobs_own: bool,
    /// Priced even where the route is refused; nothing where there is no agreement to price it by.
    pub(super) end_net_minor: Option<i64>,
    /// Why there is no quote by this route.
    pub(super) refused: Option<Reason>,
    #[serde(flatten)]
    pub(super) figures: Option<Figures>,
}

/// Why a route has no quote.
#[derive(Debug, Serialize)]
pub(super) struct Reason {
    pub(super) code: &'static str,
    pub(super) text: String,
}

/// What an open route comes to.
#[derive(Debug, Serialize)]
pub(super) struct Figures {
    pub(super) vat_due_minor: Option<i64>,
    pub(super) partners: Vec<PartnerSide>,
    pub(super) workshop_net_minor: i64,
    pub(super) cost_minor: i64,
    pub(super) contribution_minor: Option<i64>,
    /// The VAT categories of each sale from the workshop outward.
    pub(super) vat_categories: Vec<Vec<&'static str>>,
    pub(super) flags: Vec<Flag>,
    /// The end prices of other ways to do the job.
    pub(super) alternatives: Vec<AlternativeSide>,
}

/// Another way to do the job.
#[derive(Debug, Serialize)]
pub(super) struct AlternativeSide {
    pub(super) offer: Box<str>,
    pub(super) end_net_minor: i64,
    /// The route cannot carry it.
    #[serde(rename = "refused")]
    pub(super) is_refused: bool,
}

/// One partner on a route.
#[derive(Debug, Serialize)]
pub(super) struct PartnerSide {
    pub(super) partner: Code,
    pub(super) buys_at_minor: i64,
    pub(super) share_minor: i64,
}

impl Sides {
    /// Do end price and VAT due depend on nothing about the route?
    pub(super) fn is_even(&self) -> bool {
        self.end_price_is_the_same && self.vat_due_is_the_same
    }

    /// The end prices that were computed.
    pub(super) fn end_prices(&self) -> impl Iterator<Item = i64> {
        self.routes.iter().filter_map(|side| side.end_net_minor)
    }
}

/// Prices the job by every route the edition allows, and by its own as it names it; `failure` says why it has no price
/// at all.
pub(super) fn sides(
    job: &Job,
    edition: &Edition,
    currency: Currency,
    failure: impl Fn(Refused) -> Failure,
) -> Result<Sides, Failure> {
    let own: Vec<Code> = job.route.iter().map(|stop| stop.partner.clone()).collect();
    let mut priced = evenfare_engine::routes(job, edition);
    if !priced.iter().any(|(route, _)| *route == own) {
        // A route that the edition does not allow stands among the others, with the reason.
        priced.push((own.clone(), evenfare_engine::quote(job, edition)));
    }

    let is_open =
        |(_, outcome): &(Vec<Code>, Result<Quote, Refused>)| !matches!(outcome, Err(Refused::Job(_)));
    if !priced.iter().any(is_open) {
        // The direct route stands first, and has the fewest things that can be wrong.
        let first = priced.into_iter().find_map(|(_, outcome)| outcome.err());
        return Err(first.map_or_else(|| Failure::Internal(String::from("no route")), failure));
    }
    let mut routes = Vec::with_capacity(priced.len());
    for (route, outcome) in priced {
        let is_the_jobs_own = route == own;
        let (end_net_minor, figures, refused) = match outcome {
            Ok(quote) => {
                let figures = figures(&quote, job)
                    .ok_or_else(|| Failure::Internal(String::from("a quote without an offer")))?;
                (quote.main().map(|offer| offer.end.net.minor()), Some(figures), None)
            }
            Err(Refused::UnderTheFloor(floor)) => {
                let text = under_the_floor(&floor, currency);
                (Some(floor.end_net.minor()), None, Some(Reason { code: "under_the_floor", text }))
            }
            Err(Refused::Job(problems)) => {
                let text = problems.iter().map(told).collect::<Vec<_>>().join("; ");
                (None, None, Some(Reason { code: "not_open", text }))
            }
            Err(other) => return Err(failure(other)),
        };
        routes.push(Side { route, is_the_jobs_own, end_net_minor, refused, figures });
    }
    let (end_price_is_the_same, vat_due_is_the_same) = compared(&routes);
    Ok(Sides {
        reference: job.reference.clone(),
        edition: edition.code().clone(),
        currency: currency.code(),
        customer_country: job.customer.country,
        end_price_is_the_same,
        vat_due_is_the_same,
        routes,
    })
}

/// Are end prices, and VAT due, the same by all routes that have them?
pub(super) fn compared(routes: &[Side]) -> (bool, bool) {
    fn all_same<T: PartialEq>(amounts: impl Iterator<Item = T>) -> bool {
        let amounts: Vec<T> = amounts.collect();
        amounts.windows(2).all(|pair| pair.first() == pair.last())
    }
    let open = || routes.iter().filter_map(|side| side.figures.as_ref());
    let ends = all_same(routes.iter().filter_map(|side| side.end_net_minor));
    let others = all_same(open().map(|figures| {
        figures.alternatives.iter().map(|side| (&*side.offer, side.end_net_minor)).collect::<Vec<_>>()
    }));
    (ends && others, all_same(open().map(|figures| figures.vat_due_minor)))
}

fn figures(quote: &Quote, job: &Job) -> Option<Figures> {
    let offer = quote.main()?;
    let alternatives = job.alternatives.iter().filter_map(|alternative| {
        let name = alternative.id.as_str();
        let priced = quote.offer(name).map(|offer| (offer.end.net, false));
        let refused =
            || quote.refused.iter().find(|refused| refused.offer == name).map(|floor| (floor.end_net, true));
        let (end, is_refused) = priced.or_else(refused)?;
        Some(AlternativeSide { offer: name.into(), end_net_minor: end.minor(), is_refused })
    });
    let partners = offer.shares.iter().zip(&offer.sales).map(|(share, sale)| PartnerSide {
        partner: share.partner.clone(),
        buys_at_minor: sale.net.minor(),
        share_minor: share.share.minor(),
    });
    let categories =
        |sale: &evenfare_engine::quote::Sale| sale.vat.iter().map(|group| group.category.code()).collect();
    Some(Figures {
        vat_due_minor: offer.end.vat_due.map(|due| due.minor()),
        partners: partners.collect(),
        workshop_net_minor: offer.workshop_net.minor(),
        cost_minor: offer.cost.minor(),
        contribution_minor: offer.workshop_net.over(offer.cost).ok().map(|left| left.minor()),
        vat_categories: offer.sales.iter().map(categories).collect(),
        flags: offer.flags.clone(),
        alternatives: alternatives.collect(),
    })
}
