//! What is told of a store that is silent, and of an edition that is damaged.

use std::ops::RangeInclusive;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use chrono::DateTime;
use evenfare_engine::view::Reader;
use evenfare_store::Sight;
use evenfare_store::caller::{Caller, CredentialKind, Role};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Entry, KeptEdition};
use evenfare_store::event::Event;
use evenfare_store::invoice::Invoice;
use evenfare_store::number::Number;
use evenfare_store::{InvoiceListing, InvoicePage, Listing, Page};
use tokio::sync::oneshot;

use super::*;
use crate::serve::callers::LISTS_OF_A_PARTNER;

/// A store that holds nothing but editions, and at times says nothing.
struct Nearly {
    speaks: watch::Sender<bool>,
    news: watch::Sender<u64>,
    callers: Mutex<Vec<Result<Caller, StoreError>>>,
    editions: Mutex<Vec<KeptEdition>>,
    /// How often these were asked for.
    asked: AtomicUsize,
    /// All its connections are at work.
    busy: AtomicBool,
    breaks_off: AtomicBool,
}

impl Default for Nearly {
    fn default() -> Self {
        let (speaks, news) = (watch::Sender::new(true), watch::Sender::new(0));
        Self {
            speaks,
            news,
            callers: Mutex::default(),
            editions: Mutex::default(),
            asked: AtomicUsize::new(0),
            busy: AtomicBool::new(false),
            breaks_off: AtomicBool::new(false),
        }
    }
}

impl Nearly {
    /// Keeps an edition that nobody can read.
    fn keep(&self, code: &str, year: i32) {
        self.editions.lock().unwrap().push(KeptEdition {
            code: code.parse().unwrap(),
            from: NaiveDate::from_ymd_opt(year, 1, 1).unwrap(),
            until: None,
            unread: None,
            currency: "EUR".to_owned(),
            archive: b"of a newer program".to_vec(),
            published: Some(DateTime::UNIX_EPOCH),
            publisher: "front-desk".to_owned(),
        });
    }

    fn kept(&self) -> Vec<KeptEdition> {
        self.editions.lock().unwrap().clone()
    }

    async fn says<T>(&self, answer: T) -> Result<T, StoreError> {
        self.speaks.subscribe().wait_for(|speaks| *speaks).await.unwrap();
        if self.busy.load(Ordering::Relaxed) { Err(StoreError::Busy) } else { Ok(answer) }
    }
}

#[tonic::async_trait]
impl Store for Nearly {
    async fn write(&self, _: Asked) -> Result<Record, StoreError> {
        Err(StoreError::Closed)
    }

    async fn answered(&self, _: &Code) -> Result<Option<Record>, StoreError> {
        self.says(None).await
    }

    async fn entry(
        &self,
        _: &Number,
        _: Option<(u32, bool)>,
        _: &Sight,
    ) -> Result<Option<Entry>, StoreError> {
        self.says(None).await
    }

    async fn list(&self, _: &Listing) -> Result<Page, StoreError> {
        self.says(Page::default()).await
    }

    async fn invoice(&self, _: &Number, _: &Sight) -> Result<Option<Invoice>, StoreError> {
        self.says(None).await
    }

    async fn invoices(&self, _: &InvoiceListing) -> Result<InvoicePage, StoreError> {
        self.says(InvoicePage::default()).await
    }

    async fn events(&self, _: u64, _: u32) -> Result<Vec<Event>, StoreError> {
        self.says(Vec::new()).await
    }

    async fn records(&self, _: u64, _: u32) -> Result<Vec<Record>, StoreError> {
        self.says(Vec::new()).await
    }

    async fn between(&self, _: DateTime<Utc>, _: DateTime<Utc>) -> Result<Option<(u64, u64)>, StoreError> {
        self.says(None).await
    }

    async fn last_recorded(&self) -> Result<Option<DateTime<Utc>>, StoreError> {
        self.says(None).await
    }

    async fn last(&self) -> Result<u64, StoreError> {
        self.says(0).await
    }

    async fn settings(&self) -> Result<u64, StoreError> {
        let last = u64::try_from(self.kept().len()).unwrap();
        self.says(last).await
    }

    async fn editions(&self) -> Result<Vec<KeptEdition>, StoreError> {
        self.asked.fetch_add(1, Ordering::Relaxed);
        self.says(self.kept()).await
    }

    async fn callers(&self) -> Result<Vec<Result<Caller, StoreError>>, StoreError> {
        let callers = self.callers.lock().unwrap().clone();
        self.says(callers).await
    }

    async fn stray(&self, _: RangeInclusive<i64>) -> Result<Option<(u64, String)>, StoreError> {
        self.says(None).await
    }

    async fn can_write(&self) -> Result<(), StoreError> {
        self.says(()).await
    }

    fn breaks_off(&self) -> bool {
        self.breaks_off.load(Ordering::Relaxed)
    }

    fn news(&self) -> watch::Receiver<u64> {
        self.news.subscribe()
    }

    async fn close(&self) {}
}

/// A disk that hangs fails no question, and has no answer either.
#[tokio::test(start_paused = true)]
async fn a_store_that_is_silent_is_told_as_one_that_does_not_answer() {
    let store = Arc::new(Nearly::default());
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store.clone(), Arc::default(), 10, stops).await.unwrap();
    let reads = || house.vitals.found().borrow().reads();
    let mut last = Looks::new();
    store.speaks.send_replace(false);
    {
        let mut look = pin!(house.look_and_tell(&mut last));
        assert!(timeout(2 * SILENCE, &mut look).await.is_err(), "it is waited for");
        assert!(!reads());
        store.speaks.send_replace(true);
        look.await;
    }
    assert!(reads() && last.told.is_none());
}

/// Whoever chooses among servers would take from one that has much to do all that it does without the store.
#[tokio::test(start_paused = true)]
async fn a_store_that_has_too_much_to_do_is_not_down() {
    let store = Arc::new(Nearly::default());
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store.clone(), Arc::default(), 10, stops).await.unwrap();
    let mut last = Looks::new();
    store.busy.store(true, Ordering::Relaxed);
    house.look_and_tell(&mut last).await;
    assert!(house.vitals.found().borrow().reads());
    assert_eq!(last.told, Some(StoreError::Busy.to_string()));
    // None of its connections comes back.
    tokio::time::advance(SILENCE).await;
    house.look_and_tell(&mut last).await;
    assert!(!house.vitals.found().borrow().reads());
    store.busy.store(false, Ordering::Relaxed);
    house.look_and_tell(&mut last).await;
    assert!(house.vitals.found().borrow().reads() && last.told.is_none());
}

/// As of a newer program, on a database of several servers.
#[tokio::test]
async fn an_edition_that_cannot_be_read_is_read_once() {
    let store = Arc::new(Nearly::default());
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store.clone(), Arc::default(), 10, stops).await.unwrap();
    let mut last = Looks::new();
    for (code, year, asked) in [("2027-01", 2027, 2), ("2028-01", 2028, 3)] {
        store.keep(code, year);
        for _ in 0..3 {
            house.look_and_tell(&mut last).await;
            assert_eq!(last.told, None);
        }
        assert_eq!(store.asked.load(Ordering::Relaxed), asked, "{code}");
        let told = house.editions.now().told.last().map(|one| (one.code.clone(), one.unreadable.is_empty()));
        assert_eq!(told, Some((code.to_owned(), false)));
    }
    assert!(house.vitals.found().borrow().reads(), "the store has answered");
}

/// Another server may have published it a moment ago.
#[tokio::test]
async fn an_edition_is_looked_for_before_it_is_missed() {
    let store = Arc::new(Nearly::default());
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store.clone(), Arc::default(), 10, stops).await.unwrap();
    store.keep("2027-01", 2027);
    let refusal = house.editions_with(&"2027-01".parse().unwrap()).await.unwrap_err();
    assert_eq!(refusal, Refusal::UnreadableEdition);
    assert!(
        house.editions_with(&"2026-01".parse().unwrap()).await.is_ok(),
        "what is needed of it is missed there"
    );
}

/// As of a later version with more roles; who was withdrawn meanwhile has to be known all the same.
#[tokio::test]
async fn a_caller_who_cannot_be_read_keeps_no_other_out() {
    let store = Arc::new(Nearly::default());
    let caller = Caller {
        name: "front-desk".parse().unwrap(),
        role: Role::Office,
        kind: CredentialKind::Token,
        credential: Digest::of(b"a token"),
        added: DateTime::UNIX_EPOCH,
        withdrawn: None,
    };
    *store.callers.lock().unwrap() = vec![Err(StoreError::Corrupt(String::from("a role"))), Ok(caller)];
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store, Arc::default(), 10, stops).await.unwrap();
    assert!(house.callers.holder(CredentialKind::Token, Digest::of(b"a token")).is_some());
}

/// It was kept by the first sending, or just now.
#[test]
fn nobody_is_told_of_a_write_that_nothing_was_kept_while_that_is_not_known() {
    for error in [StoreError::Busy, StoreError::Closed] {
        let told = not_known(Refusal::from(error));
        assert!(matches!(told, Refusal::Store(StoreError::Unavailable(_))), "{told:?}");
    }
}

/// What follows from a list under way that nobody waits for: of the partner himself, and of two of all partners.
async fn lists_behind_one_given_up(breaks_off: bool) -> [(bool, bool); 4] {
    let store = Arc::new(Nearly::default());
    store.breaks_off.store(breaks_off, Ordering::Relaxed);
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(store, Arc::default(), 10, stops).await.unwrap();
    let partner = Reader::Partner("P-1".parse().unwrap());
    let lists = async |room: Option<&Room>| {
        let quotes = timeout(SOON, house.page(&partner, room, None, 0, "")).await.is_ok();
        let invoices = timeout(SOON, house.invoices(&partner, room, None, 0, "")).await.is_ok();
        (quotes, invoices)
    };
    let (one, other) = (Room::new(), Room::new());
    let begun = async |room: &Room| {
        let (ends, ended) = oneshot::channel::<()>();
        let list = house.listed(Some(room), async move { Ok(ended.await.is_err()) });
        assert!(timeout(SOON, list).await.is_err());
        ends
    };
    let under_way = begun(&one).await;
    let (own, others) = (lists(Some(&one)).await, lists(Some(&other)).await);
    let all = (under_way, begun(&other).await);
    let third = lists(Some(&Room::new())).await;
    assert_eq!(lists(None).await, (true, true), "nobody but partners waits for that");
    drop(all);
    [own, others, third, lists(Some(&one)).await]
}

const SOON: Duration = Duration::from_millis(200);

/// A list that finds nothing reads all that is his, and nobody else waits for that.
#[tokio::test(start_paused = true)]
async fn lists_of_partners_leave_readers_to_the_others() {
    let (goes, waits) = ((true, true), (false, false));
    assert_eq!(lists_behind_one_given_up(false).await, [waits, goes, waits, goes], "it is read to its end");
    assert_eq!(lists_behind_one_given_up(true).await, [goes; 4], "it is over");
}

/// His lists that wait leave room for his other calls.
#[tokio::test(start_paused = true)]
async fn one_partner_has_so_many_lists_under_way_and_no_more() {
    let (_stopping, stops) = watch::channel(false);
    let house = House::open(Arc::new(Nearly::default()), Arc::default(), 10, stops).await.unwrap();
    let room = Room::new();
    let list = || house.listed(Some(&room), std::future::pending::<Result<(), StoreError>>());
    let mut waiting: Vec<_> = (0..LISTS_OF_A_PARTNER).map(|_| Box::pin(list())).collect();
    for one in &mut waiting {
        assert!(timeout(SOON, one).await.is_err());
    }
    assert_eq!(list().await, Err(Refusal::TooMany("lists of this partner under way")));
    assert!(house.listed(Some(&Room::new()), async { Ok(()) }).await.is_ok());
}
