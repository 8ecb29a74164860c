//! How the server fares: whether its store answers and can write, and whether clocks agree.

use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use chrono::{DateTime, Utc};
use evenfare_store::Store;
use evenfare_store::clock::TOLERANCE;
use evenfare_store::refused::StoreError;
use metrics::gauge;
use tokio::sync::watch;
use tokio::time::{sleep, timeout};

/// So long nothing was written before it is tried whether anything can be,
const TRY: Duration = Duration::from_secs(10);
/// and so long after it could not.
const TRY_AGAIN: Duration = Duration::from_secs(2);
/// What takes longer is as good as no answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// That clocks do not agree is told so often at most: two servers may write in turns.
const TELL_AGAIN: Duration = Duration::from_secs(60 * 60);

/// 1 where the store can write, 0 where it cannot.
const WRITABLE: &str = "evenfare_store_writable";
/// How far the last event is ahead of this server's clock, in seconds.
const BEHIND: &str = "evenfare_clock_behind_seconds";

/// How the store was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Found {
    answers: bool,
    /// The last event there was when something could not be written; none where all could.
    stuck: Option<u64>,
}

impl Found {
    /// There is an answer to whoever reads.
    pub(super) fn reads(self) -> bool {
        self.answers
    }

    /// Something can be written, too.
    pub(super) fn writes(self) -> bool {
        self.answers && self.stuck.is_none()
    }
}

/// What is known of how the server fares.
pub(super) struct Vitals {
    found: watch::Sender<Found>,
    /// When it was told that clocks do not agree.
    told: Mutex<Option<Instant>>,
}

impl Default for Vitals {
    fn default() -> Self {
        let found = watch::Sender::new(Found { answers: true, stuck: None });
        Self { found, told: Mutex::default() }
    }
}

impl Vitals {
    /// The store was asked something, and has answered or not.
    pub(super) fn answers(&self, does: bool) {
        self.found.send_if_modified(|found| std::mem::replace(&mut found.answers, does) != does);
    }

    /// Something could not be written; `last` is the last event of all that could.
    pub(super) fn cannot_write(&self, last: u64, why: &StoreError) {
        gauge!(WRITABLE).set(0);
        let changed = self.found.send_if_modified(|found| found.stuck.replace(last).is_none());
        if changed {
            tracing::warn!(%why, "the store cannot write; it is tried again and again");
        }
    }

    fn can_write(&self) {
        gauge!(WRITABLE).set(1);
        if self.found.send_if_modified(|found| found.stuck.take().is_some()) {
            tracing::info!("the store can write again");
        }
    }

    /// Tells, now and then, that the last event is dated long after now: a clock was ahead then, or this one is behind. What is
    /// written next has the time of this clock.
    pub(super) fn clocks(&self, last: Option<DateTime<Utc>>, now: DateTime<Utc>) {
        let ahead = last.map(|last| last.signed_duration_since(now));
        gauge!(BEHIND).set(ahead.and_then(|ahead| ahead.to_std().ok()).unwrap_or_default());
        if ahead.is_none_or(|ahead| ahead <= TOLERANCE) {
            return;
        }
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        if told.is_none_or(|told| told.elapsed() > TELL_AGAIN) {
            *told = Some(Instant::now());
            let last = last.map(|last| last.to_rfc3339()).unwrap_or_default();
            tracing::warn!(
                last,
                "the last event is dated after now: a clock was ahead when it was written, or the clock of this \
                 server is behind; what is written next has the time of this server"
            );
        }
    }

    /// How the store is found, as that changes.
    pub(super) fn found(&self) -> watch::Receiver<Found> {
        self.found.subscribe()
    }

    /// Tries whether the store can write, again and again, until the server stops. What was written meanwhile tells it
    /// without trying.
    pub(super) async fn keep_trying(&self, store: &dyn Store, mut stopping: watch::Receiver<bool>) {
        let (news, mut found) = (store.news(), self.found.subscribe());
        let mut seen = *news.borrow();
        let mut wait = Duration::ZERO;
        while !*stopping.borrow() {
            tokio::select! {
                () = sleep(wait) => {
                    let last = *news.borrow();
                    let stuck = found.borrow_and_update().stuck;
                    if last > stuck.unwrap_or(seen) {
                        self.can_write();
                    } else {
                        self.tried(last, timeout(PATIENCE, store.can_write()).await.unwrap_or_else(|_| {
                            Err(StoreError::Unavailable(format!("no answer within {} s", PATIENCE.as_secs())))
                        }));
                    }
                    seen = last;
                }
                _ = found.changed() => {}
                _ = stopping.changed() => {}
            }
            wait = if found.borrow_and_update().stuck.is_some() { TRY_AGAIN } else { TRY };
        }
    }

    fn tried(&self, last: u64, outcome: Result<(), StoreError>) {
        match outcome {
            Ok(()) => self.can_write(),
            // It has much to write, or is about to stop.
            Err(StoreError::Busy | StoreError::Closed) => {}
            Err(why) => self.cannot_write(last, &why),
        }
    }
}
