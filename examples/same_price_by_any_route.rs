//! The promise, job by job: the end customer pays the same by any route.
//!
//!     cargo run --example same_price_by_any_route

use std::collections::BTreeSet;
use std::error::Error;
use std::path::Path;

use evenfare_engine::{Refused, routes};

fn main() -> Result<(), Box<dyn Error>> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = evenfare_files::read_tariff(&bakery.join("tariff"))?;
    let mut jobs: Vec<_> = std::fs::read_dir(bakery.join("jobs"))?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    jobs.sort();

    for path in jobs {
        let (job, _) = evenfare_files::read_job(&path)?;
        let edition = tariffs.edition_for(&job)?;
        let mut end_prices = BTreeSet::new();
        let mut shares = Vec::new();
        let priced = routes(&job, edition);
        for (_, by_route) in &priced {
            match by_route {
                Ok(quote) => {
                    let offer = quote.main().ok_or("a quote has an offer")?;
                    end_prices.insert(offer.end.net);
                    shares.push(offer.shares.iter().map(|s| s.share.minor()).sum::<i64>());
                }
                // Too little is left for the workshop: refused by this route, at the same end price.
                Err(Refused::UnderTheFloor(under)) => {
                    end_prices.insert(under.end_net);
                }
                Err(other) => return Err(other.to_string().into()),
            }
        }
        let [only] = end_prices.iter().collect::<Vec<_>>()[..] else {
            return Err(format!("{}: the end price depends on the route", job.reference).into());
        };
        println!(
            "{:<12} {:>3} routes, one end price: {:>9} minor units; shares {shares:?}",
            job.reference,
            priced.len(),
            only.minor()
        );
    }
    Ok(())
}
