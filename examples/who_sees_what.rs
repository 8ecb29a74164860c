//! One quote, four readers: what each may see of it.
//!
//!     cargo run --example who_sees_what

use std::error::Error;
use std::path::Path;

use evenfare_engine::quote;
use evenfare_engine::view::{Reader, view};

fn main() -> Result<(), Box<dyn Error>> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = evenfare_files::read_tariff(&bakery.join("tariff"))?;
    let (job, _) = evenfare_files::read_job(&bakery.join("jobs/02-two-partners.toml"))?;
    let edition = tariffs.edition_for(&job)?;
    let quote = quote(&job, edition)?;

    let mut readers = vec!["office".to_owned(), "accountant".to_owned(), "customer".to_owned()];
    readers.extend(job.route.iter().map(|stop| format!("partner:{}", stop.partner)));
    readers.push("partner:P-WOERGL".to_owned());
    for reader in readers {
        let Some(seen) = view(&quote, &reader.parse::<Reader>()?) else {
            println!("{reader:<18} not his to see");
            continue;
        };
        println!(
            "{reader:<18} end price {}, {} sale(s), {} share(s), cost {}",
            seen.main.end.net_minor,
            seen.main.sales.len(),
            seen.main.shares.len(),
            seen.main.cost_minor.map_or("hidden".to_owned(), |cost| cost.to_string()),
        );
    }
    Ok(())
}
