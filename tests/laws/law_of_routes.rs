//! The end price, and the VAT due on it, are the same by any route.

use evenfare_engine::job::Job;
use evenfare_engine::money::{Net, Vat};
use evenfare_engine::quote::Quote;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::{Refused, figures, routes};
use num_bigint::BigInt;
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

use crate::big::{half_up, ratio, whole};
use crate::naive::standard_rate;
use crate::run::{Tally, count, fail, law};
use crate::worlds::{World, taking_over};

/// What the end customer sees of each way to do the job.
type Seen = Vec<(String, Net, Vec<(String, Net)>, Option<Vat>)>;

fn seen(quote: &Quote) -> Seen {
    let offer = |offer: &evenfare_engine::quote::Offer| {
        let lines = offer.lines.iter().map(|line| (line.id.to_string(), line.net)).collect();
        (offer.id.to_string(), offer.end.net, lines, offer.end.vat_due)
    };
    quote.offers.iter().map(offer).collect()
}

fn offered<'s>(seen: &'s Seen, offer: &str) -> &'s (String, Net, Vec<(String, Net)>, Option<Vat>) {
    seen.iter().find(|(id, ..)| id == offer).unwrap()
}

fn is_without_agreement(world: &World, job: &Job) -> bool {
    let rows = &world.tariff.agreements;
    let agreed = |partner| rows.iter().any(|row| row.partner == partner && row.span.contains(job.received));
    job.route.iter().any(|stop| !agreed(stop.partner.clone()))
}

/// Is there a sale inside a country whose rate is not known on the tax date?
fn is_without_rate(world: &World, job: &Job) -> bool {
    let from = job.quoted.map_or(job.received, |quoted| quoted.max(job.received));
    let usual = from + chrono::Days::new(world.tariff.terms.turnaround_days.into());
    let on = job.tax_date.or(job.dispatch).unwrap_or(usual);
    let country = |code| world.tariff.partners.iter().find(|row| row.code == code).unwrap().country;
    let partners = job.route.iter().map(|stop| country(stop.partner.clone()));
    let chain: Vec<_> =
        [world.tariff.workshop.country].into_iter().chain(partners).chain([job.customer.country]).collect();
    // Goods that stay in one country are taxed there, by whatever route.
    let ends = [chain[0], chain[chain.len() - 1]];
    chain
        .windows(2)
        .chain([&ends[..]])
        .any(|ends| ends[0] == ends[1] && standard_rate(&world.tariff, ends[0], on).is_none())
}

/// A route that is refused says why, and has the same end price.
fn refused_alike(direct: &Seen, refused: Refused, world: &World, job: &Job) -> TestCaseResult {
    match refused {
        Refused::UnderTheFloor(floor) => {
            prop_assert_eq!(
                offered(direct, &floor.offer).1,
                floor.end_net,
                "refused by {}",
                floor.refused_by
            );
        }
        Refused::Job(problems) => {
            let why = |code| problems.iter().any(|problem| problem.code == code);
            prop_assert!(
                problems.iter().all(|p| ["no_agreement", "no_vat_rate"].contains(&p.code)),
                "refused: {problems:?}"
            );
            prop_assert!(!why("no_agreement") || is_without_agreement(world, job), "there is an agreement");
            prop_assert!(!why("no_vat_rate") || is_without_rate(world, job), "there is a rate");
        }
        // Credits of a world near the bounds.
        Refused::TooLarge => {}
        other => return Err(fail(format!("refused: {other:?}"))),
    }
    Ok(())
}

/// Calls `hold` with the direct quote and the quote of every other route.
fn by_any_route(
    world: &World,
    tally: &Tally,
    hold: impl Fn(&Job, &Seen, &Quote) -> TestCaseResult,
) -> TestCaseResult {
    let direct_job = world.by(&[]);
    let Some(direct) = world.quote_of(&direct_job, tally)? else { return Ok(()) };
    let direct = seen(&direct);
    for (route, priced) in routes(&world.job, &world.edition) {
        let job = world.by(&route);
        match priced {
            Ok(quote) => {
                count(&tally.quotes);
                hold(&job, &direct, &quote)?;
            }
            Err(refused) => refused_alike(&direct, refused, world, &job)?,
        }
    }
    // The same chains again, with works named for some of the partners.
    for (number, route) in world.edition.routes().into_iter().enumerate().skip(1) {
        let stops = taking_over(&mut world.choices(number), &world.tariff, world.job.received, &route);
        let job = Job { route: stops, ..world.job.clone() };
        match world.quoted(&job, tally) {
            Ok(quote) => hold(&job, &direct, &quote)?,
            Err(refused) => refused_alike(&direct, refused, world, &job)?,
        }
        if let Ok(figures) = figures(&job, &world.edition) {
            for figures in figures {
                let (id, net, _, due) = &direct[figures.index];
                prop_assert_eq!((figures.end_net, figures.vat_due), (*net, *due), "figures of {}", id);
            }
        }
    }
    match world.quoted(&world.job, tally) {
        Ok(quote) => hold(&world.job, &direct, &quote),
        Err(refused) => refused_alike(&direct, refused, world, &world.job),
    }
}

#[test]
fn end_price_is_the_same_by_any_route() {
    law("end_price_is_the_same_by_any_route", "by a route of partners", |world, tally| {
        by_any_route(world, tally, |job, direct, quote| {
            if !job.route.is_empty() {
                count(&tally.also);
            }
            for by_route in &seen(quote) {
                let direct = offered(direct, &by_route.0);
                prop_assert_eq!(direct.1, by_route.1, "end price of {}", direct.0);
                prop_assert_eq!(&direct.2, &by_route.2, "lines of {}", direct.0);
            }
            for floor in &quote.refused {
                prop_assert_eq!(offered(direct, &floor.offer).1, floor.end_net, "{} refused", &floor.offer);
            }
            prop_assert_eq!(direct.len(), quote.offers.len() + quote.refused.len());
            // What the last buyer pays is the end price, line by line.
            for offer in &quote.offers {
                let last = offer.sales.last().unwrap();
                prop_assert_eq!(last.net, offer.end.net);
                let nets: Vec<Net> = offer.lines.iter().map(|line| line.net).collect();
                prop_assert_eq!(&last.lines, &nets);
            }
            Ok(())
        })
    });
}

#[test]
fn vat_due_is_the_same_by_any_route() {
    law("vat_due_is_the_same_by_any_route", "charged by the last seller", |world, tally| {
        by_any_route(world, tally, |_, direct, quote| {
            let country = world.job.customer.country;
            let rate = standard_rate(&world.tariff, country, quote.tax_date);
            for offer in &quote.offers {
                let direct = offered(direct, &offer.id);
                prop_assert_eq!(direct.3, offer.end.vat_due, "VAT due of {}", direct.0);
                let exact = rate.map(|rate| whole(offer.end.net.minor()) * ratio(rate, 1_000_000));
                let due = exact.map(|exact| half_up(&exact));
                prop_assert_eq!(offer.end.vat_due.map(|due| BigInt::from(due.minor())), due);
                let last = offer.sales.last().unwrap();
                if let [group] = last.vat.as_slice()
                    && group.category == VatCategory::S
                {
                    prop_assert_eq!(Some(group.tax), offer.end.vat_due);
                    count(&tally.also);
                }
            }
            Ok(())
        })
    });
}
