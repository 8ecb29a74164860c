//! Jobs priced by the editions in use.

use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::view::{Reader, view_of};
use evenfare_files::Tariffs;

use super::refusal::{FIELD, Refusal, below};
use crate::wire::WrittenQuote;

/// The edition that prices a job.
pub(super) fn edition<'t>(tariffs: &'t Tariffs, job: &Job) -> Result<&'t Edition, Refusal> {
    tariffs.edition_for(job).map_err(|problem| match tariffs.unreadable_on(job.received) {
        // That is no mistake of the job.
        Some(_) => Refusal::UnreadableEdition,
        None => Refusal::Input(below(FIELD, vec![problem])),
    })
}

/// How much of a quote is made.
pub(super) type Pricing = fn(&Job, &Edition) -> Result<Quote, evenfare_engine::Refused>;

/// Makes of a quote what was asked for; the working is that of the whole quote.
pub(super) fn pricing(with_plan: bool, with_working: bool) -> Pricing {
    match (with_plan, with_working) {
        (_, true) => evenfare_engine::quote,
        (true, false) => evenfare_engine::planned,
        (false, false) => evenfare_engine::brief,
    }
}

/// Prices a job for one reader.
pub(super) fn price(
    job: &Job,
    edition: &Edition,
    reader: &Reader,
    pricing: Pricing,
) -> Result<Quote, Refusal> {
    pricing(job, edition).map_err(|refused| not_priced(refused, job, edition, reader))
}

/// The next revision after a quote.
pub(super) fn revised(before: &Quote, job: &Job, edition: &Edition) -> Result<Quote, Refusal> {
    evenfare_engine::revised(before, job, edition)
        .map_err(|refused| not_priced(refused, job, edition, &Reader::Office))
}

fn not_priced(refused: evenfare_engine::Refused, job: &Job, edition: &Edition, reader: &Reader) -> Refusal {
    let currency = job.currency.unwrap_or(edition.currency());
    Refusal::not_priced(refused, reader, currency)
}

/// What a reader sees of a quote; one that is not his to see is as if it were not there.
pub(super) fn seen(quote: Quote, reader: &Reader) -> Result<WrittenQuote, Refusal> {
    view_of(quote, reader).map(|seen| WrittenQuote::from(&seen)).ok_or(Refusal::NoSuchQuote)
}
