//! `evenfare routes`: one job by every route, side by side; of a quote that is kept, the job that it prices.

mod sides;
mod table;

use evenfare_engine::Refused;
use evenfare_engine::job::Job;
use evenfare_engine::tariff::Edition;
use evenfare_files::Report;
use serde::Serialize;

use super::args::{Format, RoutesArgs};
use super::exit::Exit;
use super::input::{self, Input};
#[cfg(feature = "serve")]
use super::keeping;
use super::mistakes;
use super::outcome::{Answer, Failure, json};
use sides::Sides;

/// The table for programs.
#[derive(Serialize)]
struct Told<'a> {
    #[serde(flatten)]
    sides: &'a Sides,
    /// What the file of a job says and the job leaves out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    warnings: Vec<mistakes::Told<'a>>,
}

/// Prices the job by every route.
pub(super) fn run(args: &RoutesArgs) -> Result<Answer, Failure> {
    #[cfg(feature = "serve")]
    if let Some(number) = keeping::place::number(&args.what, &args.by, &args.kept)? {
        let (job, edition) = keeping::quote::job(&number, &args.kept)?;
        // It could be priced once. If it no longer can, that is no mistake of whoever asks.
        let failure = |refused: Refused| Failure::Internal(format!("{number}: {refused}"));
        return told(&job, &edition, args.printed.format, &Report::default(), failure);
    }
    let tariff = args.by.folder();
    let input = input::read(&args.what, &tariff)?;
    let answer = answer(&input, args.printed.format)?;
    Ok(answer.with_note(input.note(&tariff)))
}

/// The routes of a job as it was read.
pub(super) fn answer(input: &Input, format: Format) -> Result<Answer, Failure> {
    let edition = input.edition()?;
    told(&input.job, edition, format, input.unread(), |refused| {
        input.failure(refused, input.currency(edition))
    })
}

/// The table, and the exit code: an end price that depends on the route is an error of this program.
fn told(
    job: &Job,
    edition: &Edition,
    format: Format,
    unread: &Report,
    failure: impl Fn(Refused) -> Failure,
) -> Result<Answer, Failure> {
    let currency = job.currency.unwrap_or(edition.currency());
    let sides = sides::sides(job, edition, currency, failure)?;
    let text = match format {
        Format::Json => {
            let warnings = unread.iter().map(mistakes::Told::from).collect();
            json(&Told { sides: &sides, warnings })?
        }
        Format::Text => table::page(&sides, currency),
    };
    let exit = if sides.is_even() { Exit::Fine } else { Exit::Internal };
    Ok(Answer { exit, ..Answer::new(text) })
}
