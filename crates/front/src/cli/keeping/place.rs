//! The store of a command, and what is written to it from the command line.

use std::future::Future;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use evenfare_engine::text::Code;
use evenfare_store::Store;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::event::Record;
use evenfare_store::number::{InvalidNumber, Number};
use evenfare_store::refused::StoreError;

use crate::cli::args::PricedBy;
use crate::cli::args::keeping::{Kept, Where};
use crate::cli::exit::Exit;
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::{Page, style};
use crate::kept::NotRead;
use crate::serve::COMMAND_LINE;

/// How long threads may go on that nobody waits for any more. What was to be written is written by then.
const GRACE: Duration = Duration::from_secs(1);

/// Runs what has to wait for a database.
pub(super) fn wait<T>(work: impl Future<Output = Result<T, Failure>>) -> Result<T, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    let runtime = runtime.map_err(|error| Failure::Internal(error.to_string()))?;
    let outcome = runtime.block_on(work);
    runtime.shutdown_timeout(GRACE);
    outcome
}

/// Opens the store, makes one where there is none and says so, runs a command on it, and closes it.
pub(in crate::cli) fn with_store<F>(
    place: &Where,
    command: impl FnOnce(Arc<dyn Store>) -> F,
) -> Result<Answer, Failure>
where
    F: Future<Output = Result<Answer, Failure>>,
{
    wait(async {
        let (store, note) = open(place).await?;
        let answer = command(Arc::clone(&store)).await;
        store.close().await;
        answer.map(|answer| Answer { note: format!("{note}{}", answer.note), ..answer })
    })
}

/// Opens a store that is there, looks at it, and closes it: where there is none, there is nothing to look at.
pub(super) fn with_store_there<T, F>(
    place: &Where,
    look: impl FnOnce(Arc<dyn Store>) -> F,
) -> Result<T, Failure>
where
    F: Future<Output = Result<T, Failure>>,
{
    there(place)?;
    wait(async {
        let (store, _) = open(place).await?;
        let found = look(Arc::clone(&store)).await;
        store.close().await;
        found
    })
}

/// The number that is asked for, where no job file is.
pub(in crate::cli) fn number(what: &Path, by: &PricedBy, kept: &Kept) -> Result<Option<Number>, Failure> {
    let text = what.to_string_lossy();
    let is_nearly_one =
        text.contains('-') && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
    let number: Result<Number, InvalidNumber> = text.parse();
    match number {
        Ok(number) if by.tariff.is_some() => {
            Err(Failure::Usage(format!("{number} is kept with its prices; --tariff is for a job")))
        }
        Ok(number) => Ok(Some(number)),
        Err(error) if is_nearly_one && !what.exists() => {
            Err(Failure::Usage(format!("{text}: {error}, or a job file")))
        }
        Err(_) if kept.revision.is_some() => {
            let expected = "--revision is of a quote that is kept; name it by its number";
            Err(Failure::Usage(String::from(expected)))
        }
        Err(_) => Ok(None),
    }
}

/// Is there a store?
pub(super) fn there(place: &Where) -> Result<(), Failure> {
    let database = &place.database;
    let missing = || format!("there is no store {database}; --database says where it is");
    if database.exists() { Ok(()) } else { Err(Failure::File(missing())) }
}

/// Opens the store, and says where one was made.
pub(super) async fn open(place: &Where) -> Result<(Arc<dyn Store>, String), Failure> {
    let note = if place.database.exists() {
        String::new()
    } else {
        format!("made a new store, {}\n", place.database)
    };
    let store = place.database.open().await.map_err(|error| Failure::Database(error.to_string()))?;
    Ok((store, note))
}

impl From<NotRead> for Failure {
    fn from(error: NotRead) -> Self {
        match error {
            NotRead::Store(error) => failure(error),
            NotRead::Damaged(why) => Self::Database(why),
        }
    }
}

/// Why the store has no answer, on the command line.
pub(in crate::cli) fn failure(error: StoreError) -> Failure {
    match error {
        StoreError::Refused(refused) => Failure::BadInput(refused.code(), refused.to_string()),
        error => Failure::Database(error.to_string()),
    }
}

/// What is said of a list that lacks what cannot be read, and how the command ends: no list passes for a whole one.
pub(super) fn passed_over(unreadable: &[String]) -> (String, Exit) {
    let mut page = Page::default();
    for why in unreadable {
        page.labelled(style::CARE, "warning", why);
    }
    (page.finish(), if unreadable.is_empty() { Exit::Fine } else { Exit::Database })
}

/// This many random bytes in hexadecimal digits: what nobody can guess, and nobody else has.
pub(super) fn random<const N: usize>() -> Result<String, Failure> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .map_err(|error| Failure::Internal(format!("the system has no random numbers: {error}")))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Writes one thing down in the name of the command line.
pub(super) async fn written(store: &Arc<dyn Store>, command: Command) -> Result<Record, Failure> {
    let code = |text: &str| text.parse::<Code>().map_err(|error| Failure::Internal(error.to_string()));
    let id = random::<16>()?;
    let request = Request {
        fingerprint: Digest::of(id.as_bytes()),
        id: code(&id)?,
        caller: code(COMMAND_LINE)?,
        command,
    };
    store.write(request).await.map_err(failure)
}
