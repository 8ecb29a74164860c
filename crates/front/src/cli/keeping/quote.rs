//! A quote that is kept, as one reader sees it.

use evenfare_engine::MAIN;
use evenfare_engine::job::Job;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::view::{Reader, view_of};
use evenfare_files::{Report, Stationery};
use evenfare_store::entry::{Entry, State};
use evenfare_store::invoice::Invoice;
use evenfare_store::number::Number;
use evenfare_store::{Sight, Store};

use super::place::{failure, with_store_there};
use crate::cli::args;
use crate::cli::args::keeping::Kept;
use crate::cli::input::{Became, Seen};
use crate::cli::outcome::Failure;
use crate::editions::read_kept;
use crate::kept::{read_entry, sight};

/// Opens it, for who may see it.
pub(in crate::cli) fn seen(number: &Number, asked: &args::Sight, kept: &Kept) -> Result<Seen, Failure> {
    let reader = asked.reader();
    if asked.route.is_some() {
        return Err(Failure::Usage(format!("{number} is kept with its route; --route is for a job")));
    }
    let entry = with_store_there(&kept.place, async |store| {
        match store.entry(number, kept.which(), &sight(reader)).await.map_err(failure)? {
            Some(entry) => Ok(entry),
            None => Err(no_quote(&*store, number, kept, reader).await?),
        }
    })?;
    let (_, quote) = read_entry(&entry)?;
    let view = view_of(quote, reader).ok_or_else(|| missing(number, kept))?;
    let became = Became {
        said: said(&entry),
        number: entry.number.to_string(),
        state: entry.state.code(),
        accepted_offer: entry.accepted,
        settled: entry.settled,
    };
    Ok(Seen { view, became: Some(became), unread: Report::default(), note: String::new() })
}

/// Its number, and what became of it, in words.
fn said(entry: &Entry) -> String {
    let state = match entry.state {
        State::Superseded => "superseded by a later revision",
        state => state.code(),
    };
    let mut said = format!("{}, {state}", entry.number);
    if let Some(day) = entry.settled {
        said.push_str(&format!(" on {day}"));
    }
    if let Some(offer) = entry.accepted.as_ref().filter(|offer| offer.as_str() != MAIN) {
        said.push_str(&format!(", alternative {offer}"));
    }
    said
}

/// The job that it prices, and the edition that it was priced by.
pub(in crate::cli) fn job(number: &Number, kept: &Kept) -> Result<(Job, Edition), Failure> {
    with_store_there(&kept.place, async |store| {
        let Some(entry) = store.entry(number, kept.which(), &Sight::All).await.map_err(failure)? else {
            return Err(no_quote(&*store, number, kept, &Reader::Office).await?);
        };
        let damaged = |what: String| Failure::Database(format!("{number}: {what}"));
        let (job, _) = read_entry(&entry)?;
        let job = Job::try_from(job).map_err(|error| damaged(format!("the job cannot be read: {error}")))?;
        let code = &entry.content.edition;
        let edition = edition(&*store, code).await?;
        let (edition, _) = edition.ok_or_else(|| damaged(format!("its edition {code} is not there")))?;
        Ok((job, edition))
    })
}

/// The edition of that name as it was published, and what documents are written with.
pub(super) async fn edition(
    store: &dyn Store,
    code: &Code,
) -> Result<Option<(Edition, Stationery)>, Failure> {
    let editions = store.editions().await.map_err(failure)?;
    let edition = editions.iter().find(|edition| edition.code == *code);
    edition.map(read_kept).transpose().map_err(|error| Failure::Database(error.to_string()))
}

/// Why there is no quote of that number: whoever may see all of them is told what the number is of.
pub(super) async fn no_quote(
    store: &dyn Store,
    number: &Number,
    kept: &Kept,
    reader: &Reader,
) -> Result<Failure, Failure> {
    let invoice = match reader.sees_all() {
        true => store.invoice(number, &Sight::All).await.map_err(failure)?,
        false => None,
    };
    let Some(Invoice { billed, .. }) = invoice else { return Ok(missing(number, kept)) };
    let what = match &billed.preceding {
        None => String::from("an invoice"),
        Some(preceding) => format!("a credit note on {preceding}"),
    };
    Ok(Failure::Usage(format!("{number} is {what}; its quote is {}", billed.quote)))
}

/// Nothing has that number in whoever's sight it is asked for.
pub(super) fn missing(number: &Number, kept: &Kept) -> Failure {
    let what = match kept.which() {
        None => number.to_string(),
        Some((revision, false)) => format!("revision {revision} of {number}"),
        Some((revision, true)) => format!("reversal of revision {revision} of {number}"),
    };
    Failure::Usage(format!("there is no {what} in {}", kept.place.database))
}
