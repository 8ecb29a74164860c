//! What PostgreSQL has to be for a store, and what the store has to be allowed there.

use evenfare_store::audit::audit;
use evenfare_store::entry::Content;
use evenfare_store::postgres::Postgres;
use evenfare_store::{Filter, Listing, Sight, Store};
use tokio_postgres::NoTls;

use crate::postgres::Cluster;
use crate::world::{content, day, fill, issue, run, text};

/// What a customer is called could not be written down there, and would be refused for ever as if nothing answered.
#[test]
fn a_new_store_is_made_where_all_letters_are() {
    let Some(cluster) = Cluster::shared() else { return };
    cluster.sql("postgres", "CREATE DATABASE latin ENCODING 'LATIN1' TEMPLATE template0");
    let url = cluster.url("latin");
    run(async {
        let refused = Postgres::connect(&url).await.map(drop).unwrap_err().to_string();
        assert!(refused.contains("its encoding is LATIN1"), "{refused}");
        let tables = cluster.sql("latin", "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'");
        assert_eq!(tables.trim(), "0");
        // One that an earlier build has made there goes on, as far as it goes.
        let versions = "CREATE TABLE evenfare_versions (version bigint PRIMARY KEY, applied bigint NOT NULL)";
        cluster.sql("latin", versions);
        let store = Postgres::connect(&url).await.unwrap();
        let write = async |id: &str, customer: &str| {
            let quote = Content { customer: text(customer), ..content(day(2026, 2, 2), 100) };
            store.write(issue(id, "Q", quote)).await
        };
        assert!(write("r-1", "Bäckerei").await.is_ok());
        let error = write("r-2", "Łódź").await.unwrap_err().to_string();
        assert!(error.contains("no equivalent in encoding \"LATIN1\""), "{error}");
        store.close().await;
    });
}

/// Whoever has the password of a server cannot take the triggers away with it.
#[test]
fn who_may_only_add_rows_can_serve() {
    let Some(cluster) = Cluster::shared() else { return };
    let owner = cluster.database();
    run(async {
        Postgres::connect(&owner).await.unwrap().close().await;
        let clerk = "CREATE ROLE clerk LOGIN; GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA public TO clerk; \
             REVOKE INSERT ON evenfare_versions FROM clerk; GRANT UPDATE (applied) ON evenfare_versions TO clerk";
        cluster.sql(&owner, clerk);
        let url = owner.replace("//evenfare@", "//clerk@");
        let store = Postgres::connect(&url).await.unwrap();
        fill(&store).await;
        store.can_write().await.unwrap();
        assert_eq!(audit(&store, None, |_| Ok(())).await.unwrap().events, 14);
        store.close().await;
        let (client, connection) = tokio_postgres::connect(&url, NoTls).await.unwrap();
        tokio::spawn(connection);
        for (sql, why) in [
            ("DROP TRIGGER events_stay ON events", "must be owner"),
            ("ALTER TABLE events DISABLE TRIGGER ALL", "must be owner"),
            // Which no server knows: none would start.
            ("INSERT INTO evenfare_versions VALUES (99, 0)", "permission denied"),
            ("UPDATE evenfare_versions SET version = 99", "permission denied"),
        ] {
            let error = client.batch_execute(sql).await.unwrap_err();
            let said = error.as_db_error().unwrap().message();
            assert!(said.contains(why), "{sql}: {said}");
        }
    });
}

/// It may stand in a schema that is looked through as well.
#[test]
fn a_store_of_another_schema_is_another_store() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    run(async {
        let real = Postgres::connect(&url).await.unwrap();
        real.write(issue("r-1", "Q", content(day(2026, 2, 2), 100))).await.unwrap();
        cluster.sql(&url, "CREATE SCHEMA trial");
        let url = format!("{url}?options=-c%20search_path%3Dtrial%2Cpublic");
        let trial = Postgres::connect(&url).await.unwrap();
        assert_eq!(trial.last().await, Ok(0));
        trial.write(issue("r-2", "Q", content(day(2026, 2, 2), 100))).await.unwrap();
        assert_eq!((real.last().await, trial.last().await), (Ok(1), Ok(1)));
        real.close().await;
        trial.close().await;
    });
}

/// PostgreSQL has days that no calendar has; what has one is as damaged as in SQLite, and hides nothing else.
#[test]
fn a_day_without_end_is_no_day() {
    let Some(cluster) = Cluster::shared() else { return };
    let url = cluster.database();
    run(async {
        let store = Postgres::connect(&url).await.unwrap();
        fill(&store).await;
        let damage = "ALTER TABLE editions DISABLE TRIGGER ALL; ALTER TABLE entries DISABLE TRIGGER ALL; \
             UPDATE editions SET begins = 'infinity' WHERE event = 8; \
             UPDATE entries SET quoted = 'infinity' WHERE event = 6";
        cluster.sql(&url, damage);
        let editions = store.editions().await.unwrap();
        let unread: Vec<bool> = editions.iter().map(|one| one.unread.is_some()).collect();
        assert_eq!(unread, [false, true], "{editions:?}");
        let all = Listing { sight: Sight::All, filter: Filter::default(), before: None, limit: 9 };
        let page = store.list(&all).await.unwrap();
        assert_eq!(page.summaries.len(), 2);
        let why = page.summaries[0].as_ref().map(|line| line.number.clone()).unwrap_err().to_string();
        assert!(why.contains("Q-2026-00002: the day cannot be read"), "{why}");
        store.close().await;
    });
}
