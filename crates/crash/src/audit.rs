//! Is everything there that somebody was told is kept, and nothing by half?

use std::sync::Arc;

use evenfare_store::Store as _;
use evenfare_store::audit::audit;
use evenfare_store::event::{Kept, Record};
use evenfare_store::sqlite::Sqlite;
use rusqlite::{Connection, OpenFlags};

use crate::disk::Disk;
use crate::op::Op;
use crate::story::{Failed, Story, one_more};

/// How many records are read at once.
const PAGE: u32 = 128;

/// A store as it came back, and what was done since: the beginning of another story.
pub struct Back {
    /// What was done to the disk, from the state that was left; nothing where it was not recorded.
    pub story: Story,
    /// How many events were there.
    pub found: u64,
}

/// Opens the store on a disk to which that was done, and holds it against its story: what is there is the
/// beginning of it, at least up to the event `told`; the audit holds, and so does the file; the next request is
/// answered as it was, or as a new one.
///
/// # Errors
/// What is not as it should be.
pub async fn come_back(
    start: Vec<Op>,
    recording: bool,
    story: &Story,
    told: u64,
    thorough: bool,
) -> Result<Back, Failed> {
    let mounted = Disk::after(start, recording).mount();
    let disk = mounted.disk();
    let store = Sqlite::open(mounted.path())?;
    let mut records: Vec<Record> = Vec::new();
    loop {
        let page = store.records(u64::try_from(records.len())?, PAGE).await?;
        if page.is_empty() {
            break;
        }
        records.extend(page);
    }
    let found = u64::try_from(records.len())?;
    if found < told {
        return Err(format!("{told} events were answered, {found} are there").into());
    }
    let other = records.iter().zip(story.records.iter()).position(|(there, was)| there != was);
    if let Some(place) = other {
        return Err(format!("event {} is not what was answered", place + 1).into());
    }
    if records.len() > story.records.len() {
        return Err(format!("{found} events are there, and {} were asked for", story.records.len()).into());
    }
    // Whoever has read it was told that it is kept.
    disk.answered(found);
    let audited = audit(&store, None, |_| Ok(())).await?;
    if audited.events != found {
        return Err(format!("the audit counts {} events of {found}", audited.events).into());
    }
    // The last answer, and one before it.
    for place in [usize::try_from(told)?, usize::try_from(told / 2)?] {
        let Some(at) = place.checked_sub(1) else { continue };
        let (Some(request), Some(record)) = (story.requests.get(at), story.records.get(at)) else { continue };
        if store.answered(&request.id).await?.as_ref() != Some(record) {
            return Err(format!("request {} is not answered as it was", request.id).into());
        }
    }
    is_sound(&mounted.path())?;
    // Whoever has not heard the answer asks again.
    if let (Some(request), Some(record)) = (story.requests.get(records.len().wrapping_sub(1)), records.last())
        && store.write(request.clone()).await? != *record
    {
        return Err(format!("request {} is done twice", request.id).into());
    }
    let editions = records.iter().filter(|record| matches!(record.kept, Kept::Edition(_))).count();
    let was = story.records.get(records.len());
    let request = match story.requests.get(records.len()) {
        Some(request) => request.clone(),
        None => one_more(&format!("more-{found}"), editions)?,
    };
    let next = store.write(request.clone()).await?;
    disk.answered(next.event.sequence);
    let subject = was.map_or(&next.event.subject, |was| &was.event.subject);
    if (next.event.sequence, &next.event.subject) != (found + 1, subject) {
        return Err(format!("{} follows, as event {}", next.event.subject, next.event.sequence).into());
    }
    store.close().await;
    if thorough {
        let store = Sqlite::open(mounted.path())?;
        let audited = audit(&store, None, |_| Ok(())).await?;
        if audited.events != found + 1 {
            return Err(
                format!("opened once more, {} events of {} are there", audited.events, found + 1).into()
            );
        }
        store.close().await;
    }
    records.push(next);
    let requests = story.requests.iter().take(records.len() - 1).cloned().chain([request]).collect();
    let story = Story {
        name: story.name,
        ops: disk.killed(),
        records: Arc::new(records),
        requests: Arc::new(requests),
    };
    Ok(Back { story, found })
}

/// Page by page, and every index against its table.
fn is_sound(path: &str) -> Result<(), Failed> {
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let said: String = connection.query_row("PRAGMA integrity_check", (), |row| row.get(0))?;
    if said == "ok" { Ok(()) } else { Err(format!("the file is damaged: {said}").into()) }
}
