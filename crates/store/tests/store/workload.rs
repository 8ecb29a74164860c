//! The same requests to both databases and to the model: all answers are equal.

use std::sync::atomic::{AtomicU32, Ordering};

use chrono::{Days, TimeDelta};
use evenfare_store::audit::audit;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Entry, State};
use evenfare_store::event::{Kept, Kind, Record};
use evenfare_store::invoice::Invoice;
use evenfare_store::postgres::Postgres;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{Filter, InvoiceFilter, InvoiceListing, Listing, Sight, Store};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::bills::{self, ToldInvoice};
use crate::model::{Model, Told, ToldEntry, Wish};
use crate::moments::{Shown, dated};
use crate::postgres::Cluster;
use crate::steps::{Act, Step, act, of_invoices, of_quotes, sight, wish};
use crate::world::{code, day, run, same, schema};

/// One store that is held against the model.
struct Held {
    store: Box<dyn Store>,
    /// The hash of each event, in order.
    hashes: Vec<Digest>,
}

impl Held {
    fn new(store: impl Store) -> Self {
        Self { store: Box::new(store), hashes: Vec::new() }
    }

    fn etag(&self, sequence: usize) -> Digest {
        sequence.checked_sub(1).and_then(|at| self.hashes.get(at)).copied().unwrap_or(Digest::ZERO)
    }

    fn told_entry(&self, entry: &Entry) -> ToldEntry {
        let Entry { number, content, recorded: _, state, accepted, settled, etag } = entry.clone();
        let etag = self.hashes.iter().position(|hash| *hash == etag).map_or(0, |at| at + 1);
        ToldEntry { number, content, state, accepted, settled, etag }
    }

    fn told(&mut self, record: &Record) -> Told {
        let sequence = usize::try_from(record.event.sequence).unwrap();
        if sequence == self.hashes.len() + 1 {
            self.hashes.push(record.event.hash);
        }
        assert_eq!(self.etag(sequence), record.event.hash);
        match &record.kept {
            Kept::Entry(entry) => {
                assert_eq!(entry.number.to_string(), record.event.subject);
                assert_eq!(Some(entry.content.revision), record.event.revision);
                Told::Entry(sequence, self.told_entry(entry))
            }
            Kept::Invoice(invoice) => {
                assert_eq!(invoice.number.to_string(), record.event.subject);
                assert_eq!(
                    (invoice.recorded, &invoice.reason),
                    (record.event.recorded, &record.event.reason)
                );
                Told::Invoice(sequence, told_invoice(invoice))
            }
            Kept::Edition(edition) => {
                assert_eq!(
                    (edition.published, edition.publisher.as_str()),
                    (Some(record.event.recorded), "office-1")
                );
                let archive = edition.archive.clone();
                Told::Edition(sequence, edition.code.clone(), edition.from, edition.until, archive)
            }
            Kept::Caller(caller) => {
                let withdrawn = record.event.kind == Kind::CallerWithdrawn;
                assert_eq!(caller.withdrawn, withdrawn.then_some(record.event.recorded));
                let (name, role) = (caller.name.clone(), caller.role.clone());
                Told::Caller(sequence, name, role, caller.credential, withdrawn)
            }
            Kept::Unread(why) => panic!("{why}"),
        }
    }

    fn told_answer(&mut self, answer: Result<Record, StoreError>) -> Result<Told, StoreError> {
        answer.map(|record| self.told(&record))
    }
}

fn told_invoice(invoice: &Invoice) -> ToldInvoice {
    let Invoice { number, billed, reference, customer: _, recorded: _, reason: _, credited } =
        invoice.clone();
    ToldInvoice { number, billed, reference, credited }
}

/// The command with its etag set.
fn with_etag(command: &Command, to: Digest) -> Command {
    let mut command = command.clone();
    match &mut command {
        Command::Revise { etag, .. }
        | Command::Reverse { etag, .. }
        | Command::Accept { etag, .. }
        | Command::Decline { etag, .. }
        | Command::Invoice { etag, .. } => *etag = to,
        _ => {}
    }
    command
}

/// Counts what the cases came to, so that a generator gone blind shows.
#[derive(Default)]
struct Tally {
    written: AtomicU32,
    refused: AtomicU32,
    listed: AtomicU32,
    invoiced: AtomicU32,
    credited: AtomicU32,
    set_back: AtomicU32,
}

async fn play(acts: &[Act], held: &mut [Held], shown: &Shown, tally: &Tally) -> Result<(), TestCaseError> {
    let mut model = Model { now: shown.now(), ..Model::default() };
    let mut asked: Vec<Wish> = Vec::new();
    for act in acts {
        match act {
            Act::Write(steps) => write(steps, &mut model, &mut asked, held, tally).await?,
            Act::List { sight: at, filter, limit } => {
                let filter = Filter {
                    series: filter.series.map(of_quotes),
                    reference: filter.reference.map(|at| code(&format!("JOB-{at}"))),
                    states: filter.states.iter().map(|at| State::ALL[*at]).collect(),
                    quoted_from: filter.from.map(|days| day(2025, 3, 1) + Days::new(days)),
                    quoted_until: filter.until.map(|days| day(2025, 5, 1) + Days::new(days)),
                };
                let expected = model.list(&sight(*at), &filter);
                tally.listed.fetch_add(u32::try_from(expected.len()).unwrap(), Ordering::Relaxed);
                for held in &*held {
                    list(held, &sight(*at), &filter, *limit, &expected).await?;
                }
            }
            Act::Entry { quote, which, sight: at } => {
                let numbers = model.numbers();
                if numbers.is_empty() {
                    continue;
                }
                let number = quote.get(&numbers);
                let expected = model.entry(number, *which, &sight(*at));
                for held in &*held {
                    let found = held.store.entry(number, *which, &sight(*at)).await.unwrap();
                    let found = found.map(|entry| held.told_entry(&entry));
                    same("entry", &found, &expected)?;
                }
            }
            Act::Invoices { sight: at, series, quote, from, limit } => {
                let numbers = model.numbers();
                let filter = InvoiceFilter {
                    series: series.map(of_invoices),
                    quote: quote.filter(|_| !numbers.is_empty()).map(|quote| quote.get(&numbers).clone()),
                    issued_from: from.map(|days| day(2025, 3, 1) + Days::new(days)),
                    issued_until: from.map(|days| day(2025, 6, 1) + Days::new(2 * days)),
                };
                let expected = bills::list(model.invoices(), &sight(*at), &filter);
                for held in &*held {
                    list_invoices(held, &sight(*at), &filter, *limit, &expected).await?;
                }
            }
            Act::Invoice { invoice, sight: at } => {
                let invoices = model.invoices();
                if invoices.is_empty() {
                    continue;
                }
                let number = &invoice.get(&invoices).number;
                let seen = bills::list(model.invoices(), &sight(*at), &InvoiceFilter::default());
                let expected = seen.into_iter().find(|invoice| invoice.number == *number);
                for held in &*held {
                    let found = held.store.invoice(number, &sight(*at)).await.unwrap();
                    same("invoice", &found.as_ref().map(told_invoice), &expected)?;
                }
            }
            Act::Answered(which) if !asked.is_empty() => {
                let id = &which.get(&asked).id;
                let expected = model.answered(id);
                for held in &mut *held {
                    let found = held.store.answered(id).await.unwrap().map(|record| held.told(&record));
                    same("answered", &found, &expected)?;
                }
            }
            Act::Answered(_) => {}
            Act::Clock(seconds) => {
                model.now += TimeDelta::seconds(*seconds);
                shown.set(model.now);
            }
        }
    }
    for held in held {
        finish(&model, held, tally).await?;
    }
    Ok(())
}

async fn write(
    steps: &[Step],
    model: &mut Model,
    asked: &mut Vec<Wish>,
    held: &mut [Held],
    tally: &Tally,
) -> Result<(), TestCaseError> {
    let mut wishes = Vec::new();
    for step in steps {
        let wish = wish(model, asked, step, asked.len());
        asked.push(wish.clone());
        wishes.push(wish);
    }
    let expected: Vec<_> = wishes.iter().map(|wish| model.write(wish).map_err(StoreError::Refused)).collect();
    for answer in &expected {
        let count = if answer.is_ok() { &tally.written } else { &tally.refused };
        count.fetch_add(1, Ordering::Relaxed);
        if let Ok(Told::Invoice(_, invoice)) = answer {
            let count = if invoice.billed.preceding.is_none() { &tally.invoiced } else { &tally.credited };
            count.fetch_add(1, Ordering::Relaxed);
        }
    }
    for held in held {
        let requests: Vec<Request> = wishes
            .iter()
            .map(|Wish { id, fingerprint, etag, command }| Request {
                id: id.clone(),
                fingerprint: *fingerprint,
                caller: code("office-1"),
                command: with_etag(command, held.etag(*etag)),
            })
            .collect();
        // They come into the queue in this order, and mostly into one transaction.
        let answers =
            futures_util::future::join_all(requests.into_iter().map(|request| held.store.write(request)))
                .await;
        for ((answer, expected), wish) in answers.into_iter().zip(&expected).zip(&wishes) {
            same(&format!("{wish:?}"), &held.told_answer(answer), expected)?;
        }
    }
    Ok(())
}

async fn list(
    held: &Held,
    sight: &Sight,
    filter: &Filter,
    limit: u32,
    expected: &[ToldEntry],
) -> Result<(), TestCaseError> {
    let mut before = None;
    let mut found = Vec::new();
    loop {
        let listing = Listing { sight: sight.clone(), filter: filter.clone(), before, limit };
        let page = held.store.list(&listing).await.unwrap();
        prop_assert!(page.summaries.len() <= usize::try_from(limit).unwrap());
        found.extend(page.summaries.into_iter().map(Result::unwrap));
        before = page.next;
        if before.is_none() {
            break;
        }
    }
    let shown: Vec<_> = found
        .iter()
        .map(|line| {
            let accepted = (&line.accepted, line.accepted_net_minor);
            (
                &line.number,
                line.revision,
                line.state,
                &line.reference,
                line.quoted,
                line.end_net_minor,
                accepted,
            )
        })
        .collect();
    let wanted: Vec<_> = expected
        .iter()
        .map(|entry| {
            let content = &entry.content;
            let (revision, reference) = (content.revision, &content.reference);
            let accepted = (&entry.accepted, entry.accepted_net_minor());
            (&entry.number, revision, entry.state, reference, content.quoted, content.end_net_minor, accepted)
        })
        .collect();
    same("list", &shown, &wanted)
}

async fn list_invoices(
    held: &Held,
    sight: &Sight,
    filter: &InvoiceFilter,
    limit: u32,
    expected: &[ToldInvoice],
) -> Result<(), TestCaseError> {
    let mut before = None;
    let mut found = Vec::new();
    loop {
        let listing = InvoiceListing { sight: sight.clone(), filter: filter.clone(), before, limit };
        let page = held.store.invoices(&listing).await.unwrap();
        prop_assert!(page.invoices.len() <= usize::try_from(limit).unwrap());
        found.extend(page.invoices.iter().map(told_invoice));
        before = page.next;
        if before.is_none() {
            return same("invoices", &found.as_slice(), &expected);
        }
    }
}

/// Everything once more, and the chain.
async fn finish(model: &Model, held: &mut Held, tally: &Tally) -> Result<(), TestCaseError> {
    let count = u64::try_from(model.log.len()).unwrap();
    same("last", &held.store.last().await.unwrap(), &count)?;
    same("settings", &held.store.settings().await.unwrap(), &u64::try_from(model.settings()).unwrap())?;
    same("news", &*held.store.news().borrow(), &count)?;
    let mut records = Vec::new();
    while let Some(after) = Some(u64::try_from(records.len()).unwrap()) {
        let page = held.store.records(after, 7).await.unwrap();
        if page.is_empty() {
            break;
        }
        records.extend(page);
    }
    let mut events = Vec::new();
    while let Some(last) = records.get(events.len()) {
        let page = held.store.events(last.event.sequence - 1, 5).await.unwrap();
        same("a page of events", &page.len(), &(records.len() - events.len()).min(5))?;
        events.extend(page);
    }
    same("events", &events, &records.iter().map(|record| record.event.clone()).collect())?;
    let told: Vec<_> = records.iter().map(|record| held.told(record)).collect();
    same("records", &told, &model.log.iter().map(|line| line.2.clone()).collect())?;
    let set_back = dated(model, held.store.as_ref(), &records).await?;
    tally.set_back.fetch_add(u32::try_from(set_back).unwrap(), Ordering::Relaxed);
    let editions: Vec<_> = held
        .store
        .editions()
        .await
        .unwrap()
        .into_iter()
        .map(|edition| (edition.code, edition.from))
        .collect();
    let wanted = model.editions().into_iter().filter_map(|told| match told {
        Told::Edition(_, code, from, ..) => Some((code, from)),
        _ => None,
    });
    same("editions", &editions, &wanted.collect())?;
    let callers = held.store.callers().await.unwrap().into_iter().flatten();
    let callers: Vec<_> =
        callers.map(|one| (one.name, one.role, one.credential, one.withdrawn.is_some())).collect();
    same("callers", &callers, &model.callers())?;
    for number in model.numbers() {
        let found = held.store.entry(&number, None, &Sight::All).await.unwrap();
        let found = found.map(|entry| held.told_entry(&entry));
        same("entry", &found, &model.entry(&number, None, &Sight::All))?;
    }
    list_invoices(held, &Sight::All, &InvoiceFilter::default(), 3, &{
        let mut all = model.invoices();
        all.reverse();
        all
    })
    .await?;
    let audited = audit(held.store.as_ref(), None, |_| Ok(())).await;
    prop_assert!(audited.is_ok(), "{:?}", audited);
    same("audited", &audited.unwrap().events, &count)?;
    held.store.close().await;
    Ok(())
}

#[test]
fn both_databases_answer_as_the_model_does() {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(24);
    let config = ProptestConfig { failure_persistence: None, cases, ..ProptestConfig::default() };
    let tally = Tally::default();
    let cluster = Cluster::shared();
    let done = TestRunner::new(config).run(&prop::collection::vec(act(), 1..48), |acts| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        run(async {
            let shown = Shown::default();
            let mut held = vec![Held::new(Sqlite::open_by(path, shown.clock()).unwrap())];
            if let Some(cluster) = &cluster {
                held.push(Held::new(Postgres::connect_by(&schema(cluster), shown.clock()).await.unwrap()));
            }
            play(&acts, &mut held, &shown, &tally).await
        })
    });
    if let Err(error) = done {
        panic!("{error}");
    }
    let Tally { written, refused, listed, invoiced, credited, set_back } = &tally;
    let [written, refused, listed, invoiced, credited, set_back] =
        [written, refused, listed, invoiced, credited, set_back].map(|count| count.load(Ordering::Relaxed));
    println!(
        "{cases} cases: {written} written, {refused} refused, {listed} listed, {invoiced} invoiced, \
         {credited} credited, {set_back} times set back"
    );
    // By chance a few cases may hold no invoice at all; many hold some.
    let few = cases < 100;
    let blind = written <= 4 * cases || refused <= 4 * cases || listed <= cases / 4;
    let rare = few || (invoiced > cases / 8 && credited > cases / 40 && set_back > cases / 8);
    assert!(!blind && rare, "the cases have gone blind");
}
