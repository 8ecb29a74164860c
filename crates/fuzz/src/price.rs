//! What is priced holds its laws.

use evenfare_engine::job::Job;
use evenfare_engine::quote::{Offer, Quote};
use evenfare_engine::tariff::Edition;
use evenfare_engine::{Refused, brief, quote};

/// How many other routes are tried.
const ROUTES: usize = 6;

/// A quote that is the same by every route and can be taken back whole; or a refusal that says why.
pub fn holds(job: &Job, edition: &Edition) -> Option<Quote> {
    match quote(job, edition) {
        Ok(quote) => {
            by_every_route(job, edition, &quote);
            quote.reversed().expect("what is sealed can be taken back");
            let brief = brief(job, edition).expect("what has a working has a price");
            assert!(ends(&brief).eq(ends(&quote)), "without its working it costs something else");
            return Some(quote);
        }
        Err(Refused::Job(problems)) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!problem.expected.is_empty() && !problem.place.as_str().is_empty(), "{problem}");
            }
        }
        Err(Refused::TooLarge | Refused::OutOfCalendar | Refused::UnderTheFloor(_)) => {}
        Err(unsealed @ Refused::Unsealed(_)) => panic!("{unsealed:?}"),
    }
    None
}

fn ends(quote: &Quote) -> impl Iterator<Item = (&str, &evenfare_engine::money::Net)> {
    quote.offers.iter().map(|offer: &Offer| (&*offer.id, &offer.end.net))
}

fn by_every_route(job: &Job, edition: &Edition, quoted: &Quote) {
    for route in edition.routes().into_iter().take(ROUTES) {
        let Ok(other) = quote(&job.by_route(&route), edition) else { continue };
        for (id, end) in ends(&other) {
            // An alternative that this route carries and the job's own does not has nothing beside it.
            let own = ends(quoted).find(|(own, _)| *own == id);
            assert!(
                own.is_none_or(|(_, own)| own == end),
                "{id} costs {end:?} by {route:?}, {own:?} otherwise"
            );
        }
    }
}
