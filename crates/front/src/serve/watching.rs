//! What was written down, as a stream: what is to come, or a span of days.

use std::ops::Range;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use evenfare_engine::view::Reader;
use evenfare_store::event::{Kept, Record};
use tokio::sync::OwnedSemaphorePermit;
use tokio_stream::Stream;
use tonic::Status;

use super::access::Who;
use super::answers;
use super::house::{House, LOOK_AGAIN};
use super::refusal::Refusal;
use crate::wire::answer;
use crate::wire::pb;

/// How many records are read at a time.
const AT_A_TIME: u32 = 64;

/// Events of quotes after that sequence, and then what is to come; ends when the server is about to stop,
/// or the caller is withdrawn.
pub(super) fn events(
    house: Arc<House>,
    who: Who,
    after: u64,
    room: OwnedSemaphorePermit,
) -> impl Stream<Item = Result<pb::WatchQuotesResponse, Status>> {
    async_stream::try_stream! {
        let _room = room;
        let (mut after, mut news, mut stopping) = (after, house.store.news(), house.stopping.clone());
        while !*stopping.borrow() {
            if !house.callers.knows(&who) {
                Err(Status::from(Refusal::Nobody("the caller was withdrawn")))?;
            }
            news.mark_unchanged();
            let written = house.store.events(after, AT_A_TIME).await.map_err(Refusal::from)?;
            let whole = written.len() == AT_A_TIME as usize;
            for event in &written {
                after = event.sequence;
                if let Some(event) = answers::event(event) {
                    yield pb::WatchQuotesResponse { event: Some(event) };
                }
            }
            if !whole {
                tokio::select! {
                    _ = news.changed() => {}
                    _ = stopping.changed() => {}
                    () = tokio::time::sleep(LOOK_AGAIN) => {}
                }
            }
        }
    }
}

/// What is sent beside the events of quotes, and what was kept of them.
#[derive(Clone, Copy)]
pub(super) struct Also {
    /// The working of every figure.
    pub(super) working: bool,
    /// Invoices and credit notes.
    pub(super) invoices: bool,
}

/// What was written down at some moments.
pub(super) struct Span {
    /// The first and the last event; none where there is none.
    pub(super) sequences: Option<(u64, u64)>,
    /// Where a clock was set back, events of other moments stand between them.
    pub(super) moments: Range<DateTime<Utc>>,
}

/// All that was written down about quotes in a span.
pub(super) fn span(
    house: Arc<House>,
    who: Who,
    Span { sequences, moments }: Span,
    also: Also,
    room: OwnedSemaphorePermit,
) -> impl Stream<Item = Result<answer::ExportPeriodResponse, Status>> {
    async_stream::try_stream! {
        let _room = room;
        let reader = who.reader();
        let (mut after, until) = sequences.map_or((0, 0), |(first, last)| (first.saturating_sub(1), last));
        // One that cannot be read ends only the exports that it is in.
        let at_most = |left: u64| u32::try_from(left).unwrap_or(AT_A_TIME).min(AT_A_TIME);
        while after < until {
            house.goes_on(&who).map_err(Status::from)?;
            let records = house.store.records(after, at_most(until.saturating_sub(after))).await.map_err(Refusal::from)?;
            if records.is_empty() {
                break;
            }
            after = records.last().map_or(until, |record| record.event.sequence);
            let up_to_last = records.into_iter().take_while(|record| record.event.sequence <= until);
            for record in up_to_last.filter(|record| moments.contains(&record.event.recorded)) {
                let of = reader.clone();
                let exported = house.record_in_turn(record, move |record| exported(record, &of, also)).await?;
                if let Some(exported) = exported {
                    yield exported;
                }
            }
        }
    }
}

fn exported(
    record: &Record,
    reader: &Reader,
    also: Also,
) -> Result<Option<answer::ExportPeriodResponse>, Refusal> {
    if let (true, Kept::Invoice(kept)) = (also.invoices, &record.kept) {
        let invoice = Some(answers::invoice(kept.as_ref().clone(), reader));
        return Ok(Some(answer::ExportPeriodResponse { event: None, quote: None, invoice }));
    }
    let (Some(event), Kept::Entry(kept)) = (answers::event(&record.event), &record.kept) else {
        return Ok(None);
    };
    let quote = answers::entry(kept, reader, also.working)?;
    Ok(Some(answer::ExportPeriodResponse { event: Some(event), quote: Some(quote), invoice: None }))
}
