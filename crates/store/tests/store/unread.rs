//! What is read where something cannot be: it was damaged, or a later version has written it.

use chrono::NaiveDate;
use evenfare_store::audit::{AuditError, Broken, Link, audit};
use evenfare_store::command::{Command, Request};
use evenfare_store::event::Kept;
use evenfare_store::refused::{Refused, StoreError};
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{Filter, InvoiceFilter, InvoiceListing, Listing, Page, Sight, Store};
use tempfile::TempDir;

use crate::tampering::unlocked;
use crate::world::{code, day, fill, request, run};

/// A store with fourteen events, after those statements.
async fn after(sql: &str) -> (TempDir, Sqlite) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.db");
    let store = Sqlite::open(&path).unwrap();
    fill(&store).await;
    store.close().await;
    unlocked(&path).execute_batch(sql).unwrap();
    (folder, Sqlite::open(&path).unwrap())
}

/// Who watches reads no documents: what happened is told also where nothing is left of what it was about.
#[test]
fn events_are_told_without_what_they_are_about() {
    run(async {
        let (_folder, store) = after("DELETE FROM entries; DELETE FROM invoices").await;
        assert!(matches!(store.records(0, 100).await, Err(StoreError::Corrupt(_))));
        assert_eq!(store.events(0, 100).await.unwrap().len(), 14);
        store.close().await;
    });
}

/// Whoever is to mend it has to find it among millions.
#[test]
fn what_cannot_be_read_is_told_with_its_place() {
    run(async {
        let (_folder, store) = after("UPDATE events SET kind = 'refunded' WHERE sequence = 5").await;
        let why = StoreError::Corrupt("event 5: the kind cannot be `refunded`".to_owned());
        assert_eq!(store.events(0, 100).await, Err(why));
        store.close().await;

        let (_folder, store) = after("UPDATE events SET subject = 'x' WHERE sequence = 4").await;
        let why = StoreError::Corrupt("event 4: the subject cannot be `x`".to_owned());
        assert_eq!(store.records(0, 100).await, Err(why));
        store.close().await;

        let damage = "UPDATE entries SET series = 'q' WHERE event = 2; \
             UPDATE callers SET kind = 'password' WHERE name = 'anna'";
        let (_folder, store) = after(damage).await;
        let why = StoreError::Corrupt("event 2: the series cannot be `q`".to_owned());
        assert_eq!(store.records(0, 100).await, Err(why));
        let callers = store.callers().await.unwrap();
        let why = StoreError::Corrupt("anna: the kind of credential cannot be `password`".to_owned());
        assert!(callers.contains(&Err(why)), "{callers:?}");
        store.close().await;
    });
}

/// Who knows no such role, as a server of an earlier version may not, knows all other callers and every quote.
#[test]
fn a_caller_who_cannot_be_read_hides_nothing_else() {
    run(async {
        let (_folder, store) = after("UPDATE callers SET role = 'auditor' WHERE name = 'anna'").await;
        let callers = store.callers().await.unwrap();
        let unread: Vec<String> =
            callers.iter().filter_map(|one| one.as_ref().err().map(ToString::to_string)).collect();
        assert_eq!((callers.len(), unread.len()), (2, 1), "{callers:?}");
        assert!(unread[0].contains("anna: the role cannot be `auditor`"), "{unread:?}");

        let records = store.records(0, 100).await.unwrap();
        let unread = records.iter().filter(|record| matches!(record.kept, Kept::Unread(_))).count();
        assert!(unread > 0 && records.len() == 14, "{records:?}");
        // An audit does not pass him over.
        let audited = audit(&store, None, |_| Ok(())).await;
        let unreadable = |broken: &Broken| broken.link == Link::Readable;
        assert!(matches!(&audited, Err(AuditError::Broken(broken)) if unreadable(broken)), "{audited:?}");
        store.close().await;
    });
}

/// Nor does a currency that it does not know.
#[test]
fn an_edition_in_an_unknown_currency_hides_nothing_else() {
    run(async {
        let (_folder, store) = after("UPDATE editions SET currency = 'QQQ' WHERE event = 8").await;
        let editions = store.editions().await.unwrap();
        let unknown: Vec<bool> = editions.iter().map(|one| one.currency == "QQQ").collect();
        assert_eq!(unknown.iter().filter(|unknown| **unknown).count(), 1, "{editions:?}");
        assert!(editions.len() > 1 && store.records(0, 100).await.unwrap().len() == 14);
        let audited = audit(&store, None, |_| Ok(())).await;
        assert!(matches!(audited, Err(AuditError::Broken(broken)) if broken.link == Link::Content));
        store.close().await;
    });
}

/// Nor does a quote in one, or one that cannot be read otherwise: it is told which that is, and the list goes on.
/// Invoices add up, and a list of them ends at one that cannot be read.
#[test]
fn a_list_says_an_unknown_currency_and_which_row_is_damaged() {
    run(async {
        let all = Listing { sight: Sight::All, filter: Filter::default(), before: None, limit: 9 };
        let (one, other) = ("Q-2026-00001".to_owned(), "Q-2026-00002".to_owned());
        let (_folder, store) =
            after(&format!("UPDATE entries SET currency = 'QQQ' WHERE number = '{other}'")).await;
        for sight in [Sight::All, Sight::Partner("NORD".parse().unwrap())] {
            let page = store.list(&Listing { sight, ..all.clone() }).await.unwrap();
            let lines = page.summaries.into_iter().map(Result::unwrap);
            let told = lines.map(|line| (line.number.to_string(), line.currency));
            assert_eq!(
                told.collect::<Vec<_>>(),
                [(other.clone(), "QQQ".to_owned()), (one.clone(), "EUR".to_owned())]
            );
        }
        store.close().await;

        let damage = "UPDATE entries SET quoted = 'today' WHERE number = 'Q-2026-00002'; \
             UPDATE invoices SET currency = 'QQQ' WHERE number = 'R-2026-00002'";
        let (_folder, store) = after(damage).await;
        let why = StoreError::Corrupt(format!("{other}: the day cannot be `today`"));
        let numbers = |page: Page| -> Vec<_> {
            page.summaries.into_iter().map(|line| line.map(|line| line.number.to_string())).collect()
        };
        assert_eq!(numbers(store.list(&all).await.unwrap()), [Err(why.clone()), Ok(one.clone())]);
        let first = store.list(&Listing { limit: 1, ..all.clone() }).await.unwrap();
        let before = first.next.clone();
        assert_eq!((numbers(first), before.as_ref().unwrap().to_string()), (vec![Err(why)], other));
        let rest = store.list(&Listing { before, limit: 1, ..all }).await.unwrap();
        assert_eq!((rest.next.clone(), numbers(rest)), (None, vec![Ok(one)]));

        let all =
            InvoiceListing { sight: Sight::All, filter: InvoiceFilter::default(), before: None, limit: 9 };
        let why = store.invoices(&all).await.unwrap_err();
        assert_eq!(why, StoreError::Corrupt("R-2026-00002: the currency cannot be `QQQ`".to_owned()));
        let before = Some("R-2026-00002".parse().unwrap());
        assert_eq!(store.invoices(&InvoiceListing { before, ..all }).await.unwrap().invoices.len(), 1);
        store.close().await;
    });
}

/// Those that lie between the editions before and after it.
#[test]
fn an_edition_whose_days_cannot_be_read_has_all_that_may_be_its_own() {
    run(async {
        let (first, last) = ("the first day", "the last day");
        // E1 has the first half of the year, E2 what follows.
        for (code, damage, unread, from, until) in [
            ("E1", "begins = 'Monday'", first, "0001-01-01", Some("2026-06-30")),
            ("E1", "ends = '2026-06-31'", last, "2026-01-01", None),
            ("E1", "begins = '', ends = '2026-6-30'", first, "0001-01-01", None),
            ("E2", "begins = '2026-7-1'", first, "2026-07-01", None),
            ("E2", "ends = 'never'", last, "2026-07-01", None),
            ("E1", "code = 'E 1'", "the code", "2026-01-01", Some("2026-06-30")),
            ("E2", "currency = CAST(x'45ff52' AS TEXT)", "the currency", "2026-07-01", None),
        ] {
            let (_folder, store) =
                after(&format!("UPDATE editions SET {damage} WHERE code = '{code}'")).await;
            let editions = store.editions().await.unwrap();
            let codes: Vec<&str> = editions.iter().map(|one| one.code.as_str()).collect();
            assert_eq!(codes, ["E1", "E2"], "{damage}");
            let other = editions.iter().find(|one| one.code.as_str() != code).unwrap();
            assert_eq!(other.unread, None, "{damage}");
            let one = editions.iter().find(|one| one.code.as_str() == code).unwrap();
            let why = one.unread.as_deref().unwrap();
            assert!(why.starts_with(unread), "{damage}: {why}");
            let days = (one.from.to_string(), one.until.map(|day| day.to_string()));
            assert_eq!(days, (from.to_owned(), until.map(str::to_owned)), "{damage}");
            // It has no part in any sum; but as it was written it is not any more.
            let records = store.records(0, 100).await.unwrap();
            let unread = records.iter().filter(|record| matches!(record.kept, Kept::Unread(_))).count();
            assert_eq!((records.len(), unread), (14, 1), "{damage}");
            let audited = audit(&store, None, |_| Ok(())).await;
            let unreadable = |broken: &Broken| broken.link == Link::Readable;
            assert!(
                matches!(&audited, Err(AuditError::Broken(broken)) if unreadable(broken)),
                "{damage}: {audited:?}"
            );
            store.close().await;
        }
        // What an open one leaves begins on its second day.
        let damage = "UPDATE editions SET ends = NULL WHERE code = 'E1'; \
             UPDATE editions SET begins = 'July' WHERE code = 'E2'";
        let (_folder, store) = after(damage).await;
        let editions = store.editions().await.unwrap();
        assert_eq!(editions[1].from.to_string(), "2026-01-02");
        store.close().await;
    });
}

/// Its name stands in the event that published it as well. Who did so has no part in any price.
#[test]
fn an_edition_is_known_by_the_name_that_it_was_published_by() {
    run(async {
        let damage = "UPDATE editions SET code = 'E 1' WHERE event = 7; \
             UPDATE events SET caller = CAST(x'ff' AS TEXT), recorded = 9223372036854775807 WHERE sequence = 8";
        let (_folder, store) = after(damage).await;
        let editions = store.editions().await.unwrap();
        let told = editions.iter().map(|one| (one.code.as_str(), one.unread.as_deref(), &*one.publisher));
        let why = "the code cannot be `E 1`";
        assert!(told.eq([("E1", Some(why), "office-1"), ("E2", None, "")]), "{editions:?}");
        let published: Vec<bool> = editions.iter().map(|one| one.published.is_some()).collect();
        assert_eq!(published, [true, false]);
        let refused = store.write(publish("p-3", "E1", day(2027, 1, 1), None)).await.unwrap_err();
        assert_eq!(refused, StoreError::Refused(Refused::EditionUnreadable { code: code("E1") }));
        // Nor is it answered again as if it had been something else.
        let again = publish("p-1", "E1", day(2026, 1, 1), Some(day(2026, 6, 30)));
        assert_eq!(store.write(again).await, Err(StoreError::Corrupt(format!("event 7: {why}"))));
        store.close().await;

        let damage = "UPDATE editions SET code = 'E 1' WHERE event = 7; \
             UPDATE events SET subject = 'E 1' WHERE sequence = 7";
        let (_folder, store) = after(damage).await;
        let nameless = "event 7: the name that an edition was published by cannot be `E 1`";
        assert_eq!(store.editions().await, Err(StoreError::Corrupt(nameless.to_owned())));
        store.close().await;
    });
}

/// What is missing is only the name that nobody asks for.
#[test]
fn an_edition_without_its_event_keeps_its_days() {
    run(async {
        let (_folder, store) = after("DELETE FROM events WHERE sequence = 8").await;
        let (code, after) = (code("E2"), day(2026, 7, 1));
        let refused = store.write(publish("p-3", "E3", after, None)).await.unwrap_err();
        assert_eq!(refused, StoreError::Refused(Refused::EditionTooEarly { code, after }));
        store.close().await;
    });
}

fn publish(id: &str, name: &str, from: NaiveDate, until: Option<NaiveDate>) -> Request {
    let (code, currency) = (code(name), "EUR".parse().unwrap());
    request(id, Command::Publish { code, from, until, currency, archive: vec![1, 2, 3] })
}
