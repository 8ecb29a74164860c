//! A proposed edition, tried on the quotes that are kept: page by page, the next read while one is priced.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::job::Job;
use evenfare_engine::tariff::Edition;
use evenfare_reconcile::firm::Firms;
use evenfare_reconcile::what_if::{NotTried, Past, Proposal, Tried};
use evenfare_store::entry::{Entry, State};
use evenfare_store::{Filter, Listing, Sight, Store};
use tokio::task::JoinHandle;

use crate::editions::{UnreadableEdition, read_kept};
use crate::kept::{self, NotRead};

/// How many quotes are read at a time, and priced before anybody looks whether the caller is still there.
const AT_A_TIME: u32 = 64;
/// No more are read when their documents have this many bytes: two pages are in memory.
const ENOUGH_BYTES: usize = 16 << 20;

/// Which quotes an edition is tried on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    /// The first day of the quotes.
    pub from: NaiveDate,
    /// The last day.
    pub until: NaiveDate,
    /// Only those that stand accepted; else all but those that were taken back.
    pub accepted_only: bool,
}

/// Why the quotes of a period cannot be tried.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// What is kept cannot be read.
    #[error(transparent)]
    Kept(#[from] NotRead),
    /// An edition in it cannot be read.
    #[error(transparent)]
    Edition(#[from] UnreadableEdition),
    /// A defect of the program.
    #[error("{0}")]
    Internal(String),
}

/// A trial under way.
pub struct Trying {
    store: Arc<dyn Store>,
    proposal: Arc<Proposal>,
    /// The next page; none when all have been read.
    next: Option<Listing>,
    /// The page before, while it is priced.
    priced: Option<JoinHandle<Result<Vec<Tried>, TrialError>>>,
}

impl Trying {
    /// Begins one, in the place of each edition that the store has.
    ///
    /// # Errors
    /// [`TrialError`] where it has no answer, or an edition in it cannot be read.
    pub async fn begin(store: Arc<dyn Store>, proposed: Edition, period: Period) -> Result<Self, TrialError> {
        let kept = store.editions().await.map_err(NotRead::from)?;
        let proposal = tokio::task::spawn_blocking(move || {
            let published = kept.iter().map(|kept| Ok(read_kept(kept)?.0));
            let published: Vec<Edition> = published.collect::<Result<_, UnreadableEdition>>()?;
            Ok::<_, UnreadableEdition>(Arc::new(Proposal::new(proposed, &published)))
        });
        let proposal = proposal.await.map_err(|error| TrialError::Internal(error.to_string()))??;
        let states = match period.accepted_only {
            true => vec![State::Accepted],
            false => vec![State::Open, State::Accepted, State::Declined],
        };
        let (quoted_from, quoted_until) = (Some(period.from), Some(period.until));
        let filter = Filter { states, quoted_from, quoted_until, ..Filter::default() };
        let next = Listing { sight: Sight::All, filter, before: None, limit: AT_A_TIME };
        Ok(Self { store, proposal, next: Some(next), priced: None })
    }

    /// The edition that is tried.
    pub fn proposed(&self) -> &Edition {
        self.proposal.edition()
    }

    /// More quotes, the newest first: a page is priced while the one after it is read, so the first call has none.
    /// `None` after the last. `desk` is held as long as a page is being priced.
    ///
    /// # Errors
    /// [`TrialError`] where the store has no answer, or something in it is damaged.
    pub async fn next(&mut self, desk: impl Send + 'static) -> Result<Option<Vec<Tried>>, TrialError> {
        let (page, proposal) = (self.page().await?, Arc::clone(&self.proposal));
        let started = page.map(|entries| {
            tokio::task::spawn_blocking(move || {
                let _desk = desk;
                priced(&proposal, &entries)
            })
        });
        let goes_on = started.is_some();
        match std::mem::replace(&mut self.priced, started) {
            Some(before) => {
                let tried = before.await.map_err(|error| TrialError::Internal(error.to_string()))?;
                tried.map(Some)
            }
            None => Ok(goes_on.then(Vec::new)),
        }
    }

    /// The entries of the next page.
    async fn page(&mut self) -> Result<Option<Vec<Entry>>, NotRead> {
        let Some(listing) = self.next.take() else { return Ok(None) };
        let page = self.store.list(&listing).await?;
        let mut entries: Vec<Entry> = Vec::with_capacity(page.summaries.len());
        let (mut next, mut last, mut bytes) = (page.next, None, 0_usize);
        for summary in page.summaries {
            if bytes >= ENOUGH_BYTES {
                next = last;
                break;
            }
            // A part of a sum looks like the sum.
            let summary = summary?;
            let which = Some((summary.revision, false));
            // Entries are never taken away.
            let entry =
                self.store.entry(&summary.number, which, &Sight::All).await?.ok_or_else(|| {
                    NotRead::Damaged(format!("{} is listed and is not there", summary.number))
                })?;
            last = Some(summary.number);
            // It may have been revised or taken back since the page was listed.
            if listing.filter.states.contains(&entry.state) {
                bytes = bytes.saturating_add(entry.content.document.len());
                entries.push(entry);
            }
        }
        self.next = next.map(|number| Listing { before: Some(number), ..listing });
        Ok(Some(entries))
    }
}

fn priced(proposal: &Proposal, entries: &[Entry]) -> Result<Vec<Tried>, TrialError> {
    let mut firms = Firms::default();
    let tried = |entry: &Entry| {
        let damaged = |why: &dyn ToString| {
            TrialError::from(NotRead::Damaged(format!("{}: {}", entry.number, why.to_string())))
        };
        let (job, quote) = kept::read_entry(entry)?;
        let job = Job::try_from(job).map_err(|error| damaged(&error))?;
        let number = entry.number.to_string();
        let accepted = entry.accepted.as_ref().map(|offer| offer.as_str());
        let past = Past { number: &number, job: &job, quote: &quote, accepted };
        proposal.tried(&past, &mut firms).map_err(|error| match &error {
            NotTried::Unsealed(why) => TrialError::Internal(format!("{number}: {error}: {why}")),
            _ => damaged(&error),
        })
    };
    entries.iter().map(tried).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::path::Path;

    use evenfare_store::command::{Command, Request};
    use evenfare_store::digest::Digest;
    use evenfare_store::entry::{Content, Offered};
    use evenfare_store::number::Series;
    use evenfare_store::sqlite::Sqlite;

    use super::*;

    /// A quote whose document has that many bytes.
    fn issue(bytes: usize) -> Command {
        let content = Content {
            offers: vec![Offered { id: "main".parse().unwrap(), net_minor: Some(0) }],
            ..kept::tests::content(bytes)
        };
        Command::Issue { series: Series::usual(), content: Box::new(content), editions: 0 }
    }

    #[tokio::test]
    async fn a_page_of_long_quotes_is_short_and_none_is_left_out() {
        let folder = tempfile::tempdir().unwrap();
        let store = Arc::new(Sqlite::open(folder.path().join("store.db")).unwrap());
        for (place, bytes) in [10, 9 << 20, 9 << 20, 9 << 20].into_iter().enumerate() {
            let (id, caller) = (format!("r-{place}").parse().unwrap(), "office".parse().unwrap());
            let request = Request { id, fingerprint: Digest::ZERO, caller, command: issue(bytes) };
            store.write(request).await.unwrap();
        }
        let tariff = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/tariff");
        let (proposed, _) = evenfare_files::read_tariff(&tariff).unwrap().into_editions().pop().unwrap();
        let day = NaiveDate::default();
        let period = Period { from: day, until: day, accepted_only: false };
        let mut trying = Trying::begin(store, proposed, period).await.unwrap();
        let mut pages = Vec::new();
        while let Some(page) = trying.page().await.unwrap() {
            pages.push(page.iter().map(|entry| entry.number.sequence).collect::<Vec<_>>());
        }
        assert_eq!(pages, [vec![4, 3], vec![2, 1]]);
    }
}
