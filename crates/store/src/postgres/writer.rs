//! The one task of a server that writes.

use std::collections::hash_map::RandomState;
use std::hash::{BuildHasher as _, Hasher as _};
use std::time::Duration;

use deadpool_postgres::{ClientWrapper, Object, Pool};
use tokio::time::{Instant, sleep, timeout_at};

use super::connection::{LOCK, UNLOCK, get};
use super::tables::Connected;
use crate::clock::Clock;
use crate::head::Head;
use crate::queue::{Answer, Batch, Intake};
use crate::refused::StoreError;
use crate::tables::{Ask, Fault, Tables as _};

/// Writes a row once more, as it is: where a database is told to be read only, that fails as well.
const TRIAL: &str = "UPDATE evenfare_versions SET applied = applied WHERE version = 1";

/// Who was told that something is written is told after it is on disk, also where the database is set not to wait for
/// that. Whether it waits for standbys as well stays as it was set.
const DURABLE: &str = "SELECT set_config('synchronous_commit', 'on', TRUE) \
     WHERE current_setting('synchronous_commit') = 'off'";

/// A batch is tried so often at most,
const TRIES: u32 = 12;
/// and for so long.
const PATIENCE: Duration = Duration::from_secs(20);

/// Writes until the queue is closed and empty.
pub(super) async fn run(pool: Pool, mut intake: Intake, clock: Clock) {
    let mut open = None;
    while let Some(batch) = intake.next().await {
        match settle(&pool, &mut open, &batch, &clock).await {
            Ok((answers, last)) => {
                intake.written(last);
                batch.answer(answers);
            }
            Err(error) => batch.fail(&error),
        }
    }
}

/// All of a batch in one transaction, again where that is of use.
///
/// A connection on which something failed is given up, and with it the lock and the transaction. Was that
/// one committed all the same, the next finds its requests answered: it has to wait for the lock, which
/// the database frees only when the session before has ended either way.
async fn settle(
    pool: &Pool,
    open: &mut Option<Object>,
    batch: &Batch,
    clock: &Clock,
) -> Result<(Vec<Answer>, u64), StoreError> {
    let deadline = Instant::now() + PATIENCE;
    let mut tried = 0_u32;
    loop {
        let outcome = timeout_at(deadline, attempt(pool, open, batch, clock)).await;
        tried = tried.saturating_add(1);
        let error = match outcome {
            Ok(Ok(done)) => return Ok(done),
            Ok(Err(Fault::Whole { error, again: true })) => error,
            Ok(Err(fault)) => {
                give_up(open);
                return Err(fault.into());
            }
            Err(_) => {
                give_up(open);
                return Err(StoreError::Unavailable("it took too long".to_owned()));
            }
        };
        give_up(open);
        let pause = jitter(tried);
        if tried >= TRIES || Instant::now() + pause >= deadline {
            return Err(error);
        }
        sleep(pause).await;
    }
}

fn give_up(open: &mut Option<Object>) {
    let _ = open.take().map(Object::take);
}

/// Longer with every try, and different for every server.
fn jitter(tried: u32) -> Duration {
    let most = 10_u64.saturating_mul(1 << tried.min(8));
    let chance = RandomState::new().build_hasher().finish();
    Duration::from_millis(chance.checked_rem(most).unwrap_or(0).saturating_add(5))
}

async fn attempt(
    pool: &Pool,
    open: &mut Option<Object>,
    batch: &Batch,
    clock: &Clock,
) -> Result<(Vec<Answer>, u64), Fault> {
    let client = match open.take() {
        Some(client) => client,
        // The try before may have been committed.
        None => get(pool).await.map_err(|error| Fault::Whole { error: error.not_known(), again: true })?,
    };
    commit(open.insert(client), batch, clock).await
}

async fn commit(client: &ClientWrapper, batch: &Batch, clock: &Clock) -> Result<(Vec<Answer>, u64), Fault> {
    let tables = Connected(client);
    let step = |sql| Ask::new(sql, Vec::new());
    // The lock first: the transaction sees what was committed before it was taken.
    let begin = [step(LOCK), step("BEGIN ISOLATION LEVEL SERIALIZABLE"), step(DURABLE), Head::ask()];
    let mut head = Head::of_rows(tables.read(&begin).await?.pop().unwrap_or_default())?;
    let begun = head.sequence;
    let answers = batch.apply(&tables, &mut head, clock).await?;
    // What was written tells it as well.
    if batch.is_a_trial() && head.sequence == begun {
        tables.read(&[step(TRIAL)]).await?;
    }
    tables.read(&[step("COMMIT"), step(UNLOCK)]).await?;
    Ok((answers, head.sequence))
}
