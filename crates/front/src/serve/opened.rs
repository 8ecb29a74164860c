//! What was kept, opened: unpacked, read, and put into an answer. A usual document takes less than a tenth of a
//! millisecond; those of some megabytes are opened apart from where calls are answered.

use evenfare_engine::view::Reader;
use evenfare_store::entry::Entry;
use evenfare_store::event::{Kept, Record};

use super::answers::{self, Made};
use super::ask;
use super::callers::Room;
use super::house::{House, sight};
use super::refusal::Refusal;
use crate::kept::is_long;
use crate::wire::answer;

impl House {
    /// One entry of a quote, as its reader may see it; `partner` is his room, where he is one.
    pub(super) async fn entry(
        &self,
        reader: &Reader,
        partner: Option<&Room>,
        number: &str,
        revision: Option<u32>,
        reversal: bool,
    ) -> Result<answer::KeptQuote, Refusal> {
        let (number, which) = ask::entry(number, revision, reversal)?;
        let found = self.store.entry(&number, which, &sight(reader)).await?.ok_or(Refusal::NoSuchQuote)?;
        let of = reader.clone();
        self.opened(partner, found, move |entry| answers::entry(entry, &of, true)).await
    }

    /// Opens an entry; a long one after those before it, as a job that asks for much: where a partner reads, in his room.
    pub(super) async fn opened<T: Send + 'static>(
        &self,
        partner: Option<&Room>,
        entry: Entry,
        open: impl FnOnce(&Entry) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let breadth = if is_long(&entry.content.document) { usize::MAX } else { 0 };
        self.computed(partner, breadth, move || open(&entry)).await
    }

    /// Opens what a record is about; nobody is refused, however many are before it: for what was written down already,
    /// and for pieces of a stream.
    pub(super) async fn in_turn<T: Send + 'static>(
        &self,
        record: Record,
        open: impl FnOnce(&Record) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        match &record.kept {
            Kept::Entry(entry) if is_long(&entry.content.document) => {
                self.jobs.turn().await?.work(move || open(&record)).await?
            }
            _ => open(&record),
        }
    }

    /// The entry of a record, for the office that has written it.
    pub(super) async fn told(&self, record: Record) -> Result<answer::KeptQuote, Refusal> {
        self.in_turn(record, answers::written).await
    }

    /// The same where its document was made for this request.
    pub(super) async fn told_as_made(
        &self,
        record: Record,
        made: Made,
    ) -> Result<answer::KeptQuote, Refusal> {
        self.in_turn(record, move |record| answers::made(record, made)).await
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::Arc;
    use std::thread::{self, ThreadId};

    use chrono::{DateTime, NaiveDate, Utc};
    use evenfare_store::digest::Digest;
    use evenfare_store::entry::{Content, State};
    use evenfare_store::event::{Event, Kind};
    use evenfare_store::sqlite::Sqlite;
    use tokio::sync::watch;

    use super::*;
    use crate::serve::Callers;

    fn entry(bytes: usize) -> Entry {
        let content = Content {
            revision: 1,
            reversal: false,
            reference: "JOB-1".parse().unwrap(),
            customer: "Bakery".parse().unwrap(),
            edition: "E1".parse().unwrap(),
            currency: "EUR".parse().unwrap(),
            quoted: NaiveDate::default(),
            valid_until: NaiveDate::default(),
            end_net_minor: 0,
            offers: Vec::new(),
            partners: Vec::new(),
            document: vec![0; bytes].into(),
        };
        Entry {
            number: "Q-2026-00001".parse().unwrap(),
            content,
            recorded: DateTime::<Utc>::UNIX_EPOCH,
            state: State::Open,
            accepted: None,
            settled: None,
            etag: Digest::ZERO,
        }
    }

    fn record(bytes: usize) -> Record {
        let event = Event {
            sequence: 1,
            kind: Kind::Issued,
            recorded: DateTime::<Utc>::UNIX_EPOCH,
            caller: "office".parse().unwrap(),
            request_id: "r-1".parse().unwrap(),
            fingerprint: Digest::ZERO,
            subject: String::from("Q-2026-00001"),
            revision: Some(1),
            offer: None,
            settled: None,
            reason: "".parse().unwrap(),
            content: None,
            previous: Digest::ZERO,
            hash: Digest::ZERO,
        };
        Record { event, kept: Kept::Entry(Box::new(entry(bytes))) }
    }

    /// Calls are answered on this thread alone.
    #[tokio::test]
    async fn a_long_document_keeps_nobody_waiting() {
        let folder = tempfile::tempdir().unwrap();
        let store = Arc::new(Sqlite::open(folder.path().join("store.db")).unwrap());
        let (_stopping, stops) = watch::channel(false);
        let house = House::open(store, Arc::new(Callers::default()), 10, stops).await.unwrap();
        let here = thread::current().id();
        let at = || -> Result<ThreadId, Refusal> { Ok(thread::current().id()) };
        for (bytes, apart) in [(12_000, false), (3_000_000, true)] {
            for room in [None, Some(&Room::new())] {
                let opened = house.opened(room, entry(bytes), move |_| at()).await.unwrap();
                assert_eq!(opened != here, apart, "{bytes} bytes for {room:?}");
            }
            let opened = house.in_turn(record(bytes), move |_| at()).await.unwrap();
            assert_eq!(opened != here, apart, "{bytes} bytes of a record");
        }
    }
}
