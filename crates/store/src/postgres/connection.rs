//! Connections to the database, and bringing it up to date.

use std::time::Duration;

use chrono::Utc;
use deadpool_postgres::{
    ClientWrapper, Manager, ManagerConfig, Object, Pool, PoolError, RecyclingMethod, Runtime, TimeoutType,
};

use super::address::Address;
use super::tables::{Connected, unavailable};
use super::tls::Connecting;
use crate::refused::StoreError;
use crate::tables::{Ask, ask};

/// The versions of the tables, in order: the first is 1.
const MIGRATIONS: [&str; 5] = [
    include_str!("../../migrations/postgres/0001_quotes.sql"),
    include_str!("../../migrations/postgres/0002_callers.sql"),
    include_str!("../../migrations/postgres/0003_invoices.sql"),
    include_str!("../../migrations/postgres/0004_fewer_pages.sql"),
    include_str!("../../migrations/postgres/0005_rows_stay.sql"),
];

/// One server writes at a time, or brings the tables up to date: the lock's key, an arbitrary number.
pub(super) const LOCK: &str = "SELECT FROM pg_advisory_lock(7164531982440276)";
/// Lets the next one write.
pub(super) const UNLOCK: &str = "SELECT FROM pg_advisory_unlock(7164531982440276)";

/// The writer and a few that read.
const CONNECTIONS: usize = 8;
/// How long a connection may take.
const CONNECT: Duration = Duration::from_secs(5);
/// A host that has not acknowledged anything for this long is gone. The system's own bound is a quarter of an hour.
const VANISHED: Duration = Duration::from_secs(30);
/// For every session, in milliseconds: a statement that takes longer is given up; a server that has died in
/// the middle of a transaction does not hold the others up for longer than that.
const SESSION: &str = "-c statement_timeout=30000 -c lock_timeout=10000 \
     -c idle_in_transaction_session_timeout=10000 -c client_min_messages=warning";

pub(super) fn pool(url: &str) -> Result<Pool, StoreError> {
    let Address { mut config, encryption } = url.parse()?;
    let options = format!("{} {SESSION}", config.get_options().unwrap_or_default());
    config.options(options.trim()).connect_timeout(CONNECT);
    config.tcp_user_timeout(VANISHED).keepalives_idle(Duration::from_secs(15));
    config.keepalives_interval(Duration::from_secs(5)).keepalives_retries(3);
    if config.get_application_name().is_none() {
        config.application_name("evenfare");
    }
    let recycling = ManagerConfig { recycling_method: RecyclingMethod::Fast };
    Pool::builder(Manager::from_connect(config, Connecting::new(&encryption)?, recycling))
        .max_size(CONNECTIONS)
        .runtime(Runtime::Tokio1)
        .wait_timeout(Some(CONNECT))
        .create_timeout(Some(CONNECT))
        .build()
        .map_err(|error| StoreError::Unavailable(error.to_string()))
}

pub(super) async fn get(pool: &Pool) -> Result<Object, StoreError> {
    pool.get().await.map_err(|error| match error {
        PoolError::Backend(error) => unavailable(&error),
        PoolError::Closed => StoreError::Closed,
        PoolError::Timeout(TimeoutType::Wait) => StoreError::Busy,
        error => StoreError::Unavailable(error.to_string()),
    })
}

/// Under the lock, so that servers that start together do this one after the other.
pub(super) async fn migrate(client: &ClientWrapper) -> Result<(), StoreError> {
    let run = async |sql: &str| client.batch_execute(sql).await.map_err(|error| unavailable(&error));
    run(LOCK).await?;
    let done = under_lock(client).await;
    // Where it failed the session still holds the lock: let go of it whatever came.
    let unlocked = run(UNLOCK).await;
    done.and(unlocked)
}

async fn under_lock(client: &ClientWrapper) -> Result<(), StoreError> {
    let run = async |sql: &str| client.batch_execute(sql).await.map_err(|error| unavailable(&error));
    // Whoever may add rows to a store that is there need not be allowed to make tables. One in another schema of the search
    // path is another store.
    let sql = "SELECT current_setting('server_encoding') \
         WHERE to_regclass(quote_ident(current_schema()) || '.evenfare_versions') IS NULL";
    if let Some(mut row) = ask(&Connected(client), Ask::new(sql, Vec::new())).await?.into_iter().next() {
        keeps_utf8(&row.text("the encoding")?)?;
        run("CREATE TABLE evenfare_versions (version bigint PRIMARY KEY, applied bigint NOT NULL)").await?;
    }
    let question = Ask::new("SELECT coalesce(max(version), 0) FROM evenfare_versions", Vec::new());
    let found = match ask(&Connected(client), question).await?.into_iter().next() {
        Some(mut row) => row.int("the version")?,
        None => 0_i64,
    };
    let known = i64::try_from(MIGRATIONS.len()).unwrap_or(i64::MAX);
    if found > known {
        return Err(StoreError::Newer { found, known });
    }
    for (to, sql) in (1_i64..).zip(MIGRATIONS).filter(|(to, _)| *to > found) {
        let now = Utc::now().timestamp_micros();
        // Several statements sent as one are one transaction.
        let step = format!("BEGIN; {sql}; INSERT INTO evenfare_versions VALUES ({to}, {now}); COMMIT");
        if let Err(error) = run(&step).await {
            let _ = run("ROLLBACK").await;
            return Err(error);
        }
    }
    Ok(())
}

/// A new store is made where every name can be written down.
fn keeps_utf8(encoding: &str) -> Result<(), StoreError> {
    if encoding == "UTF8" {
        return Ok(());
    }
    Err(StoreError::Unavailable(format!(
        "its encoding is {encoding} and not UTF8; expected a database made with ENCODING 'UTF8'"
    )))
}
