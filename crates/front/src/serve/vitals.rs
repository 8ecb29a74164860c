//! How the server fares: whether its store answers and can write, and whether clocks agree.

use std::future::Future;
use std::pin::Pin;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use chrono::{DateTime, Utc};
use evenfare_store::clock::TOLERANCE;
use evenfare_store::refused::StoreError;
use futures_util::FutureExt;
use metrics::gauge;
use tokio::sync::{Notify, watch};
use tokio::time::{Instant, sleep_until, timeout};

use super::metered::{CLOCK_BEHIND, STORE_WRITABLE};

/// When nothing was written for this long, it is tried whether anything can be,
const TRY: Duration = Duration::from_secs(10);
/// and this long after it could not.
const TRY_AGAIN: Duration = Duration::from_secs(2);
/// What takes longer is as good as no answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// That clocks do not agree is told no more often than this: two servers may write in turns.
const TELL_AGAIN: Duration = Duration::from_secs(60 * 60);

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
    /// Something could not be written: can anything be?
    doubts: Notify,
    /// The last event there was when a trial passed although something could not be written.
    passed: Mutex<Option<u64>>,
    /// When it was told that clocks do not agree.
    told: Mutex<Option<Instant>>,
}

impl Default for Vitals {
    fn default() -> Self {
        let found = watch::Sender::new(Found { answers: true, stuck: None });
        Self { found, doubts: Notify::new(), passed: Mutex::default(), told: Mutex::default() }
    }
}

impl Vitals {
    /// The store was asked something, and has answered or not.
    pub(super) fn answers(&self, does: bool) {
        self.found.send_if_modified(|found| std::mem::replace(&mut found.answers, does) != does);
    }

    /// A request could not be written; `last` is the last event of all that could. That may be its own misfortune, so a
    /// trial decides. But a trial is small: where it passed, and nothing was written since, it is the store.
    pub(super) fn not_written(&self, last: u64, why: &StoreError) {
        if self.found.borrow().stuck.is_some() {
            return;
        }
        let passed = *self.passed.lock().unwrap_or_else(PoisonError::into_inner);
        if passed == Some(last) {
            self.cannot_write(last, why);
        } else {
            self.doubts.notify_one();
        }
    }

    fn cannot_write(&self, last: u64, why: &StoreError) {
        if self.changed(Some(last)) {
            tracing::warn!(%why, "the store cannot write; it is tried again and again");
        }
    }

    fn can_write(&self) {
        if self.changed(None) {
            tracing::info!("the store can write again");
        }
    }

    /// Did it write before and does not now, or the other way round? The gauge changes in the same step: two who tell at
    /// once are not to leave it at what only one of them has found.
    fn changed(&self, stuck: Option<u64>) -> bool {
        self.found.send_if_modified(|found| {
            gauge!(STORE_WRITABLE).set(u8::from(stuck.is_none()));
            std::mem::replace(&mut found.stuck, stuck).is_some() != stuck.is_some()
        })
    }

    /// Tells, now and then, that the last event is dated long after now: a clock was ahead then, or this one is behind.
    /// What is written next has the time of this clock.
    pub(super) fn clocks(&self, last: Option<DateTime<Utc>>, now: DateTime<Utc>) {
        let ahead = last.map(|last| last.signed_duration_since(now));
        gauge!(CLOCK_BEHIND).set(ahead.and_then(|ahead| ahead.to_std().ok()).unwrap_or_default());
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

    /// Tries whether the store can write, again and again, until the server stops. What was written meanwhile, as `news`
    /// says, tells it without a trial.
    pub(super) async fn keep_trying<Outcome: Future<Output = Result<(), StoreError>>>(
        &self,
        news: watch::Receiver<u64>,
        trial: impl Fn() -> Outcome,
        mut stopping: watch::Receiver<bool>,
    ) {
        let mut found = self.found.subscribe();
        let (mut seen, mut stuck) = (*news.borrow(), found.borrow_and_update().stuck);
        let mut due = Instant::now();
        // One without an answer is waited for again. Another one would wait behind it, and more and more of them would
        // take the room of those who have something to write.
        let mut under_way: Option<Pin<Box<Outcome>>> = None;
        while !*stopping.borrow() {
            let doubted = tokio::select! {
                () = sleep_until(due) => false,
                () = self.doubts.notified() => true,
                _ = found.changed() => {
                    // Whether the store answers has no part in when it is tried.
                    if found.borrow_and_update().stuck != stuck {
                        stuck = found.borrow().stuck;
                        due = Instant::now() + wait(stuck);
                    }
                    continue;
                }
                _ = stopping.changed() => continue,
            };
            let last = *news.borrow();
            let written = last > stuck.unwrap_or(seen);
            // What came of it before that says nothing of now.
            if doubted || written {
                drop(under_way.take_if(|trial| trial.now_or_never().is_some()));
            }
            if !doubted && written {
                self.can_write();
            } else {
                let waited_for = under_way.get_or_insert_with(|| Box::pin(trial()));
                let answered = timeout(PATIENCE, waited_for).await;
                if answered.is_ok() {
                    under_way = None;
                }
                let outcome = answered.unwrap_or_else(|_| {
                    Err(StoreError::Unavailable(format!("no answer within {} s", PATIENCE.as_secs())))
                });
                if doubted && outcome.is_ok() {
                    *self.passed.lock().unwrap_or_else(PoisonError::into_inner) = Some(last);
                }
                self.tried(outcome, doubted, last);
            }
            (seen, stuck) = (last, found.borrow_and_update().stuck);
            due = Instant::now() + wait(stuck);
        }
    }

    fn tried(&self, outcome: Result<(), StoreError>, doubted: bool, last: u64) {
        match outcome {
            Ok(()) => self.can_write(),
            Err(StoreError::Busy) if !doubted => {
                let why = StoreError::Unavailable(String::from("much waits, and nothing is written"));
                self.cannot_write(last, &why);
            }
            // It has much to write, or is about to stop.
            Err(StoreError::Busy | StoreError::Closed) => {}
            Err(why) => self.cannot_write(last, &why),
        }
    }
}

/// How long until it is tried again.
fn wait(stuck: Option<u64>) -> Duration {
    if stuck.is_some() { TRY_AGAIN } else { TRY }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
    use std::thread;

    use metrics::{Counter, Gauge, GaugeFn, Histogram, Key, KeyName, Metadata, Recorder, SharedString, Unit};
    use tokio::time::sleep;

    use super::*;

    /// A store that can be tried, and counts how often it was.
    #[derive(Default)]
    struct Tried {
        fails: AtomicBool,
        busy: AtomicBool,
        news: watch::Sender<u64>,
        hangs: watch::Sender<bool>,
        trials: AtomicUsize,
    }

    impl Tried {
        async fn trial(&self) -> Result<(), StoreError> {
            self.trials.fetch_add(1, Ordering::Relaxed);
            let _ = self.hangs.subscribe().wait_for(|hangs| !hangs).await;
            if self.busy.load(Ordering::Relaxed) {
                return Err(StoreError::Busy);
            }
            if self.fails.load(Ordering::Relaxed) { Err(full()) } else { Ok(()) }
        }

        fn trials(&self) -> usize {
            self.trials.load(Ordering::Relaxed)
        }
    }

    fn full() -> StoreError {
        StoreError::Unavailable("the disk is full".to_owned())
    }

    /// What happens while a store is tried again and again.
    async fn meanwhile(what: impl AsyncFnOnce(&Vitals, &Tried)) {
        let (vitals, tried) = (Vitals::default(), Tried::default());
        tried.news.send_replace(7);
        let (_stopping, stops) = watch::channel(false);
        tokio::select! {
            () = vitals.keep_trying(tried.news.subscribe(), || tried.trial(), stops) => {}
            () = what(&vitals, &tried) => {}
        }
    }

    fn writes(vitals: &Vitals) -> bool {
        vitals.found().borrow().writes()
    }

    const SECOND: Duration = Duration::from_secs(1);

    #[tokio::test(start_paused = true)]
    async fn a_store_that_now_and_then_has_no_answer_is_tried_as_often() {
        meanwhile(async |vitals, tried| {
            for answers in [false, true].repeat(19) {
                vitals.answers(answers);
                sleep(SECOND).await;
            }
            assert_eq!(tried.trials(), 4);
        })
        .await;
    }

    /// A disk that hangs for a night fills no queue.
    #[tokio::test(start_paused = true)]
    async fn a_trial_without_an_answer_is_waited_for_and_not_asked_again() {
        meanwhile(async |vitals, tried| {
            sleep(SECOND).await;
            tried.hangs.send_replace(true);
            sleep(SECOND * 60 * 60 * 12).await;
            assert_eq!(tried.trials(), 2);
            assert!(!writes(vitals));
            tried.hangs.send_replace(false);
            sleep(SECOND * 3).await;
            assert!(writes(vitals), "as soon as it has one");
            sleep(SECOND * 10).await;
            assert_eq!(tried.trials(), 3);
        })
        .await;
    }

    /// What came of a trial of hours ago is none of now: much may have been written since.
    #[tokio::test(start_paused = true)]
    async fn a_trial_that_has_ended_before_something_was_written_is_not_told() {
        meanwhile(async |vitals, tried| {
            sleep(SECOND).await;
            tried.hangs.send_replace(true);
            sleep(SECOND * 20).await;
            assert!(!writes(vitals));
            // It ends while nobody asks for it.
            tried.fails.store(true, Ordering::Relaxed);
            tried.hangs.send_replace(false);
            tried.news.send_replace(8);
            sleep(SECOND * 3).await;
            assert!(writes(vitals));
            tried.fails.store(false, Ordering::Relaxed);
            sleep(SECOND * 10).await;
            assert_eq!(tried.trials(), 3, "tried anew");
        })
        .await;
    }

    /// Where the queue is full no trial is put in, and whoever looks for a server would go on choosing this one.
    #[tokio::test(start_paused = true)]
    async fn a_store_that_takes_nothing_on_and_writes_nothing_cannot_write() {
        meanwhile(async |vitals, tried| {
            sleep(SECOND).await;
            tried.busy.store(true, Ordering::Relaxed);
            for last in 8..30 {
                tried.news.send_replace(last);
                sleep(SECOND).await;
            }
            assert!(writes(vitals), "it is busy, and writes");
            sleep(SECOND * 20).await;
            assert!(!writes(vitals));
            tried.news.send_replace(31);
            sleep(SECOND * 3).await;
            assert!(writes(vitals));
        })
        .await;
    }

    /// A gauge that is slow to fall.
    #[derive(Default)]
    struct Slow {
        shows: AtomicBool,
        falls: AtomicBool,
    }

    impl GaugeFn for Slow {
        fn increment(&self, _: f64) {}
        fn decrement(&self, _: f64) {}
        fn set(&self, value: f64) {
            self.shows.store(value > 0.0, Ordering::SeqCst);
            if value <= 0.0 {
                self.falls.store(true, Ordering::SeqCst);
                thread::sleep(SECOND / 4);
            }
        }
    }

    #[derive(Default)]
    struct Board(Arc<Slow>);

    impl Recorder for Board {
        fn describe_counter(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
        fn describe_gauge(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
        fn describe_histogram(&self, _: KeyName, _: Option<Unit>, _: SharedString) {}
        fn register_counter(&self, _: &Key, _: &Metadata<'_>) -> Counter {
            Counter::noop()
        }
        fn register_gauge(&self, _: &Key, _: &Metadata<'_>) -> Gauge {
            Gauge::from_arc(Arc::clone(&self.0))
        }
        fn register_histogram(&self, _: &Key, _: &Metadata<'_>) -> Histogram {
            Histogram::noop()
        }
    }

    #[test]
    fn two_who_tell_at_once_leave_the_gauge_at_what_was_found() {
        let (vitals, board) = (Vitals::default(), Board::default());
        thread::scope(|scope| {
            scope.spawn(|| metrics::with_local_recorder(&board, || vitals.cannot_write(7, &full())));
            while !board.0.falls.load(Ordering::SeqCst) {
                thread::yield_now();
            }
            metrics::with_local_recorder(&board, || vitals.can_write());
        });
        assert_eq!(board.0.shows.load(Ordering::SeqCst), writes(&vitals));
    }

    #[tokio::test(start_paused = true)]
    async fn what_could_not_be_written_is_tried_at_once() {
        meanwhile(async |vitals, tried| {
            sleep(SECOND).await;
            assert_eq!(tried.trials(), 1);
            vitals.not_written(7, &full());
            sleep(SECOND / 10).await;
            assert_eq!(tried.trials(), 2);
            assert!(writes(vitals), "one request is not all");
            // A trial is small: it passes, and the next request fails as well.
            vitals.not_written(7, &full());
            assert!(!writes(vitals));
            // It is tried again soon, and no sooner for those who fail meanwhile.
            vitals.not_written(7, &full());
            sleep(SECOND).await;
            assert_eq!(tried.trials(), 2);
            sleep(SECOND * 2).await;
            assert_eq!(tried.trials(), 3);
            assert!(writes(vitals));
            // Something was written since: the trial decides again.
            tried.fails.store(true, Ordering::Relaxed);
            vitals.not_written(8, &full());
            assert!(writes(vitals));
            sleep(SECOND / 10).await;
            assert!(!writes(vitals));
        })
        .await;
    }
}
