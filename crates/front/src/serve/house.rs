//! What all services share: the store, the callers, the editions in use.

use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use chrono::{NaiveDate, Utc};
use evenfare_engine::text::Code;
use evenfare_store::Store;
use evenfare_store::command::Request as Asked;
use evenfare_store::event::Record;
use evenfare_store::refused::StoreError;
use metrics::gauge;
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinHandle;
use tokio::time::{Instant, timeout};
use tonic::{Request, Status};

use super::access::Who;
use super::callers::{Callers, Room};
use super::desks::Desks;
use super::floor::Floor;
use super::metered::EDITIONS_UNREADABLE;
use super::refusal::Refusal;
use super::vitals::Vitals;
use crate::editions::{InUse, Published};

/// How many streams that last (watching, exporting, pricing one job after the other) run at once.
const STREAMS: usize = 128;
/// How many lists of partners are read at once: half as many as the store has readers, or fewer.
const LISTS_OF_PARTNERS: usize = 2;
/// How soon it is known that a caller was added or withdrawn, that another server published an edition or
/// wrote something down.
pub(super) const LOOK_AGAIN: Duration = Duration::from_millis(500);
/// A store that says nothing for so long does not answer. Whoever waits for one of its readers is answered before.
const SILENCE: Duration = Duration::from_secs(30);

/// A job that asks for no more is priced where it stands.
const USUAL: usize = 64;

/// What all services share.
pub struct House {
    /// Where everything is kept.
    pub store: Arc<dyn Store>,
    /// Who may call.
    pub callers: Arc<Callers>,
    /// What prices jobs.
    pub editions: InUse,
    /// Room for streams that last.
    pub(super) streams: Arc<Semaphore>,
    /// Room for documents that are made.
    pub(super) documents: Desks,
    /// The same for partners.
    pub(super) documents_of_partners: Desks,
    /// Room for jobs that ask for much, and for tariffs that are read.
    pub(super) jobs: Desks,
    /// The same for partners.
    pub(super) jobs_of_partners: Desks,
    /// Room for lists of partners.
    pub(super) lists_of_partners: Arc<Semaphore>,
    /// Room for books that are reconciled.
    pub(super) books: Desks,
    /// Turns true when the server is about to stop: streams that last end then.
    pub(super) stopping: watch::Receiver<bool>,
    /// Settings as last looked at: they stay so until there are others.
    seen: tokio::sync::Mutex<Option<u64>>,
    /// What the floor has refused.
    pub(super) floor: Floor,
    /// How it fares.
    pub(super) vitals: Vitals,
}

/// What the looks at the store came to so far.
struct Looks {
    /// What was told to be wrong.
    told: Option<String>,
    /// When the store last had an answer, or failed.
    heard: Instant,
}

impl Looks {
    fn new() -> Self {
        Self { told: None, heard: Instant::now() }
    }
}

/// Of a write that may have been carried out, now or before, nobody is told that nothing was kept.
pub(super) fn not_known(refusal: Refusal) -> Refusal {
    match refusal {
        Refusal::Store(error) => Refusal::Store(error.not_known()),
        refusal => refusal,
    }
}

impl House {
    /// Looks at the store for the first time. A partner is told of `floor_refusals` offers in a day that the floor refuses.
    ///
    /// # Errors
    /// [`StoreError`] where it has no answer.
    pub async fn open(
        store: Arc<dyn Store>,
        callers: Arc<Callers>,
        floor_refusals: u32,
        stopping: watch::Receiver<bool>,
    ) -> Result<Arc<Self>, StoreError> {
        gauge!(EDITIONS_UNREADABLE).set(0);
        let [documents, documents_of_partners] = Desks::of_documents();
        let house = Arc::new(Self {
            store,
            callers,
            editions: InUse::none(),
            streams: Arc::new(Semaphore::new(STREAMS)),
            documents,
            documents_of_partners,
            jobs: Desks::of_jobs(),
            jobs_of_partners: Desks::of_jobs(),
            lists_of_partners: Arc::new(Semaphore::new(LISTS_OF_PARTNERS)),
            books: Desks::of_books(),
            stopping,
            seen: tokio::sync::Mutex::new(None),
            floor: Floor::new(floor_refusals),
            vitals: Vitals::default(),
        });
        house.look().await?;
        Ok(house)
    }

    /// Takes callers and editions from the store where something has changed.
    pub(super) async fn look(&self) -> Result<(), StoreError> {
        let mut seen = self.seen.lock().await;
        let settings = self.answer(self.store.settings()).await?;
        if *seen == Some(settings) {
            return Ok(());
        }
        let (mut callers, mut unread) = (Vec::new(), Vec::new());
        for caller in self.answer(self.store.callers()).await? {
            match caller {
                Ok(caller) => callers.push(caller),
                Err(error) => unread.push(error),
            }
        }
        self.callers.replace(callers);
        let kept = self.answer(self.store.editions()).await?;
        // Editions never change: who was added or withdrawn has none of them read again.
        if kept.len() > self.editions.now().number() {
            // No edition panics beyond its own: this ends early only where the server ends.
            let read = tokio::task::spawn_blocking(move || Published::read(&kept)).await;
            self.take(read.map_err(|_| StoreError::Closed)?);
        }
        *seen = Some(settings);
        // Once, and not twice a second while something else has no answer.
        for error in unread {
            tracing::warn!(%error, "a caller cannot be read, and may not call");
        }
        Ok(())
    }

    /// Takes editions into use, and tells of those that it cannot read.
    fn take(&self, published: Published) {
        let mut unreadable = 0_u32;
        for one in published.told.iter().filter(|one| !one.unreadable.is_empty()) {
            unreadable = unreadable.saturating_add(1);
            // Why is what stands in its files, and not for the log.
            let edition = &one.code;
            tracing::warn!(
                edition,
                "a published edition cannot be read, ListEditions says why; its days have no price"
            );
        }
        gauge!(EDITIONS_UNREADABLE).set(unreadable);
        self.editions.replace(published);
    }

    /// The editions in use with the one of that name, which may have been published since the last look.
    pub(super) async fn editions_with(&self, code: &Code) -> Result<Arc<Published>, Refusal> {
        let knows = |published: &Published| published.told.iter().any(|one| one.code == code.as_str());
        if !knows(&self.editions.now()) {
            self.look().await?;
        }
        let published = self.editions.now();
        if published.tariffs.unreadable().any(|unreadable| unreadable == code) {
            return Err(Refusal::UnreadableEdition);
        }
        Ok(published)
    }

    /// The store's answer, however long that takes. Where it takes too long, whoever asks how the server fares is told
    /// that there is none, until it looks again: a disk that hangs fails no question.
    async fn answer<T>(
        &self,
        question: impl Future<Output = Result<T, StoreError>>,
    ) -> Result<T, StoreError> {
        let mut question = pin!(question);
        if let Ok(answer) = timeout(SILENCE, &mut question).await {
            return answer;
        }
        self.vitals.answers(false);
        tracing::warn!("the store has said nothing for {} s", SILENCE.as_secs());
        question.await
    }

    /// Looks again and again, until the server stops.
    pub fn keep_looking(self: &Arc<Self>) -> JoinHandle<()> {
        let house = Arc::clone(self);
        tokio::spawn(async move {
            let mut stopping = house.stopping.clone();
            let mut last = Looks::new();
            while !*stopping.borrow() {
                tokio::select! {
                    () = tokio::time::sleep(LOOK_AGAIN) => house.look_and_tell(&mut last).await,
                    _ = stopping.changed() => {}
                }
            }
        })
    }

    /// Looks, and tells once what is wrong, and once that it is over.
    async fn look_and_tell(&self, before: &mut Looks) {
        let outcome = self.look().await;
        // That all its connections are at work says nothing of a database, unless none of them comes back.
        if !matches!(outcome, Err(StoreError::Busy)) {
            before.heard = Instant::now();
            self.vitals.answers(outcome.is_ok());
        } else if before.heard.elapsed() >= SILENCE {
            self.vitals.answers(false);
        }
        if let Ok(recorded) = self.answer(self.store.last_recorded()).await {
            self.vitals.clocks(recorded, Utc::now());
        }
        let wrong = outcome.err().map(|error| error.to_string());
        match &wrong {
            Some(error) if wrong != before.told => {
                tracing::warn!(error, "not all callers and editions are known")
            }
            None if before.told.is_some() => tracing::info!("callers and editions are known again"),
            _ => {}
        }
        before.told = wrong;
    }

    /// Tries whether the store can write, until the server stops.
    pub fn keep_trying(self: &Arc<Self>) -> JoinHandle<()> {
        let house = Arc::clone(self);
        tokio::spawn(async move {
            let store = &*house.store;
            house.vitals.keep_trying(store.news(), || store.can_write(), house.stopping.clone()).await;
        })
    }

    /// Writes one thing down. Where that fails, it is found out whether anything can be written.
    pub(super) async fn written(&self, request: Asked) -> Result<Record, Refusal> {
        let outcome = self.store.write(request).await;
        if let Err(why @ StoreError::Unavailable(_)) = &outcome {
            self.vitals.not_written(*self.store.news().borrow(), why);
        }
        Ok(outcome?)
    }

    /// Does a stream of that caller go on? Not when the server is about to stop, and not for one who was
    /// withdrawn.
    pub(super) fn goes_on(&self, who: &Who) -> Result<(), Refusal> {
        if *self.stopping.borrow() {
            return Err(StoreError::Closed.into());
        }
        if self.callers.knows(who) { Ok(()) } else { Err(Refusal::Nobody("the caller was withdrawn")) }
    }

    /// Waits until the server is about to stop; what a stream that lasts ends with.
    pub(super) async fn stopped(&self) -> Refusal {
        let mut stopping = self.stopping.clone();
        // Where nobody can say so any more, it has stopped.
        let _ = stopping.wait_for(|stops| *stops).await;
        StoreError::Closed.into()
    }

    /// Room for one more stream that lasts.
    pub(super) fn room_for_a_stream(&self) -> Result<tokio::sync::OwnedSemaphorePermit, Refusal> {
        Arc::clone(&self.streams).try_acquire_owned().map_err(|_| Refusal::TooMany("streams under way"))
    }

    /// Reads a list; that of a partner in its turn, as it may read all that he has, and nobody else's reading is to wait
    /// for that. The turn is over when the list was read; where it is broken off, also when nobody waits for it any more.
    pub(super) async fn listed<T: Send + 'static>(
        &self,
        partner: Option<&Room>,
        read: impl Future<Output = Result<T, StoreError>> + Send + 'static,
    ) -> Result<T, Refusal> {
        let Some(room) = partner else { return Ok(read.await?) };
        let under_way = Arc::clone(&room.lists).try_acquire_owned();
        let under_way = under_way.map_err(|_| Refusal::TooMany("lists of this partner under way"))?;
        let own = Arc::clone(&room.one_list).acquire_owned().await;
        let of_all = Arc::clone(&self.lists_of_partners).acquire_owned().await;
        let turn = (under_way, own, of_all);
        if self.store.breaks_off() {
            let _turn = turn;
            return Ok(read.await?);
        }
        let reading = tokio::spawn(async move {
            let _turn = turn;
            read.await
        });
        Ok(reading.await.map_err(|error| Refusal::Internal(error.to_string()))??)
    }

    /// Does what takes long where a job asks for much; `partner` is the room of the partner who asks, none where the
    /// office does.
    pub(super) async fn computed<T: Send + 'static>(
        &self,
        partner: Option<&Room>,
        breadth: usize,
        work: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        if breadth <= USUAL {
            return work();
        }
        // A portal cannot keep the office waiting, nor another portal out.
        let desk = match partner {
            None => self.jobs.place().await?,
            Some(room) => {
                let desks = &self.jobs_of_partners;
                let taken_on = desks.take_on_of(&room.large_jobs, "large jobs of this partner under way")?;
                desks.seat(taken_on).await?
            }
        };
        desk.work(work).await?
    }
}

/// The day it is, where the workshop's calls are dated: in UTC.
pub(super) fn today() -> NaiveDate {
    Utc::now().date_naive()
}

/// Who a request is from. The table of methods has let him pass, so he is there.
pub(super) fn who<T>(request: &Request<T>) -> Result<Who, Status> {
    request.extensions().get::<Who>().cloned().ok_or_else(|| Refusal::Nobody("nobody has asked").into())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests;
