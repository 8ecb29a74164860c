//! Random steps: what may be asked of a store, wrong things too.

use chrono::Days;
use evenfare_engine::text::Code;
use evenfare_store::Sight;
use evenfare_store::caller::{CredentialKind, Role};
use evenfare_store::command::Command;
use evenfare_store::digest::Digest;
use evenfare_store::entry::State;
use evenfare_store::invoice::Sale;
use evenfare_store::number::{Number, Series};
use proptest::prelude::*;
use proptest::sample::Index;

use crate::bills::ToldInvoice;
use crate::model::{Model, Told, ToldEntry, Wish};
use crate::world::{code, content, day, series, text};

/// A write, by places in what there is when it runs.
#[derive(Debug, Clone)]
pub struct Step {
    pub what: What,
    /// Which request's id is used again, and whether its whole request is.
    pub again: Option<(Index, bool)>,
}

#[derive(Debug, Clone)]
pub struct Change {
    pub quote: Index,
    /// How many events of the number ago the etag was right.
    pub ago: usize,
}

#[derive(Debug, Clone)]
pub enum What {
    Issue { series: usize, year: i32, partners: Vec<usize>, off: bool, first: bool },
    Revise { change: Change, more: u32, partners: Vec<usize>, off: bool },
    Reverse { change: Change, more: u32 },
    Accept { change: Change, off: bool, offer: usize, days: i64 },
    Decline { change: Change, days: i64 },
    Invoice { change: Change, off: bool, series: usize, days: i64, due: i64 },
    Credit { invoice: Index, series: usize, days: i64 },
    Publish { code: usize, from: u64, days: Option<u64> },
    Add { name: usize, role: usize, credential: usize },
    Withdraw { name: usize },
}

/// Something that happens.
#[derive(Debug, Clone)]
pub enum Act {
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
    Invoices {
        sight: usize,
        series: Option<usize>,
        quote: Option<Index>,
        from: Option<u64>,
        limit: u32,
    },
    Invoice {
        invoice: Index,
        sight: usize,
    },
    Answered(Index),
    /// The clock goes on by this many seconds, or is set back.
    Clock(i64),
}

#[derive(Debug, Clone)]
pub struct Looking {
    pub series: Option<usize>,
    pub reference: Option<usize>,
    pub states: Vec<usize>,
    pub from: Option<u64>,
    pub until: Option<u64>,
}

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

/// Two of its own kind, rarely the one that is meant of the other kind, and one that both may come to first.
fn in_series() -> impl Strategy<Value = usize> {
    prop_oneof![20 => 0..2_usize, 2 => 2..4_usize]
}

/// One of two that there are, rarely another.
fn accepted_offer() -> impl Strategy<Value = usize> {
    prop_oneof![9 => 0..2_usize, 1 => Just(2)]
}

/// This many days later, rarely before.
fn later() -> impl Strategy<Value = i64> {
    prop_oneof![1 => -40..0_i64, 9 => 0..4_i64]
}

/// Around what is no matter, and sometimes a year ahead or back.
fn seconds() -> impl Strategy<Value = i64> {
    prop_oneof![4 => -400..400_i64, 1 => Just(-300), 1 => -40_000_000..40_000_000_i64]
}

fn what() -> impl Strategy<Value = What> {
    let more = || prop_oneof![1 => Just(0_u32), 12 => Just(1), 1 => Just(2)];
    prop_oneof![
        8 => (in_series(), 2025..2027, partners(), rarely(), prop::bool::weighted(0.95)).prop_map(
            |(series, year, partners, off, first)| What::Issue { series, year, partners, off, first }
        ),
        4 => (change(), more(), partners(), rarely())
            .prop_map(|(change, more, partners, off)| What::Revise { change, more, partners, off }),
        2 => (change(), more()).prop_map(|(change, more)| What::Reverse { change, more }),
        6 => (change(), prop::bool::weighted(0.3), accepted_offer(), -1..33_i64)
            .prop_map(|(change, off, offer, days)| What::Accept { change, off, offer, days }),
        2 => (change(), -1..5_i64).prop_map(|(change, days)| What::Decline { change, days }),
        6 => (change(), prop::bool::weighted(0.2), in_series(), later(), -1..31_i64)
            .prop_map(|(change, off, series, days, due)| What::Invoice { change, off, series, days, due }),
        3 => (any::<Index>(), in_series(), later())
            .prop_map(|(invoice, series, days)| What::Credit { invoice, series, days }),
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

pub fn act() -> impl Strategy<Value = Act> {
    let one_series = || prop::option::weighted(0.3, 0..4_usize);
    let looking = (
        one_series(),
        prop::option::weighted(0.3, 0..3_usize),
        prop::collection::vec(0..5_usize, 0..3),
        prop::option::weighted(0.3, 0..400_u64),
        prop::option::weighted(0.3, 0..400_u64),
    )
        .prop_map(|(series, reference, states, from, until)| Looking {
            series,
            reference,
            states,
            from,
            until,
        });
    prop_oneof![
        6 => prop::collection::vec(step(), 1..6).prop_map(Act::Write),
        4 => (0..4_usize, looking, 1..5_u32).prop_map(|(sight, filter, limit)| Act::List {
            sight,
            filter,
            limit
        }),
        2 => (any::<Index>(), prop::option::of((1..4_u32, any::<bool>())), 0..4_usize)
            .prop_map(|(quote, which, sight)| Act::Entry { quote, which, sight }),
        2 => (0..4_usize, one_series(), prop::option::weighted(0.3, any::<Index>()),
            prop::option::weighted(0.3, 0..400_u64), 1..4_u32)
            .prop_map(|(sight, series, quote, from, limit)| Act::Invoices {
                sight,
                series,
                quote,
                from,
                limit
            }),
        1 => (any::<Index>(), 0..4_usize).prop_map(|(invoice, sight)| Act::Invoice { invoice, sight }),
        1 => any::<Index>().prop_map(Act::Answered),
        2 => seconds().prop_map(Act::Clock),
    ]
}

/// Series of quotes, and those that invoices have.
const OF_QUOTES: [&str; 4] = ["Q", "AB", "R", "X"];
const OF_INVOICES: [&str; 4] = ["R", "GA", "Q", "X"];

pub fn of_quotes(at: usize) -> Series {
    series(OF_QUOTES[at])
}

pub fn of_invoices(at: usize) -> Series {
    series(OF_INVOICES[at])
}

fn partner(at: usize) -> Code {
    code(["NORD", "SUED", "N"][at])
}

pub fn sight(at: usize) -> Sight {
    if at == 3 { Sight::All } else { Sight::Partner(partner(at)) }
}

/// What a step means as things stand.
pub fn wish(model: &Model, asked: &[Wish], step: &Step, place: usize) -> Wish {
    let numbers = model.numbers();
    // Mostly those that it can happen to.
    let in_state = |state: State, off: bool| -> Vec<Number> {
        let is = |number: &&Number| model.entry(number, None, &Sight::All).unwrap().state == state;
        let fit: Vec<Number> = numbers.iter().filter(is).cloned().collect();
        if off || fit.is_empty() { numbers.clone() } else { fit }
    };
    let among = |numbers: &[Number], change: &Change| -> (Number, usize, Option<ToldEntry>) {
        let unknown = Number { series: series("Z"), year: 2026, sequence: 1 };
        let number = if numbers.is_empty() { unknown } else { change.quote.get(numbers).clone() };
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
    let of = |change: &Change| among(&numbers, change);
    let editions = |off: bool| model.editions().len() + usize::from(off);
    let quoted = |year: i32| day(year, 3, 1) + Days::new(u64::try_from(place % 200).unwrap());
    let made = |revision: u32, reversal: bool, year: i32, partners: &[usize]| {
        let mut made = content(quoted(year), 10 + place);
        (made.revision, made.reversal) = (revision, reversal);
        made.reference = code(&format!("JOB-{}", place % 3));
        made.partners = partners.iter().map(|at| partner(*at)).collect();
        made.end_net_minor = if reversal { -5 } else { 7_000_000_000 };
        made.offers[1].net_minor = Some(i64::try_from(place).unwrap() * 10_i64.pow(10) - 5);
        if place % 4 == 3 {
            // As an earlier version has written it.
            made.offers.iter_mut().for_each(|offer| offer.net_minor = None);
        }
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
            let series = of_quotes(*at);
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
        What::Accept { change, off, offer, days } => {
            let (number, etag, last) = among(&in_state(State::Open, *off), change);
            let offer = code(["main", "swap", "none"][*offer]);
            (etag, Command::Accept { number, etag: hash, offer, day: asked_on(&last, *days) })
        }
        What::Decline { change, days } => {
            let (number, etag, last) = of(change);
            let day = asked_on(&last, *days);
            (etag, Command::Decline { number, etag: hash, day, reason: text("zu teuer") })
        }
        What::Invoice { change, off, series: at, days, due } => {
            let (number, etag, last) = among(&in_state(State::Accepted, *off), change);
            let issued = last.and_then(|last| last.settled).unwrap_or(day(2026, 5, 1));
            let last = model.invoices().iter().map(|other| other.billed.issued).max();
            let issued = if *days == 0 { issued.max(last.unwrap_or(issued)) } else { issued };
            let issued = issued + chrono::TimeDelta::days(*days);
            let due = issued + chrono::TimeDelta::days(*due);
            let net_minor = i64::try_from(place).unwrap() * 100 - 300;
            let sale = Sale { net_minor, gross_minor: net_minor * 119 / 100 };
            let series = of_invoices(*at);
            (etag, Command::Invoice { series, number, etag: hash, issued, due, sale })
        }
        What::Credit { invoice, series: at, days } => {
            let invoices = model.invoices();
            let unknown = || (Number { series: series("R"), year: 1999, sequence: 1 }, day(2026, 1, 1));
            let of = (!invoices.is_empty()).then(|| invoice.get(&invoices));
            let last = |number: &Number| {
                let year = |other: &&ToldInvoice| other.number.year == number.year;
                invoices.iter().filter(year).map(|other| other.billed.issued).max().unwrap()
            };
            let (invoice, issued) =
                of.map_or_else(unknown, |invoice| (invoice.number.clone(), last(&invoice.number)));
            let issued = issued + chrono::TimeDelta::days(*days);
            (0, Command::Credit { series: of_invoices(*at), invoice, issued, reason: text("falsch") })
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
