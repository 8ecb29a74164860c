//! What the office has written down: priced where it has to be, then handed to the store.

use std::sync::Arc;

use evenfare_engine::job::Job;
use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::quote::{Quote, Standing};
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;
use evenfare_files::Tariffs;
use evenfare_store::Sight;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::Content;
use evenfare_store::event::Record;
use evenfare_store::number::Number;
use evenfare_store::refused::{Refused, StoreError};
use prost::Message;

use super::access::Who;
use super::answers::{LARGEST_ANSWER, Made};
use super::ask;
use super::breadth::breadth;
use super::house::{House, not_known, today};
use super::pricing::{edition, price, revised};
use super::refusal::{FIELD, Refusal};
use crate::editions::Published;
use crate::kept;
use crate::wire::answer;
use crate::wire::pb;

/// A job is priced again up to this many times when editions are published meanwhile.
const PRICED_AT_MOST: usize = 5;

/// What is kept of a quote, with its working: room is left in an answer for what else is said of it.
const LONGEST: usize = LARGEST_ANSWER - (1 << 20);

/// A job that is to be written down, and how much it asks for.
struct Asked {
    job: Arc<Job>,
    breadth: usize,
}

impl Asked {
    fn new(job: Job, wire: Option<&pb::Job>) -> Self {
        Self { job: Arc::new(job), breadth: wire.map_or(0, breadth) }
    }
}

/// By which request something is written down.
pub(super) struct By {
    pub(super) id: Code,
    pub(super) fingerprint: Digest,
    pub(super) caller: Code,
}

impl By {
    pub(super) fn request(&self, command: Command) -> Request {
        let Self { id, fingerprint, caller } = self;
        Request { id: id.clone(), fingerprint: *fingerprint, caller: caller.clone(), command }
    }
}

impl House {
    pub(super) async fn issue(
        &self,
        who: &Who,
        wire: &pb::IssueQuoteRequest,
    ) -> Result<answer::KeptQuote, Refusal> {
        let ask::Issue { id, series, job } = ask::issue(wire, &self.editions.now().tariffs)?;
        let by = By { id, fingerprint: ask::fingerprint("IssueQuote", wire), caller: who.name.clone() };
        let job = Asked::new(job, wire.job.as_ref());
        self.priced_and_written(&by, &job, None, |content, editions| Command::Issue {
            series: series.clone(),
            content,
            editions,
        })
        .await
    }

    pub(super) async fn revise(
        &self,
        who: &Who,
        wire: &pb::ReviseQuoteRequest,
    ) -> Result<answer::KeptQuote, Refusal> {
        let ask::Change { id, number, etag, with: (job, reason) } =
            ask::revise(wire, &self.editions.now().tariffs)?;
        let by = By { id, fingerprint: ask::fingerprint("ReviseQuote", wire), caller: who.name.clone() };
        let before = match self.of_the_last(&number, |_, before| Ok(before)).await {
            Ok(before) => before,
            Err(refusal) => return self.told(self.answered(&by, refusal).await?).await,
        };
        if let Err(refusal) = same_job(&before, &job, &self.editions.now().tariffs) {
            return self.told(self.answered(&by, refusal).await?).await;
        }
        let job = Asked::new(job, wire.job.as_ref());
        self.priced_and_written(&by, &job, Some(Arc::new(before)), |content, editions| {
            let (number, reason) = (number.clone(), reason.clone());
            Command::Revise { number, etag, content, editions, reason }
        })
        .await
    }

    pub(super) async fn reverse(
        &self,
        who: &Who,
        wire: &pb::ReverseQuoteRequest,
    ) -> Result<answer::KeptQuote, Refusal> {
        let ask::Change { id, number, etag, with: reason } = ask::reverse(wire)?;
        let by = By { id, fingerprint: ask::fingerprint("ReverseQuote", wire), caller: who.name.clone() };
        let of = number.clone();
        let opposite = move |job, quote: Quote| {
            if matches!(quote.standing, Standing::Reversal(_)) {
                return Err(StoreError::from(Refused::AlreadyReversed { number: of }).into());
            }
            let internal = |error: &dyn ToString| Refusal::Internal(format!("{of}: {}", error.to_string()));
            let job = Job::try_from(job).map_err(|error| internal(&error))?;
            let opposite = quote.reversed().map_err(|error| internal(&error))?;
            ready(&job, opposite)
        };
        let (content, made) = match self.of_the_last(&number, opposite).await {
            Ok(ready) => ready,
            Err(refusal) => return self.told(self.answered(&by, refusal).await?).await,
        };
        let command = Command::Reverse { number: number.clone(), etag, content, reason };
        self.told_as_made(self.written(by.request(command)).await?, made).await
    }

    pub(super) async fn accept(&self, who: &Who, wire: &pb::AcceptQuoteRequest) -> Result<Record, Refusal> {
        let ask::Change { id, number, etag, with: (offer, day) } = ask::accept(wire, today())?;
        let by = By { id, fingerprint: ask::fingerprint("AcceptQuote", wire), caller: who.name.clone() };
        self.written(by.request(Command::Accept { number, etag, offer, day })).await
    }

    pub(super) async fn decline(&self, who: &Who, wire: &pb::DeclineQuoteRequest) -> Result<Record, Refusal> {
        let ask::Change { id, number, etag, with: (day, reason) } = ask::decline(wire, today())?;
        let by = By { id, fingerprint: ask::fingerprint("DeclineQuote", wire), caller: who.name.clone() };
        self.written(by.request(Command::Decline { number, etag, day, reason })).await
    }

    /// Prices by the editions in use and writes it down; again where an edition came in between.
    async fn priced_and_written(
        &self,
        by: &By,
        job: &Asked,
        before: Option<Arc<Quote>>,
        command: impl Fn(Box<Content>, usize) -> Command,
    ) -> Result<answer::KeptQuote, Refusal> {
        for _ in 0..PRICED_AT_MOST {
            let published = self.editions.now();
            let (content, made) = match self.priced(Arc::clone(&published), job, before.clone()).await {
                Ok(ready) => ready,
                Err(refusal) => return self.told(self.answered(by, refusal).await?).await,
            };
            match self.written(by.request(command(content, published.number()))).await {
                Err(Refusal::Store(StoreError::Refused(Refused::TariffChanged))) => {
                    self.look().await?;
                }
                outcome => return self.told_as_made(outcome?, made).await,
            }
        }
        Err(StoreError::from(Refused::TariffChanged).into())
    }

    /// Priced, anew or as the next revision.
    async fn priced(
        &self,
        published: Arc<Published>,
        asked: &Asked,
        before: Option<Arc<Quote>>,
    ) -> Result<Ready, Refusal> {
        let job = Arc::clone(&asked.job);
        self.computed(None, asked.breadth, move || {
            let edition = edition(&published.tariffs, &job)?;
            let quote = match before {
                None => price(&job, edition, &Reader::Office, evenfare_engine::quote)?,
                Some(before) => revised(&before, &job, edition)?,
            };
            is_of_today(&quote)?;
            let ready = ready(&job, quote)?;
            is_short_enough(&job, &ready.1)?;
            Ok(ready)
        })
        .await
    }

    /// What comes of the last quote under a number, and its job.
    async fn of_the_last<T: Send + 'static>(
        &self,
        number: &Number,
        work: impl FnOnce(pb::Job, Quote) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let entry = self.store.entry(number, None, &Sight::All).await?.ok_or(Refusal::NoSuchQuote)?;
        self.opened(None, entry, move |entry| {
            let (job, quote) = kept::read_entry(entry)?;
            work(job, quote)
        })
        .await
    }

    /// A request that can no longer be carried out may have been carried out before: then its answer
    /// stands.
    pub(super) async fn answered(&self, by: &By, refusal: Refusal) -> Result<Record, Refusal> {
        match self.store.answered(&by.id).await.map_err(|error| not_known(error.into()))? {
            Some(record) if record.event.fingerprint == by.fingerprint => Ok(record),
            Some(_) => Err(StoreError::from(Refused::RequestIdReused { id: by.id.clone() }).into()),
            None => Err(refusal),
        }
    }
}

/// A revision corrects a quote for a job; a quote for another job, or in another currency, is another quote.
fn same_job(before: &Quote, job: &Job, tariffs: &Tariffs) -> Result<(), Refusal> {
    let place = |field| Place::field(FIELD).at(field);
    let mut problems = Vec::new();
    if job.reference != before.reference {
        let expected = format!("{}, the job of the quote", before.reference);
        problems.push(Problem::error(place("reference"), "another_job", &job.reference, expected));
    }
    let usual = || tariffs.edition_for(job).ok().map(Edition::currency);
    if let Some(currency) = job.currency.or_else(usual).filter(|currency| *currency != before.currency) {
        let expected = format!("{}, the currency of the quote", before.currency);
        problems.push(Problem::error(place("currency"), "another_currency", currency, expected));
    }
    if problems.is_empty() { Ok(()) } else { Err(Refusal::Input(problems)) }
}

/// What is written down of a quote, and what to answer with.
type Ready = (Box<Content>, Made);

fn ready(job: &Job, quote: Quote) -> Result<Ready, Refusal> {
    let (content, said) = kept::content(job, quote)?;
    let document = content.document.clone();
    Ok((Box::new(content), Made { document, said }))
}

/// The year of a number is that of its quote: a slip of the pen would begin another for ever.
fn is_of_today(quote: &Quote) -> Result<(), Refusal> {
    ask::read(|at| ask::not_after(at.at(FIELD).at("quoted"), quote.quoted, today())).map(drop)
}

/// What is written down has to be answered later, and so has its opposite.
fn is_short_enough(job: &Job, made: &Made) -> Result<(), Refusal> {
    let mut length = made.said.encoded_len();
    // A number below nothing takes eleven bytes instead of two; nothing grows more than that.
    if (LONGEST / 8..=LONGEST).contains(&length) {
        let internal = |error: &dyn ToString| Refusal::Internal(error.to_string());
        let (_, quote) = kept::read(&made.document).map_err(|error| internal(&error))?;
        let opposite = quote.reversed().map_err(|error| internal(&error))?;
        length = length.max(ready(job, opposite)?.1.said.encoded_len());
    }
    if length <= LONGEST {
        return Ok(());
    }
    let expected = format!("at most {LONGEST} bytes: make several jobs of it");
    let found = format!("a quote of {length} bytes, with its working");
    Err(Refusal::problem(Problem::error(Place::field(FIELD), "too_long", found, expected)))
}
