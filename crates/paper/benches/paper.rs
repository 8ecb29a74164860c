//! How long a quote's PDF takes once the typesetter is warm, and what a thousand of them leave in memory.

#![allow(clippy::indexing_slicing, clippy::float_arithmetic)]

#[path = "../../../benches/turns.rs"]
mod turns;

use std::error::Error;
use std::hint::black_box;
use std::path::Path;

use evenfare_engine::language::Language;
use evenfare_engine::view::{Reader, view};
use evenfare_files::{read_job, read_tariff};
use evenfare_paper::State;
use evenfare_paper::pdf::{Attachment, Relationship, pdf};
use evenfare_paper::sheet::{Given, quote};

fn main() -> Result<(), Box<dyn Error>> {
    let bakery = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery");
    let tariffs = read_tariff(&bakery.join("tariff"))?;
    let mut jobs: Vec<_> = std::fs::read_dir(bakery.join("jobs"))?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<_, _>>()?;
    jobs.sort();
    let mut sheets = Vec::new();
    for path in &jobs {
        let (job, _) = read_job(path)?;
        let edition = tariffs.on(job.received).ok_or("no edition prices that day")?;
        // The route of one of them is refused.
        let Ok(priced) = evenfare_engine::quote(&job, edition) else { continue };
        let seen = view(&priced, &Reader::Customer).ok_or("the customer sees his quote")?;
        let stationery = tariffs.stationery(edition.code().as_str());
        for language in Language::ALL {
            let number = Some("Q-2026-000042");
            let given = Given { view: &seen, number, state: State::InForce, stationery, language: *language };
            sheets.push(quote(&given)?);
        }
    }
    let xml = Attachment {
        name: "quote.xml".to_owned(),
        bytes: vec![b' '; 20_000],
        description: "Quotation".to_owned(),
        media_type: "application/xml".to_owned(),
        relationship: Relationship::Alternative,
    };

    let first = sheets.first().ok_or("no sheets")?;
    let mut others = sheets.iter().cycle();
    let [again, another] = turns::timed([
        &mut || drop(black_box(pdf(black_box(first), std::slice::from_ref(&xml)))),
        &mut || drop(others.next().map(|sheet| pdf(black_box(sheet), std::slice::from_ref(&xml)))),
    ]);
    println!("the same quote again {:.1} ms, another each time {:.1} ms", again * 1e3, another * 1e3);
    println!("row|pdf|{:.0} ms||", another * 1e3);

    println!("resident after so many documents, in KiB:");
    for (count, sheet) in (1_u32..=1_000).zip(sheets.iter().cycle()) {
        pdf(sheet, std::slice::from_ref(&xml))?;
        if [1, 100].contains(&count) || count % 250 == 0 {
            println!("{count:>6} {}", resident().unwrap_or_default());
        }
    }
    Ok(())
}

/// What the process has in memory; nothing where the system does not tell.
fn resident() -> Option<String> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmRSS:"))?;
    Some(line.trim_start_matches("VmRSS:").trim().trim_end_matches(" kB").to_owned())
}
