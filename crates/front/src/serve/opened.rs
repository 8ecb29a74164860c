//! What was kept, opened: unpacked, read, and put into an answer. A usual document takes less than a tenth of a
//! millisecond; those of some megabytes are opened apart from where calls are answered.

use std::sync::Arc;

use evenfare_engine::view::Reader;
use evenfare_store::Sight;
use evenfare_store::entry::{Entry, Summary};
use evenfare_store::event::{Kept, Record};

use super::answers::{self, Made};
use super::ask;
use super::callers::Room;
use super::house::House;
use super::pages;
use super::refusal::Refusal;
use crate::kept::{accepted_in_document, is_long, net_minor, sight};
use crate::wire::answer;
use crate::wire::pb;

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

    /// Opens what was written down already, or a piece of a stream: nobody is refused, however many are before him.
    pub(super) async fn in_turn<T: Send + 'static>(
        &self,
        is_long: bool,
        open: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        if is_long { self.jobs.turn().await?.work(open).await? } else { open() }
    }

    /// The same of what a record is about.
    pub(super) async fn record_in_turn<T: Send + 'static>(
        &self,
        record: Record,
        open: impl FnOnce(&Record) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let is_long = matches!(&record.kept, Kept::Entry(entry) if is_long(&entry.content.document));
        self.in_turn(is_long, move || open(&record)).await
    }

    /// The entry of a record, for the office that has written it.
    pub(super) async fn told(&self, record: Record) -> Result<answer::KeptQuote, Refusal> {
        self.record_in_turn(record, answers::written).await
    }

    /// The same where its document was made for this request.
    pub(super) async fn told_as_made(
        &self,
        record: Record,
        made: Made,
    ) -> Result<answer::KeptQuote, Refusal> {
        self.record_in_turn(record, move |record| answers::made(record, made)).await
    }

    /// A page of quotes, and the token of the next; `partner` is the reader's room, where he is one.
    pub(super) async fn page(
        &self,
        reader: &Reader,
        partner: Option<&Room>,
        filter: Option<&pb::QuoteFilter>,
        size: i32,
        token: &str,
    ) -> Result<(Vec<pb::QuoteSummary>, String), Refusal> {
        let listing = pages::quotes(&sight(reader), filter, size, token)?;
        let (store, asked) = (Arc::clone(&self.store), listing.clone());
        let page = self.listed(partner, async move { store.list(&asked).await }).await?;
        let next = page.next.map(|number| pages::token(&number, &listing.sight, filter)).unwrap_or_default();
        let mut summaries = Vec::with_capacity(page.summaries.len());
        for summary in page.summaries {
            let summary = match summary {
                Ok(summary) => summary,
                // He adds them up.
                Err(error) if *reader == Reader::Accountant => return Err(error.into()),
                Err(error) => {
                    tracing::error!(%error, "a quote cannot be read, and is left out of a list");
                    continue;
                }
            };
            let accepted = match self.accepted_net_minor(&summary, &listing.sight, partner).await {
                // One that is damaged hides no other.
                Err(Refusal::Internal(why)) => {
                    tracing::error!(number = %summary.number, why, "listed without what was accepted");
                    None
                }
                found => found?,
            };
            summaries.push(answers::summary(summary, accepted));
        }
        Ok((summaries, next))
    }

    /// What the accepted offer comes to.
    async fn accepted_net_minor(
        &self,
        summary: &Summary,
        sight: &Sight,
        partner: Option<&Room>,
    ) -> Result<Option<i64>, Refusal> {
        let Some((entry, offer)) = accepted_in_document(&*self.store, summary, sight).await? else {
            return Ok(summary.accepted_net_minor);
        };
        let offer = offer.clone();
        self.opened(partner, entry, move |entry| Ok(net_minor(entry, &offer)?)).await
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::thread::{self, ThreadId};
    use std::time::Duration;

    use chrono::{DateTime, NaiveDate, Utc};
    use evenfare_store::caller::Role;
    use evenfare_store::command::{Command, Request};
    use evenfare_store::digest::Digest;
    use evenfare_store::entry::{Content, Offered, State};
    use evenfare_store::event::{Event, Kind};
    use evenfare_store::invoice::Sale;
    use evenfare_store::number::Series;
    use evenfare_store::sqlite::Sqlite;
    use tokio::sync::watch;
    use tokio::time::timeout;

    use super::*;
    use crate::kept;
    use crate::serve::access::Who;
    use crate::serve::callers::DOCUMENTS_OF_A_PARTNER;
    use crate::serve::desks::Desk;
    use crate::serve::{Callers, Identity};

    /// What an earlier build has kept of two offers, with what no document is, of that length.
    fn content(bytes: usize) -> Content {
        let offered = |id: &str| Offered { id: id.parse().unwrap(), net_minor: None };
        Content {
            offers: vec![offered("main"), offered("swap")],
            partners: vec!["P-1".parse().unwrap()],
            ..kept::tests::content(bytes)
        }
    }

    fn entry(bytes: usize) -> Entry {
        Entry {
            number: "Q-1970-00001".parse().unwrap(),
            content: content(bytes),
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
            subject: String::from("Q-1970-00001"),
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

    async fn house(folder: &tempfile::TempDir) -> Arc<House> {
        let store = Arc::new(Sqlite::open(folder.path().join("store.db")).unwrap());
        let (_stopping, stops) = watch::channel(false);
        House::open(store, Arc::new(Callers::default()), 10, stops).await.unwrap()
    }

    async fn written(house: &House, id: &str, command: Command) -> Record {
        let (id, caller) = (id.parse().unwrap(), "office".parse().unwrap());
        house.store.write(Request { id, fingerprint: Digest::ZERO, caller, command }).await.unwrap()
    }

    /// A quote of that length.
    async fn issued(house: &House, bytes: usize) -> Record {
        let content = Box::new(content(bytes));
        written(house, "r-1", Command::Issue { series: Series::usual(), content, editions: 0 }).await
    }

    /// Calls are answered on this thread alone.
    #[tokio::test]
    async fn a_long_document_keeps_nobody_waiting() {
        let folder = tempfile::tempdir().unwrap();
        let house = house(&folder).await;
        let here = thread::current().id();
        let at = || -> Result<ThreadId, Refusal> { Ok(thread::current().id()) };
        for (bytes, apart) in [(12_000, false), (3_000_000, true)] {
            for room in [None, Some(&Room::new())] {
                let opened = house.opened(room, entry(bytes), move |_| at()).await.unwrap();
                assert_eq!(opened != here, apart, "{bytes} bytes for {room:?}");
            }
            let opened = house.record_in_turn(record(bytes), move |_| at()).await.unwrap();
            assert_eq!(opened != here, apart, "{bytes} bytes of a record");
        }
    }

    /// A quote of that length, whose alternative was accepted and invoiced; the record of the invoice.
    async fn invoiced(house: &House, bytes: usize) -> Record {
        let issued = issued(house, bytes).await;
        let (number, day) = (entry(bytes).number, NaiveDate::default());
        let (etag, offer) = (issued.event.hash, "swap".parse().unwrap());
        let accept = Command::Accept { number: number.clone(), etag, offer, day };
        let accepted = written(house, "r-2", accept).await;
        let (series, etag) = (Series::of_invoices(), accepted.event.hash);
        let sale = Sale { net_minor: 100, gross_minor: 119 };
        let invoice = Command::Invoice { series, number, etag, issued: day, due: day, sale };
        written(house, "r-3", invoice).await
    }

    /// It waits while somebody is at the desk; what it is told then.
    async fn waited_for<T: std::fmt::Debug>(
        desk: Desk,
        mut work: impl AsyncFnMut() -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        let early = timeout(Duration::from_millis(200), work()).await;
        assert!(early.is_err(), "{early:?} before those at the desk have done");
        drop(desk);
        timeout(Duration::from_secs(20), work()).await.unwrap()
    }

    /// What it opens is no document.
    fn listed_without_amount((quotes, _): (Vec<pb::QuoteSummary>, String)) {
        let accepted: Vec<_> = quotes.iter().map(|one| (&*one.number, one.accepted_net.is_some())).collect();
        assert_eq!(accepted, [("Q-1970-00001", false)]);
    }

    #[tokio::test]
    async fn lists_and_invoices_open_what_is_long_at_the_desk() {
        let folder = tempfile::tempdir().unwrap();
        let house = house(&folder).await;
        let invoice = invoiced(&house, 300_000).await;
        let desk = house.jobs.place().await.unwrap();
        let page = waited_for(desk, async || house.page(&Reader::Office, None, None, 0, "").await).await;
        listed_without_amount(page.unwrap());
        let (partner, room) = (Reader::Partner("P-1".parse().unwrap()), Room::new());
        let desk = house.jobs_of_partners.place().await.unwrap();
        let page = waited_for(desk, async || house.page(&partner, Some(&room), None, 0, "").await).await;
        listed_without_amount(page.unwrap());
        let desk = house.jobs.place().await.unwrap();
        let refusal = waited_for(desk, async || house.without_xml(&invoice).await).await.unwrap_err();
        assert!(matches!(&refusal, Refusal::Internal(why) if why.contains("its form 0")), "{refusal:?}");
    }

    fn somebody(role: Role, room: Option<Room>) -> Who {
        Arc::new(Identity { name: "somebody".parse().unwrap(), role, room })
    }

    /// Asks for a document; how that ends.
    async fn refused(house: &House, who: &Who, kind: pb::DocumentKind) -> Option<Refusal> {
        let number = String::from("Q-1970-00001");
        let choice = pb::DocumentChoice { number, kind: kind.into(), ..pb::DocumentChoice::default() };
        house.document(who, Some(&choice), "", |piece| piece).await.err()
    }

    /// Nobody's document is made as long as these are there.
    async fn all_places(house: &House) -> Vec<Desk> {
        let mut taken = Vec::new();
        while let Ok(desk) = timeout(Duration::from_millis(50), house.documents.turn()).await {
            taken.push(desk.unwrap());
        }
        taken
    }

    /// Whoever asks for what is not there need not wait for those who ask for what is.
    #[tokio::test]
    async fn what_is_not_there_takes_no_place_at_a_desk() {
        let folder = tempfile::tempdir().unwrap();
        let house = house(&folder).await;
        let _taken = all_places(&house).await;
        let office = somebody(Role::Office, None);
        let asked = timeout(Duration::from_secs(20), refused(&house, &office, pb::DocumentKind::Quote));
        assert_eq!(asked.await, Ok(Some(Refusal::NoSuchQuote)));
    }

    /// What is long is not in memory as long as somebody waits; he is given what there is when it is his turn.
    #[tokio::test]
    async fn what_is_long_is_found_again_when_there_is_a_place() {
        for (bytes, form) in [(1_000, 0), (300_000, 7)] {
            let folder = tempfile::tempdir().unwrap();
            let house = house(&folder).await;
            let (number, reason) = (entry(bytes).number, "".parse().unwrap());
            let issued = issued(&house, bytes).await;
            let taken = all_places(&house).await;
            let office = somebody(Role::Office, None);
            let mut asked = std::pin::pin!(refused(&house, &office, pb::DocumentKind::Quote));
            let early = timeout(Duration::from_millis(200), &mut asked).await;
            assert!(early.is_err(), "{early:?} while others are at the desk");
            let content = Box::new(Content { revision: 2, document: vec![7; 100].into(), ..content(100) });
            let revise = Command::Revise { number, etag: issued.event.hash, content, editions: 0, reason };
            written(&house, "r-2", revise).await;
            drop(taken);
            let told = asked.await;
            let expected = format!("its form {form} ");
            assert!(matches!(&told, Some(Refusal::Internal(why)) if why.contains(&expected)), "{told:?}");
        }
    }

    /// He who asks for many has a quarter of the places of all partners, and the office has its own.
    #[tokio::test]
    async fn one_partner_leaves_places_for_the_documents_of_others() {
        let folder = tempfile::tempdir().unwrap();
        let house = house(&folder).await;
        invoiced(&house, 1_000).await;
        let taken = all_places(&house).await;
        let partner = somebody(Role::Partner("P-1".parse().unwrap()), Some(Room::new()));
        let mut waiting = tokio::task::JoinSet::new();
        for _ in 0..DOCUMENTS_OF_A_PARTNER {
            let (house, partner) = (Arc::clone(&house), Arc::clone(&partner));
            waiting.spawn(async move { refused(&house, &partner, pb::DocumentKind::Partner).await });
        }
        let told = timeout(Duration::from_millis(200), waiting.join_next()).await;
        assert!(told.is_err(), "{told:?} while others are at the desk");
        let one_more = refused(&house, &partner, pb::DocumentKind::Partner).await;
        assert_eq!(one_more, Some(Refusal::TooMany("documents of this partner under way")));
        // What partners wait for takes none of the office's places.
        let office = somebody(Role::Office, None);
        let mut offices = tokio::task::JoinSet::new();
        for _ in 0..4 * DOCUMENTS_OF_A_PARTNER {
            let (house, office) = (Arc::clone(&house), Arc::clone(&office));
            offices.spawn(async move { refused(&house, &office, pb::DocumentKind::Quote).await });
        }
        let told = timeout(Duration::from_millis(200), offices.join_next()).await;
        assert!(told.is_err(), "{told:?} while others are at the desk");
        drop(taken);
        for told in waiting.join_all().await.into_iter().chain(offices.join_all().await) {
            assert!(matches!(told, Some(Refusal::Internal(_))), "{told:?}");
        }
        // And there is room again.
        let one_more = refused(&house, &partner, pb::DocumentKind::Partner).await;
        assert!(matches!(one_more, Some(Refusal::Internal(_))), "{one_more:?}");
    }
}
