//! When things were written down, by clocks that are set forward and back.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, TimeDelta, Utc};
use evenfare_store::Store;
use evenfare_store::audit::{SetBack, audit};
use evenfare_store::clock::{Clock, TOLERANCE};
use evenfare_store::event::Record;
use evenfare_store::postgres::Postgres;
use evenfare_store::sqlite::Sqlite;
use proptest::prelude::*;

use crate::model::Model;
use crate::postgres::Cluster;
use crate::world::{content, day, issue, run, same, schema};

/// What clocks show.
#[derive(Clone)]
pub struct Shown(Arc<AtomicI64>);

impl Default for Shown {
    fn default() -> Self {
        let noon = day(2026, 7, 1).and_hms_opt(12, 0, 0).unwrap().and_utc();
        Self(Arc::new(AtomicI64::new(noon.timestamp_micros())))
    }
}

impl Shown {
    pub fn now(&self) -> DateTime<Utc> {
        DateTime::from_timestamp_micros(self.0.load(Ordering::Relaxed)).unwrap()
    }

    pub fn set(&self, now: DateTime<Utc>) {
        self.0.store(now.timestamp_micros(), Ordering::Relaxed);
    }

    /// One that shows it.
    pub fn clock(&self) -> Clock {
        let shown = self.clone();
        Clock::new(move || shown.now())
    }
}

/// When all of it was written down, and what is found by that; how often a clock was set back.
pub async fn dated(model: &Model, store: &dyn Store, records: &[Record]) -> Result<usize, TestCaseError> {
    let moments: Vec<_> = records.iter().map(|record| record.event.recorded).collect();
    same("moments", &moments, &model.moments)?;
    same("last recorded", &store.last_recorded().await.unwrap(), &moments.last().copied())?;
    let (first, end) = (DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC);
    let begins = [first].into_iter().chain(moments.iter().copied());
    let ends = moments.iter().copied().chain([end]);
    for (begin, end) in begins.zip(ends).chain([(first, end)]) {
        // What is dated by a microsecond is before any part of it.
        for begin in [begin, begin + TimeDelta::nanoseconds(1)] {
            let within = (1..).zip(&moments).filter(|(_, moment)| begin <= **moment && **moment < end);
            let within: Vec<u64> = within.map(|(sequence, _)| sequence).collect();
            let expected = within.first().copied().zip(within.last().copied());
            same("between", &store.between(begin, end).await.unwrap(), &expected)?;
        }
    }
    let audited = audit(store, None, |_| Ok(())).await;
    prop_assert!(audited.is_ok(), "{:?}", audited);
    let pairs = (2..).zip(moments.windows(2));
    let set_back = pairs.filter(|(_, pair)| pair[1] < pair[0]);
    let set_back: Vec<_> =
        set_back.map(|(sequence, pair)| SetBack { sequence, before: pair[0], recorded: pair[1] }).collect();
    same("set back", &audited.unwrap().set_back, &set_back)?;
    Ok(set_back.len())
}

/// What was written down by a clock that was a year ahead stays as it is; all else has its own time.
async fn check(store: &dyn Store, shown: &Shown) {
    let now = shown.now();
    let write = async |id: &str, moment: DateTime<Utc>| {
        shown.set(moment);
        store.write(issue(id, "Q", content(day(2026, 7, 1), 100))).await.unwrap().event.recorded
    };
    let (minute, year) = (TimeDelta::minutes(1), TimeDelta::days(365));
    assert_eq!(write("in-time", now).await, now);
    assert_eq!(write("ahead", now + year).await, now + year);
    assert_eq!(write("set-right", now + minute).await, now + minute);
    // Servers differ a little.
    assert_eq!(write("of-another", now - minute).await, now + minute);
    assert_eq!(write("just-so-much", now + minute - TOLERANCE).await, now + minute);
    assert_eq!(write("goes-on", now + minute * 2).await, now + minute * 2);
    // Asked again it is answered as it was.
    assert_eq!(write("ahead", now + minute * 3).await, now + year);

    let audited = audit(store, None, |_| Ok(())).await.unwrap();
    let back = SetBack { sequence: 3, before: now + year, recorded: now + minute };
    assert_eq!(audited.set_back, [back]);
    assert_eq!(store.last_recorded().await.unwrap(), Some(now + minute * 2));
    // Each is found in its own days.
    let day = TimeDelta::days(1);
    assert_eq!(store.between(now, now + day).await.unwrap(), Some((1, 6)));
    assert_eq!(store.between(now + year, now + year + day).await.unwrap(), Some((2, 2)));
    assert_eq!(store.between(now + day, now + year).await.unwrap(), None);
    store.close().await;
}

#[test]
fn a_clock_that_was_ahead_keeps_no_time() {
    run(async {
        let folder = tempfile::tempdir().unwrap();
        let shown = Shown::default();
        check(&Sqlite::open_by(folder.path().join("store.db"), shown.clock()).unwrap(), &shown).await;
        if let Some(cluster) = Cluster::shared() {
            let shown = Shown::default();
            let store = Postgres::connect_by(&schema(&cluster), shown.clock()).await.unwrap();
            check(&store, &shown).await;
        }
    });
}
