//! Price a job inside your own program: read a tariff and a job, ask for a quote, read a figure and
//! how it came about.
//!
//!     cargo run --example price_a_job

use std::error::Error;
use std::path::Path;

use evenfare_engine::quote;

fn main() -> Result<(), Box<dyn Error>> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery");
    let tariffs = evenfare_files::read_tariff(&bakery.join("tariff"))?;
    let (job, source) = evenfare_files::read_job(&bakery.join("jobs/01-direct-oven.toml"))?;

    // The day of receipt picks the edition; a quote names the one it was priced by.
    let edition = tariffs.edition_for(&job)?;
    let quote = match quote(&job, edition) {
        Ok(quote) => quote,
        // Mistakes in the job come all at once; the file's reader knows their lines.
        Err(evenfare_engine::Refused::Job(problems)) => {
            return Err(source.locate(problems).to_string().into());
        }
        Err(refused) => return Err(refused.into()),
    };

    let offer = quote.main().ok_or("a quote has an offer")?;
    println!("{} by edition {}", quote.reference, quote.edition);
    println!("net end price  {} {}", offer.end.net.in_major_units(quote.currency), quote.currency);

    // Every figure carries its working.
    let line = offer.lines.iter().max_by_key(|line| line.net).ok_or("a quote has lines")?;
    let name = format!("net.{}", line.id);
    let step = offer.working.iter().find(|step| step.figure == name).ok_or("every figure has a working")?;
    println!("dearest line   {} = {}", step.figure, step.result);
    println!("rule           {}", step.rule.text());
    for input in &step.inputs {
        println!("  {:<12} {}", input.name, input.shown);
    }
    Ok(())
}
