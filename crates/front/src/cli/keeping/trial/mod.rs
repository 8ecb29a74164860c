//! `evenfare tariff try`: past quotes priced again by an edition that is not published.

// Reading order: each module uses only those above it.
mod csv;
mod told;
mod page;

use std::sync::Arc;

use evenfare_engine::tariff::Edition;
use evenfare_files::{Folder, parse_tariff};
use evenfare_reconcile::what_if::Trial;

use super::place::with_store_there;
use crate::cli::args::Format;
use crate::cli::args::keeping::TryArgs;
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::text::Progress;
use crate::trial::{Period, TrialError, Trying};

/// Tries an edition on all quotes of a period. Nothing is written down.
pub(in crate::cli) fn run(args: &TryArgs) -> Result<Answer, Failure> {
    let TryArgs { from, until, accepted_only, .. } = *args;
    if until < from {
        return Err(Failure::Usage(format!("--until {until} is before --from {from}")));
    }
    let period = Period { from, until, accepted_only };
    let proposed = proposed(args)?;
    let mut lines = args.output.as_deref().map(csv::Lines::begin).transpose()?;
    with_store_there(&args.place, async |store| {
        let mut trying = Trying::begin(Arc::clone(&store), proposed, period).await.map_err(not_read)?;
        let mut trial = Trial::new(trying.proposed());
        let progress = Progress::of_unknown("quotes");
        while let Some(tried) = trying.next(()).await.map_err(not_read)? {
            for one in &tried {
                trial.add(one)?;
            }
            if let Some(lines) = &mut lines {
                lines.add(&tried)?;
            }
            progress.at(trial.tried());
        }
        progress.end();
        if let Some(lines) = lines.take() {
            lines.finish()?;
        }
        let text = match args.printed.format {
            Format::Json => json(&told::Told::new(&trial, &period))?,
            Format::Text => page::page(&trial, &period, args.output.as_deref()),
        };
        Ok(Answer::new(text))
    })
}

/// The edition of a folder, the last one where it has several.
fn proposed(args: &TryArgs) -> Result<Edition, Failure> {
    let tariffs = parse_tariff(&Folder::from_disk(&args.dir)).map_err(Failure::Mistakes)?;
    let last = tariffs.into_editions().pop().map(|(edition, _)| edition);
    last.ok_or_else(|| Failure::Internal(String::from("a tariff without an edition")))
}

fn not_read(error: TrialError) -> Failure {
    match error {
        TrialError::Kept(error) => error.into(),
        TrialError::Edition(error) => Failure::Database(error.to_string()),
        TrialError::Internal(why) => Failure::Internal(why),
    }
}
