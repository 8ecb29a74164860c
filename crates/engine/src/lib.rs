#![doc = include_str!("../README.md")]

// Reading order: each module uses only those above it.
pub mod text;
pub mod nearest;
pub mod category;
pub mod language;
pub mod country;
pub mod money;
pub mod period;
pub mod problem;
pub mod vat;
pub mod tariff;
pub mod job;
mod life;
pub mod role;
pub mod trail;
pub mod weight;
pub mod supply;
mod convert;
mod order;
mod line;
mod plan;
pub mod why;
pub mod shown;
mod asked;
mod courier;
mod cost;
mod price;
pub mod flag;
mod share;
mod spent;
mod route;
pub mod terms;
mod offer;
pub mod quote;
pub mod national;
mod refused;
mod assemble;
pub mod view;

/// The computation, stage by stage, for somebody who wants to compute it again.
#[doc = include_str!("../COMPUTATION.md")]
pub mod computation {}

use job::Job;
use order::Order;
use problem::Problem;
use quote::{Draft, Quote, Standing};
use route::RouteError;
use tariff::Edition;
use text::Code;
use trail::{Step, Trail, Unkept};

/// Their types stand in what this crate takes and gives: days, decimals as a database has them, and short texts.
pub use {chrono, compact_str, rust_decimal};

pub use offer::{Figures, SaleFigures};
pub use order::MAIN;
pub use refused::Refused;
pub use route::UnderTheFloor;

/// Prices a job by an edition: a sealed quote with the working of every figure.
///
/// # Errors
/// [`Refused`] says what is wrong with the job, all of it at once, or that the route's shares
/// would push the workshop under its floor.
///
/// # Examples
/// See the crate's front page.
pub fn quote(job: &Job, edition: &Edition) -> Result<Quote, Refused> {
    sealed::<Vec<Step>>(job, edition, true)
}

/// The same quote without its working: every price, line and text, sealed alike.
///
/// For callers who need prices and not their reasons: most of the time of [`quote()`] goes into the
/// text of the working. Obeys `a_brief_quote_is_the_quote`.
///
/// # Errors
/// As [`quote()`].
pub fn planned(job: &Job, edition: &Edition) -> Result<Quote, Refused> {
    sealed::<Unkept>(job, edition, true)
}

/// The same quote without its working, and without findings and work plans of units: every price, line
/// and term, sealed alike.
///
/// For callers who need prices and nothing else. Obeys `a_brief_quote_is_the_quote`.
///
/// # Errors
/// As [`quote()`].
pub fn brief(job: &Job, edition: &Edition) -> Result<Quote, Refused> {
    sealed::<Unkept>(job, edition, false)
}

/// Prices the job and each alternative, keeping as much of the working as the trail does.
fn sealed<T: Trail>(job: &Job, edition: &Edition, with_plan: bool) -> Result<Quote, Refused> {
    let order = Order::new(job, edition)?;
    let mut offers = Vec::with_capacity(order.offers.len());
    let mut refused = Vec::new();
    for offer in &order.offers {
        let mut trail = T::begun();
        match offer::priced(&order, offer, &mut trail) {
            Ok(priced) => offers.push(assemble::offer(&order, priced, with_plan, trail)?),
            // An alternative that the route cannot carry is no reason to refuse the job itself.
            Err(RouteError::Refused(under)) if offer.id != MAIN => refused.push(under),
            Err(error) => return Err(error.into()),
        }
    }
    Ok(assemble::draft(&order, offers, refused)?.seal()?)
}

/// Every mistake in a job, each with its place; empty where the job can be priced.
///
/// The workshop's floor is not looked at: only pricing shows whether a route is refused.
#[must_use]
pub fn check(job: &Job, edition: &Edition) -> Vec<Problem> {
    Order::new(job, edition).err().unwrap_or_default()
}

/// The amounts alone, without texts and working: of the job itself, then of each alternative that the
/// route can carry.
///
/// The same computation as [`quote()`], many times as fast.
///
/// # Errors
/// As [`quote()`].
///
/// # Examples
/// ```
/// use evenfare_engine::{Refused, figures, job::Job, tariff::Edition};
///
/// /// What the end customer pays for the job itself, before VAT, in minor units.
/// fn end_net_minor(job: &Job, edition: &Edition) -> Result<Option<i64>, Refused> {
///     Ok(figures(job, edition)?.first().map(|main| main.end_net.minor()))
/// }
/// ```
pub fn figures(job: &Job, edition: &Edition) -> Result<Vec<Figures>, Refused> {
    let order = Order::new(job, edition)?;
    let mut figures = Vec::with_capacity(order.offers.len());
    for (index, offer) in order.offers.iter().enumerate() {
        match offer::priced(&order, offer, &mut Unkept) {
            Ok(priced) => figures.push(priced.figures(index)),
            Err(RouteError::Refused(_)) if offer.id != MAIN => {}
            Err(error) => return Err(error.into()),
        }
    }
    Ok(figures)
}

/// A correction: prices the job again and numbers the quote after the one it replaces.
///
/// # Errors
/// As [`quote()`].
pub fn revised(before: &Quote, job: &Job, edition: &Edition) -> Result<Quote, Refused> {
    let quote = quote(job, edition)?;
    let (Standing::Revision(number) | Standing::Reversal(number)) = before.standing;
    let draft = Draft { standing: Standing::Revision(number.saturating_add(1)), ..Draft::clone(&quote) };
    Ok(draft.seal()?)
}

/// The same job by every route the edition allows, the direct one first.
///
/// On the job's own route the partners take over what the job says; on any other, what their
/// agreements credit. A route that is refused stands among them with its reason; the end price is the
/// same in all.
///
/// # Examples
/// ```
/// use evenfare_engine::{job::Job, routes, tariff::Edition, text::Code};
///
/// /// What is left to the workshop by each route that no agreement refuses, in minor units.
/// fn left_by_route(job: &Job, edition: &Edition) -> Vec<(Vec<Code>, i64)> {
///     let priced = routes(job, edition).into_iter();
///     priced.filter_map(|(route, quote)| Some((route, quote.ok()?.main()?.workshop_net.minor()))).collect()
/// }
/// ```
pub fn routes(job: &Job, edition: &Edition) -> Vec<(Vec<Code>, Result<Quote, Refused>)> {
    let by = |route: Vec<Code>| {
        let priced = quote(&job.by_route(&route), edition);
        (route, priced)
    };
    edition.routes().into_iter().map(by).collect()
}
