//! What the parties of a route keep, and that none of them sells below what he pays.

use evenfare_engine::flag::Flag;
use evenfare_engine::job::Job;
use evenfare_engine::money::{Net, Share};
use evenfare_engine::quote::Offer;
use evenfare_engine::{Refused, quote};
use num_bigint::BigInt;
use proptest::prelude::*;
use proptest::test_runner::{TestCaseError, TestCaseResult};

use crate::big::{half_up, sum};
use crate::naive::{
    CostLine, EndLine, Keeps, carried_by_partners, costs, lines_of, minimum_contribution, tariff_to_job, ways,
};
use crate::run::{Tally, count, fail, law};
use crate::worlds::World;

/// One way to do the job, as it should be priced.
struct Priced<'w> {
    id: &'w str,
    costs: Vec<CostLine>,
    lines: Vec<EndLine>,
}

/// The same by one route, as it is and as it should be.
struct Side<'q> {
    offer: &'q Offer,
    job: &'q Job,
    priced: &'q Priced<'q>,
    keeps: Keeps,
}

/// Every route of the world, the job's own with its works first; a refusal is held against the
/// agreements.
fn each_route(
    world: &World,
    tally: &Tally,
    hold: impl Fn(&Side<'_>) -> TestCaseResult,
) -> Result<(), TestCaseError> {
    if world.quote_of(&world.by(&[]), tally)?.is_none() {
        return Ok(());
    }
    // Cost and end price know no route, so they are computed once.
    let ways: Vec<Priced<'_>> = ways(&world.job)
        .into_iter()
        .map(|way| {
            let costs = costs(&world.tariff, &world.job, &way);
            let lines = lines_of(&world.tariff, &world.job, &way, &costs);
            Priced { id: way.id, costs, lines }
        })
        .collect();
    let jobs = world.edition.routes().into_iter().map(|route| world.by(&route));
    // Where nobody takes over anything, partners of the same terms have the same share.
    let idle = |mut job: Job| {
        job.route.iter_mut().for_each(|stop| stop.takes_over = Some(Vec::new()));
        (job.route.len() > 1).then_some(job)
    };
    let jobs = jobs.flat_map(|job| [Some(job.clone()), idle(job)]).flatten();
    for job in std::iter::once(world.job.clone()).chain(jobs) {
        let side = |offer: &str| {
            let priced = ways.iter().find(|way| way.id == offer).unwrap();
            (priced, Keeps::new(&world.tariff, &job, &priced.costs, &priced.lines))
        };
        match quote(&job, &world.edition) {
            Ok(quote) => {
                count(&tally.quotes);
                for offer in &quote.offers {
                    let (priced, keeps) = side(&offer.id);
                    prop_assert!(!keeps.refused, "{} should be refused", offer.id);
                    hold(&Side { offer, job: &job, priced, keeps })?;
                }
                // An alternative that the route cannot carry is refused by itself.
                for floor in &quote.refused {
                    prop_assert!(side(&floor.offer).1.refused, "{} should not be refused", floor.offer);
                    prop_assert!(floor.shares.minor() > floor.available.minor());
                }
                prop_assert_eq!(quote.offers.len() + quote.refused.len(), ways.len());
            }
            Err(Refused::UnderTheFloor(floor)) => {
                prop_assert_eq!(&floor.offer, "main");
                prop_assert!(side(&floor.offer).1.refused, "{} should not be refused", floor.offer);
                prop_assert!(floor.shares.minor() > floor.available.minor());
            }
            // No agreement, or credits past the bounds: held by the law of the end price.
            Err(Refused::Job(_) | Refused::TooLarge) => {}
            Err(refused) => return Err(fail(format!("{refused:?}"))),
        }
    }
    Ok(())
}

#[test]
fn shares_and_workshop_net_add_up_to_end_price() {
    law("shares_and_workshop_net_add_up_to_end_price", "offers with a share", |world, tally| {
        each_route(world, tally, |side| {
            let offer = side.offer;
            let shares: i64 = offer.shares.iter().map(|share| share.share.minor()).sum();
            prop_assert_eq!(shares + offer.workshop_net.minor(), offer.end.net.minor());
            prop_assert_eq!(
                offer.end.net.minor(),
                offer.lines.iter().map(|line| line.net.minor()).sum::<i64>()
            );
            let partners: Vec<_> = offer.shares.iter().map(|share| &share.partner).collect();
            prop_assert_eq!(partners, side.job.route.iter().map(|stop| &stop.partner).collect::<Vec<_>>());
            // The shares are those agreed, or what the floor leaves of them.
            let found: Vec<BigInt> = offer.shares.iter().map(|share| share.share.minor().into()).collect();
            prop_assert_eq!(&found, &side.keeps.shares, "shares of {}", &offer.id);
            prop_assert_eq!(offer.flags.contains(&Flag::SharesScaled), side.keeps.scaled);
            if shares > 0 {
                count(&tally.also);
            }
            Ok(())
        })
    });
}

#[test]
fn no_party_sells_below_what_it_pays() {
    law("no_party_sells_below_what_it_pays", "offers with scaled shares", |world, tally| {
        each_route(world, tally, |side| {
            let offer = side.offer;
            prop_assert!(offer.workshop_net >= Net::ZERO);
            let mut pays = offer.workshop_net;
            for (index, sale) in offer.sales.iter().enumerate() {
                prop_assert!(sale.net >= pays, "{} sells below what it pays", sale.seller);
                let share = index.checked_sub(1).map_or(Share::ZERO, |before| offer.shares[before].share);
                prop_assert!(share >= Share::ZERO);
                prop_assert_eq!(sale.net.minor() - pays.minor(), share.minor());
                pays = sale.net;
            }
            prop_assert_eq!(pays, offer.end.net);
            kept_over_the_floor(world, side)?;
            if offer.flags.contains(&Flag::SharesScaled) {
                count(&tally.also);
            }
            Ok(())
        })
    });
}

/// No share is paid out of the workshop's floor.
fn kept_over_the_floor(world: &World, side: &Side<'_>) -> TestCaseResult {
    let (tariff, job, offer) = (&world.tariff, side.job, side.offer);
    let elsewhere = carried_by_partners(tariff, job, &side.priced.costs);
    let here = || {
        side.priced.costs.iter().zip(&elsewhere).filter(|(_, elsewhere)| !**elsewhere).map(|(line, _)| line)
    };
    let amount = |cost: &BigInt| half_up(&tariff_to_job(tariff, job, cost));
    let spent: BigInt = here().map(|line| amount(&line.cost)).sum();
    prop_assert_eq!(BigInt::from(offer.cost.minor()), spent, "cost of {}", &offer.id);
    let carried: BigInt = here().map(|line| amount(&line.carried)).sum();
    let minimum = minimum_contribution(tariff, job, &sum(side.priced.lines.iter().map(|line| &line.net)));
    let paid: i64 = offer.shares.iter().map(|share| share.share.minor()).sum();
    let left = BigInt::from(offer.workshop_net.minor()) - carried;
    prop_assert!(paid == 0 || left >= minimum, "{left} left of {minimum}, {paid} paid out");
    // Scaled no further down than the floor asks.
    let scaled = offer.flags.contains(&Flag::SharesScaled);
    prop_assert!(!scaled || left <= minimum, "{left} left of {minimum}, shares scaled to {paid}");
    Ok(())
}
