//! Sheets of a job as PDF, as a lesson: price it, see it as a reader, put the sheet together, set it.
//!
//! ```text
//! cargo run -p evenfare-paper --features pdf --example sheets -- TARIFF JOB LANGUAGE FOLDER
//! ```

use std::error::Error;
use std::path::Path;

use evenfare_engine::language::Language;
use evenfare_engine::view::{Reader, view};
use evenfare_files::{read_job, read_tariff};
use evenfare_paper::State;
use evenfare_paper::pdf::pdf;
use evenfare_paper::sheet::{Given, Sheet, bench, office, partner, quote};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [tariff, job, language, folder] = arguments.as_slice() else {
        return Err("expected TARIFF JOB LANGUAGE FOLDER".into());
    };
    let language: Language = language.parse()?;
    let tariffs = read_tariff(Path::new(tariff))?;
    let (job, _) = read_job(Path::new(job))?;
    let edition = tariffs.on(job.received).ok_or("no edition prices that day")?;
    let priced = evenfare_engine::quote(&job, edition)?;
    let stationery = tariffs.stationery(edition.code().as_str());
    let seen = |reader: Reader| view(&priced, &reader).ok_or("not his to see");

    let save = |name: &str, sheet: &Sheet| -> Result<(), Box<dyn Error>> {
        let path = Path::new(folder).join(format!("{}-{name}-{language}.pdf", priced.reference));
        std::fs::write(&path, pdf(sheet, &[])?)?;
        println!("{}", path.display());
        Ok(())
    };
    // A customer's sheet is made of what a customer sees, so it can say nothing else.
    let customer = seen(Reader::Customer)?;
    let given = Given { view: &customer, number: None, state: State::InForce, stationery, language };
    save("quote", &quote(&given)?)?;
    save("bench", &bench(&given, &priced.main().ok_or("no offer")?.id)?)?;
    let office_view = seen(Reader::Office)?;
    save("office", &office(&Given { view: &office_view, ..given })?)?;
    for party in &priced.route {
        let his = seen(Reader::Partner(party.code.clone()))?;
        save(&format!("partner-{}", party.code), &partner(&Given { view: &his, ..given }, &party.code)?)?;
    }
    Ok(())
}
