//! The documents of the demo's jobs.

use std::fs;
use std::path::Path;

use evenfare_engine::view::Reader;
use evenfare_paper::State;

use crate::cli::at_once::at_once;
use crate::cli::input::{self, Input};
use crate::cli::outcome::Failure;
use crate::cli::output::{failed, replace};
use crate::cli::paper::not_made;
use crate::cli::text::words::count;
use crate::cli::text::{Page, style};
use crate::paper::{Asked, Format, Kind, Source, of_quote};

/// Writes what the customer, each partner and the bench hold in their hands of each job, and says so; what the
/// office does of the one that is shown in full, for its working is long. Documents of an earlier run are
/// written anew: nobody writes into them by hand.
pub(super) fn written<'a>(
    dir: &Path,
    jobs: impl Iterator<Item = &'a Path>,
    in_full: &Path,
) -> Result<String, Failure> {
    let folder = dir.join("paper");
    fs::create_dir_all(&folder).map_err(|error| failed(&folder, &error))?;
    let jobs: Vec<&Path> = jobs.collect();
    // To set pages takes longer than all else of the demo.
    let documents = at_once(&jobs, "jobs on paper", |job| {
        let input = input::read(&dir.join(job), &dir.join("tariff"))?;
        of_a_job(&input, &folder, *job == in_full)
    })?;
    let what = count(documents, "document");
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, &format!("Wrote {what} of these jobs to `{}`.", folder.display()));
    page.blank();
    Ok(page.finish())
}

/// How many there are; none of a job that its route refuses.
fn of_a_job(input: &Input, folder: &Path, in_full: bool) -> Result<usize, Failure> {
    let Ok(quote) = input.by_own_route()? else { return Ok(0) };
    let stationery = input.stationery(&quote);
    let source = Source { quote: &quote, number: None, state: State::InForce, stationery };
    let partners = quote.route.iter().map(|party| (Reader::Partner(party.code.clone()), Kind::Partner));
    let kinds = [Kind::Quote, Kind::Bench].into_iter().chain(in_full.then_some(Kind::Office));
    let mut written = 0_usize;
    for (reader, kind) in kinds.map(|kind| (Reader::Office, kind)).chain(partners) {
        let asked = Asked { reader, kind, format: Format::Pdf, language: None, offer: None };
        let document = of_quote(&source, &asked).map_err(not_made)?;
        replace(&folder.join(&document.name), &document.bytes)?;
        written = written.saturating_add(1);
    }
    Ok(written)
}
