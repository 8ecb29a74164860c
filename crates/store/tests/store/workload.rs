//! The same requests to both databases and to the model: all answers are equal.

use std::fmt::Debug;
use std::sync::atomic::{AtomicU32, Ordering};

use chrono::{DateTime, Days, Utc};
use evenfare_engine::text::Code;
use evenfare_store::audit::audit;
use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Entry, State};
use evenfare_store::event::{Kept, Kind, Record};
use evenfare_store::number::Number;
use evenfare_store::refused::StoreError;
use evenfare_store::sqlite::Sqlite;
use evenfare_store::{Filter, Listing, Sight, Store};
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::TestRunner;

use crate::model::{Model, Told, ToldEntry, Wish};
use crate::world::{code, content, day, run, series, text};

/// A write, by places in what there is when it runs.
#[derive(Debug, Clone)]
struct Step {
    what: What,
    /// Which request's id is used again, and whether its whole request is.
    again: Option<(Index, bool)>,
}

#[derive(Debug, Clone)]
struct Change {
    quote: Index,
    /// How many events of the number ago the etag was right.
    ago: usize,
}

#[derive(Debug, Clone)]
enum What {
    Issue { series: usize, year: i32, partners: Vec<usize>, off: bool, first: bool },
    Revise { change: Change, more: u32, partners: Vec<usize>, off: bool },
    Reverse { change: Change, more: u32 },
    Accept { change: Change, offer: usize, days: i64 },
    Decline { change: Change, days: i64 },
    Publish { code: usize, from: u64, days: Option<u64> },
    Add { name: usize, role: usize, credential: usize },
    Withdraw { name: usize },
}

/// Something that happens.
#[derive(Debug, Clone)]
enum Act {
    /// Requests that wait in the queue together.
    Write(Vec<Step>),
    List {
        sight: usize,
        filter: Looking,
        limit: u32,
    },
    Entry {
        quote: Index,
        which: Option<(u32, bool)>,
        sight: usize,
    },
    Answered(Index),
}

#[derive(Debug, Clone)]
struct Looking {
    reference: Option<usize>,
    states: Vec<usize>,
    from: Option<u64>,
    until: Option<u64>,
}

const STATES: [State; 5] =
    [State::Open, State::Accepted, State::Declined, State::Reversed, State::Superseded];

fn change() -> impl Strategy<Value = Change> {
    let ago = prop_oneof![9 => Just(0_usize), 1 => 1..3_usize];
    (any::<Index>(), ago).prop_map(|(quote, ago)| Change { quote, ago })
}

fn partners() -> impl Strategy<Value = Vec<usize>> {
    prop::collection::vec(0..3_usize, 0..3)
}

fn rarely() -> impl Strategy<Value = bool> {
    prop::bool::weighted(0.05)
}

fn what() -> impl Strategy<Value = What> {
    let more = || prop_oneof![1 => Just(0_u32), 12 => Just(1), 1 => Just(2)];
    prop_oneof![
        6 => (0..2_usize, 2025..2027, partners(), rarely(), prop::bool::weighted(0.95)).prop_map(
            |(series, year, partners, off, first)| What::Issue { series, year, partners, off, first }
        ),
        4 => (change(), more(), partners(), rarely())
            .prop_map(|(change, more, partners, off)| What::Revise { change, more, partners, off }),
        2 => (change(), more()).prop_map(|(change, more)| What::Reverse { change, more }),
        3 => (change(), 0..3_usize, -1..33_i64)
            .prop_map(|(change, offer, days)| What::Accept { change, offer, days }),
        2 => (change(), -1..5_i64).prop_map(|(change, days)| What::Decline { change, days }),
        1 => (0..5_usize, 0..40_u64, prop::option::of(0..9_u64))
            .prop_map(|(code, from, days)| What::Publish { code, from, days }),
        1 => (0..4_usize, 0..3_usize, 0..5_usize)
            .prop_map(|(name, role, credential)| What::Add { name, role, credential }),
        1 => (0..4_usize).prop_map(|name| What::Withdraw { name }),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    (what(), prop::option::weighted(0.12, (any::<Index>(), any::<bool>())))
        .prop_map(|(what, again)| Step { what, again })
}

fn act() -> impl Strategy<Value = Act> {
    let looking = (
        prop::option::weighted(0.3, 0..3_usize),
        prop::collection::vec(0..5_usize, 0..3),
        prop::option::weighted(0.3, 0..400_u64),
        prop::option::weighted(0.3, 0..400_u64),
    )
        .prop_map(|(reference, states, from, until)| Looking { reference, states, from, until });
    prop_oneof![
        6 => prop::collection::vec(step(), 1..6).prop_map(Act::Write),
        2 => (0..4_usize, looking, 1..5_u32).prop_map(|(sight, filter, limit)| Act::List {
            sight,
            filter,
            limit
        }),
        2 => (any::<Index>(), prop::option::of((1..4_u32, any::<bool>())), 0..4_usize)
            .prop_map(|(quote, which, sight)| Act::Entry { quote, which, sight }),
        1 => any::<Index>().prop_map(Act::Answered),
    ]
}

fn partner(at: usize) -> Code {
    code(["NORD", "SUED", "N"][at])
}

fn sight(at: usize) -> Sight {
    if at == 3 { Sight::All } else { Sight::Partner(partner(at)) }
}

/// One store that is held against the model.
struct Held {
    store: Box<dyn Store>,
    /// The hash of each event, in order.
    hashes: Vec<Digest>,
}

impl Held {
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
            Kept::Edition(edition) => {
                assert_eq!(
                    (&edition.published, &edition.publisher),
                    (&record.event.recorded, &code("office-1"))
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
        }
    }

    fn told_answer(&mut self, answer: Result<Record, StoreError>) -> Result<Told, StoreError> {
        answer.map(|record| self.told(&record))
    }
}

fn same<T: PartialEq + Debug>(of: &str, found: &T, expected: &T) -> Result<(), TestCaseError> {
    prop_assert_eq!(found, expected, "{}", of);
    Ok(())
}

/// The command with its etag set.
fn with_etag(command: &Command, to: Digest) -> Command {
    let mut command = command.clone();
    match &mut command {
        Command::Revise { etag, .. }
        | Command::Reverse { etag, .. }
        | Command::Accept { etag, .. }
        | Command::Decline { etag, .. } => *etag = to,
        _ => {}
    }
    command
}

/// What a step means as things stand.
fn wish(model: &Model, asked: &[Wish], step: &Step, place: usize) -> Wish {
    let numbers = model.numbers();
    let of = |change: &Change| -> (Number, usize, Option<ToldEntry>) {
        let unknown = Number { series: series("Z"), year: 2026, sequence: 1 };
        let number = if numbers.is_empty() { unknown } else { change.quote.get(&numbers).clone() };
        let events: Vec<usize> = model
            .log
            .iter()
            .filter_map(|line| match &line.2 {
                Told::Entry(sequence, entry) if entry.number == number => Some(*sequence),
                _ => None,
            })
            .collect();
        let etag = events.iter().rev().nth(change.ago).copied().unwrap_or(0);
        let last = model.entry(&number, None, &Sight::All);
        (number, etag, last)
    };
    let editions = |off: bool| model.editions().len() + usize::from(off);
    let quoted = |year: i32| day(year, 3, 1) + Days::new(u64::try_from(place % 200).unwrap());
    let made = |revision: u32, reversal: bool, year: i32, partners: &[usize]| {
        let mut made = content(quoted(year), 10 + place);
        (made.revision, made.reversal) = (revision, reversal);
        made.reference = code(&format!("JOB-{}", place % 3));
        made.partners = partners.iter().map(|at| partner(*at)).collect();
        made.end_net_minor = if reversal { -5 } else { 7_000_000_000 };
        Box::new(made)
    };
    let revision = |last: &Option<ToldEntry>| last.as_ref().map_or(0, |last| last.content.revision);
    let asked_on = |last: &Option<ToldEntry>, days: i64| match last.as_ref().map(|last| last.content.quoted) {
        Some(quoted) => quoted + chrono::TimeDelta::days(days),
        None => day(2026, 1, 1),
    };
    let hash = Digest::ZERO;
    let (etag, command) = match &step.what {
        What::Issue { series: at, year, partners, off, first } => {
            let content = made(if *first { 1 } else { 2 }, false, *year, partners);
            let series = series(["Q", "AB"][*at]);
            (0, Command::Issue { series, content, editions: editions(*off) })
        }
        What::Revise { change, more, partners, off } => {
            let (number, etag, last) = of(change);
            let content = made(revision(&last) + more, false, 2026, partners);
            let (editions, reason) = (editions(*off), text("a part was forgotten"));
            (etag, Command::Revise { number, etag: hash, content, editions, reason })
        }
        What::Reverse { change, more } => {
            let (number, etag, last) = of(change);
            let content = made(revision(&last) + 1 - more.min(&1), true, 2026, &[0]);
            (etag, Command::Reverse { number, etag: hash, content, reason: text("") })
        }
        What::Accept { change, offer, days } => {
            let (number, etag, last) = of(change);
            let offer = code(["main", "swap", "none"][*offer]);
            (etag, Command::Accept { number, etag: hash, offer, day: asked_on(&last, *days) })
        }
        What::Decline { change, days } => {
            let (number, etag, last) = of(change);
            let day = asked_on(&last, *days);
            (etag, Command::Decline { number, etag: hash, day, reason: text("zu teuer") })
        }
        What::Publish { code: at, from, days } => {
            let (code, from) = (code(&format!("E{at}")), day(2026, 1, 1) + Days::new(*from));
            let until = days.map(|days| from + Days::new(days));
            let (currency, archive) = ("EUR".parse().unwrap(), vec![7; place]);
            (0, Command::Publish { code, from, until, currency, archive })
        }
        What::Add { name, role, credential } => {
            let role = [Role::Office, Role::Accountant, Role::Partner(partner(0))][*role].clone();
            let credential = Digest::of(&[u8::try_from(*credential).unwrap()]);
            let name = code(&format!("caller-{name}"));
            (0, Command::AddCaller { name, role, kind: CredentialKind::Token, credential })
        }
        What::Withdraw { name } => (0, Command::WithdrawCaller { name: code(&format!("caller-{name}")) }),
    };
    let fingerprint = Digest::of(format!("{place}").as_bytes());
    match &step.again {
        Some((which, whole)) if !asked.is_empty() => {
            let before = which.get(asked).clone();
            if *whole { before } else { Wish { id: before.id, fingerprint, etag, command } }
        }
        _ => Wish { id: code(&format!("r-{place}")), fingerprint, etag, command },
    }
}

/// Counts what the cases came to, so that a generator gone blind shows.
#[derive(Default)]
struct Tally {
    written: AtomicU32,
    refused: AtomicU32,
    listed: AtomicU32,
}

async fn play(acts: &[Act], held: &mut [Held], tally: &Tally) -> Result<(), TestCaseError> {
    let mut model = Model::default();
    let mut asked: Vec<Wish> = Vec::new();
    for act in acts {
        match act {
            Act::Write(steps) => write(steps, &mut model, &mut asked, held, tally).await?,
            Act::List { sight: at, filter, limit } => {
                let filter = Filter {
                    reference: filter.reference.map(|at| code(&format!("JOB-{at}"))),
                    states: filter.states.iter().map(|at| STATES[*at]).collect(),
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
            Act::Answered(which) if !asked.is_empty() => {
                let id = &which.get(&asked).id;
                let expected = model.answered(id);
                for held in &mut *held {
                    let found = held.store.answered(id).await.unwrap().map(|record| held.told(&record));
                    same("answered", &found, &expected)?;
                }
            }
            Act::Answered(_) => {}
        }
    }
    for held in held {
        finish(&model, held).await?;
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
        found.extend(page.summaries);
        before = page.next;
        if before.is_none() {
            break;
        }
    }
    let shown: Vec<_> = found
        .iter()
        .map(|line| {
            (&line.number, line.revision, line.state, &line.reference, line.quoted, line.end_net_minor)
        })
        .collect();
    let wanted: Vec<_> = expected
        .iter()
        .map(|entry| {
            let content = &entry.content;
            let (revision, reference) = (content.revision, &content.reference);
            (&entry.number, revision, entry.state, reference, content.quoted, content.end_net_minor)
        })
        .collect();
    same("list", &shown, &wanted)
}

/// Everything once more, and the chain.
async fn finish(model: &Model, held: &mut Held) -> Result<(), TestCaseError> {
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
    let told: Vec<_> = records.iter().map(|record| held.told(record)).collect();
    same("records", &told, &model.log.iter().map(|line| line.2.clone()).collect())?;
    for (at, record) in records.iter().enumerate() {
        let earlier = records.iter().filter(|other| other.event.recorded < record.event.recorded).count();
        let before = held.store.last_before(record.event.recorded).await.unwrap();
        prop_assert!(earlier <= at);
        same("last_before", &before, &u64::try_from(earlier).unwrap())?;
    }
    same("at the end of time", &held.store.last_before(DateTime::<Utc>::MAX_UTC).await.unwrap(), &count)?;
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
    let callers = held.store.callers().await.unwrap().into_iter();
    let callers: Vec<_> =
        callers.map(|one| (one.name, one.role, one.credential, one.withdrawn.is_some())).collect();
    same("callers", &callers, &model.callers())?;
    for number in model.numbers() {
        let found = held.store.entry(&number, None, &Sight::All).await.unwrap();
        let found = found.map(|entry| held.told_entry(&entry));
        same("entry", &found, &model.entry(&number, None, &Sight::All))?;
    }
    let audited = audit(held.store.as_ref(), None, |_| Ok(())).await;
    prop_assert!(audited.is_ok(), "{:?}", audited);
    same("audited", &audited.unwrap().events, &count)?;
    held.store.close().await;
    Ok(())
}

#[test]
fn both_databases_answer_as_the_model_does() {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(48);
    let config = ProptestConfig { failure_persistence: None, cases, ..ProptestConfig::default() };
    let tally = Tally::default();
    let done = TestRunner::new(config).run(&prop::collection::vec(act(), 1..40), |acts| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        run(async {
            let mut held = vec![Held { store: Box::new(Sqlite::open(path).unwrap()), hashes: Vec::new() }];
            play(&acts, &mut held, &tally).await
        })
    });
    if let Err(error) = done {
        panic!("{error}");
    }
    let [written, refused, listed] =
        [&tally.written, &tally.refused, &tally.listed].map(|count| count.load(Ordering::Relaxed));
    println!("{cases} cases: {written} written, {refused} refused, {listed} listed");
    assert!(written > 10 * cases && refused > 5 * cases && listed > cases, "the cases have gone blind");
}
