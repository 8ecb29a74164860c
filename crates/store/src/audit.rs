//! Is everything still as it was written down?

use std::collections::{BTreeMap, HashMap, HashSet};
use std::ops::RangeInclusive;
use std::{fmt, iter};

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use evenfare_engine::text::Code;

use crate::chain;
use crate::clock::{TOLERANCE, may_follow};
use crate::digest::Digest;
use crate::entry::{Entry, State};
use crate::event::{Event, Kept, Kind, Record};
use crate::invoice::{Billed, Invoice};
use crate::number::{Number, Series};
use crate::refused::{Refused, StoreError};
use crate::rules::{self, Span, Standing};
use crate::store::Store;

mod found;

pub use found::{Anchor, AuditError, Audited, Broken, Link, SetBack};

/// How many records are read at once.
const PAGE: u32 = 256;
/// The rows of this many events are looked through at once: a database gives up a question that takes long.
const SPAN: u32 = 1 << 17;

/// Reads everything and checks every link; stops at the first that does not hold.
///
/// `visit` sees each record after its own checks, and says what is wrong with it where something is:
/// so that documents can be checked by those who know what they are. `anchor` is a place noted down
/// earlier.
///
/// # Errors
/// [`AuditError::Broken`] names the first link that does not hold, [`AuditError::Store`] says that the
/// store does not answer.
pub async fn audit(
    store: &dyn Store,
    anchor: Option<Anchor>,
    mut visit: impl FnMut(&Record) -> Result<(), String> + Send,
) -> Result<Audited, AuditError> {
    let mut course = Course::default();
    loop {
        let records = page(store, course.done.events).await?;
        for record in &records {
            course.follow(record, anchor)?;
            visit(record).map_err(|found| {
                broken(record.event.sequence, Link::Document, found, "what was kept can be read and is sound")
            })?;
        }
        if records.is_empty() {
            break;
        }
    }
    if let Some(anchor) = anchor.filter(|anchor| anchor.sequence > course.done.events) {
        let found = format!("{} events", course.done.events);
        return Err(broken(anchor.sequence, Link::Anchor, found, anchor.hash).into());
    }
    for events in spans(course.done.events) {
        if let Some((sequence, what)) = store.stray(events).await? {
            return Err(broken(sequence, Link::Stray, what, "only rows that an event knows").into());
        }
    }
    course.done.numbers = course
        .numbers
        .into_iter()
        .map(|((series, year), sequence)| Number { series, year, sequence })
        .collect();
    Ok(course.done)
}

/// All sequences that a row may name: before the first of that many events, theirs, and after the last.
fn spans(events: u64) -> impl Iterator<Item = RangeInclusive<i64>> {
    let last = i64::try_from(events).unwrap_or(i64::MAX);
    let end = move |first: i64| last.min(first.saturating_add(i64::from(SPAN) - 1));
    let of_events = (1..=last).step_by(SPAN as usize).map(move |first| first..=end(first));
    iter::once(i64::MIN..=0).chain(of_events).chain(iter::once(last.saturating_add(1)..=i64::MAX))
}

/// The next records; of a page that cannot be read, those up to the first that cannot.
async fn page(store: &dyn Store, after: u64) -> Result<Vec<Record>, AuditError> {
    let mut limit = PAGE;
    loop {
        match store.records(after, limit).await {
            Ok(records) => return Ok(records),
            Err(StoreError::Corrupt(_)) if limit > 1 => limit = limit.checked_div(2).unwrap_or(1),
            Err(StoreError::Corrupt(found)) => {
                let sequence = after.saturating_add(1);
                return Err(broken(sequence, Link::Readable, found, "what was written").into());
            }
            Err(error) => return Err(error.into()),
        }
    }
}

fn broken(sequence: u64, link: Link, found: impl ToString, expected: impl ToString) -> Broken {
    Broken { sequence, link, found: found.to_string(), expected: expected.to_string() }
}

/// How far an audit has come.
#[derive(Default)]
struct Course {
    done: Audited,
    time: Option<DateTime<Utc>>,
    requests: HashSet<Code>,
    numbers: BTreeMap<(Series, u16), u32>,
    /// Which series are of invoices, of those that have a number.
    series: HashMap<Series, bool>,
    quotes: HashMap<Number, Standing>,
    /// Invoices and credit notes, each with the credit note that took it back.
    invoices: HashMap<Number, (Billed, Option<Number>)>,
    /// Of quotes, the invoice that was not taken back.
    invoiced: HashMap<Number, Number>,
    editions: Vec<Span>,
    /// By name, and whether he is withdrawn.
    callers: HashMap<Code, bool>,
    credentials: HashSet<Digest>,
}

impl Course {
    fn follow(&mut self, record: &Record, anchor: Option<Anchor>) -> Result<(), Broken> {
        let event = &record.event;
        let holds = |link, found: &dyn fmt::Display, expected: &dyn fmt::Display, does: bool| {
            if does { Ok(()) } else { Err(broken(event.sequence, link, found, expected)) }
        };
        let next = self.done.events.saturating_add(1);
        // A gap is named by what is missing.
        if event.sequence != next {
            return Err(broken(next, Link::Sequence, event.sequence, next));
        }
        let before = self.done.head.map_or(Digest::ZERO, |head| head.hash);
        holds(Link::Previous, &event.previous, &before, event.previous == before)?;
        let hash = chain::hash_of(event);
        holds(Link::Hash, &event.hash, &hash, event.hash == hash)?;
        if let Some(anchor) = anchor.filter(|anchor| anchor.sequence == event.sequence) {
            holds(Link::Anchor, &event.hash, &anchor.hash, event.hash == anchor.hash)?;
        }
        if let Kept::Unread(why) = &record.kept {
            return Err(broken(event.sequence, Link::Readable, why, "what was written"));
        }
        let content = content_of(record);
        holds(Link::Content, &shown(content), &shown(event.content), event.content == content)?;
        let before = self.time.unwrap_or(event.recorded);
        let expected =
            format_args!("{before} or later, or more than {} minutes earlier", TOLERANCE.num_minutes());
        holds(Link::Time, &event.recorded, &expected, may_follow(before, event.recorded))?;
        let new = self.requests.insert(event.request_id.clone());
        holds(Link::RequestId, &event.request_id, &"an id of its own", new)?;
        match &record.kept {
            Kept::Entry(entry) => self.follow_quote(event, entry)?,
            Kept::Invoice(invoice) => self.follow_invoice(event, invoice)?,
            Kept::Edition(_) | Kept::Caller(_) | Kept::Unread(_) => self.follow_settings(record)?,
        }
        self.done.events = next;
        self.done.head = Some(Anchor { sequence: event.sequence, hash: event.hash });
        if event.recorded < before {
            let (sequence, recorded) = (event.sequence, event.recorded);
            self.done.set_back.push(SetBack { sequence, before, recorded });
        }
        self.time = Some(event.recorded);
        Ok(())
    }

    fn follow_quote(&mut self, event: &Event, entry: &Entry) -> Result<(), Broken> {
        let (number, content) = (&entry.number, &entry.content);
        let before = self.quotes.get(number);
        let revision = match (event.kind, before) {
            // The customer answers to what stands.
            (Kind::Accepted | Kind::Declined, Some(standing)) => Some(standing.revision),
            _ => event.revision,
        };
        let same = [event.revision, revision] == [Some(content.revision); 2];
        if !same || number.to_string() != event.subject {
            let found = format!("{number}, revision {}", content.revision);
            let expected = format!("{}, revision {}", event.subject, revision.unwrap_or_default());
            return Err(broken(event.sequence, Link::Content, found, expected));
        }
        let standing = || before.ok_or_else(|| Refused::NoSuchQuote { number: number.clone() });
        let day = event.settled.unwrap_or_default();
        let allowed = match event.kind {
            Kind::Issued => rules::issue(number, content),
            Kind::Revised => standing().and_then(|standing| standing.revise(number, content)),
            Kind::Reversed => standing().and_then(|standing| standing.reverse(number, content)),
            Kind::Accepted => standing().and_then(|standing| match &event.offer {
                Some(offer) => standing.accept(number, offer, day),
                None => Err(Refused::NotOpen { number: number.clone(), state: standing.state }),
            }),
            _ => standing().and_then(|standing| standing.decline(number, day)),
        };
        allowed.map_err(|refused| against_the_rules(event, &refused))?;
        match event.kind {
            Kind::Issued => {
                self.follow_number(event, number, content.quoted, false)?;
            }
            Kind::Accepted | Kind::Declined => {
                let state = if event.kind == Kind::Accepted { State::Accepted } else { State::Declined };
                if let Some(standing) = self.quotes.get_mut(number) {
                    standing.state = state;
                    standing.accepted = event.offer.clone().zip(event.settled);
                }
                return Ok(());
            }
            _ => {}
        }
        self.quotes.insert(number.clone(), Standing::written(content));
        self.done.entries = self.done.entries.saturating_add(1);
        Ok(())
    }

    /// Numbers come one after the other, by the year of their day, and a series is of quotes or of invoices.
    fn follow_number(
        &mut self,
        event: &Event,
        number: &Number,
        day: NaiveDate,
        of_invoices: bool,
    ) -> Result<(), Broken> {
        let last = self.numbers.entry((number.series.clone(), number.year)).or_insert(0);
        let next = Number { sequence: last.saturating_add(1), ..number.clone() };
        let year = u16::try_from(day.year()).ok();
        if *number != next || year != Some(number.year) {
            return Err(broken(event.sequence, Link::Number, number, next));
        }
        *last = number.sequence;
        if *self.series.entry(number.series.clone()).or_insert(of_invoices) != of_invoices {
            let of = if of_invoices { "quotes" } else { "invoices" };
            let refused = Refused::SeriesInUse { series: number.series.clone(), of };
            return Err(against_the_rules(event, &refused));
        }
        Ok(())
    }

    fn follow_invoice(&mut self, event: &Event, invoice: &Invoice) -> Result<(), Broken> {
        let Invoice { number, billed, .. } = invoice;
        if number.to_string() != event.subject {
            return Err(broken(event.sequence, Link::Content, number, &event.subject));
        }
        let quote = &billed.quote;
        let allowed = match &billed.preceding {
            None => {
                let standing = self.invoiced.get(quote).cloned();
                let days = (billed.issued, billed.due.unwrap_or(NaiveDate::MIN));
                let by = |entry: &Standing| entry.invoice(quote, standing, days, billed.sale);
                self.quotes
                    .get(quote)
                    .ok_or_else(|| Refused::NoSuchQuote { number: quote.clone() })
                    .and_then(by)
            }
            Some(preceding) => match self.invoices.get(preceding) {
                Some((before, credited)) => rules::credit(preceding, before, credited.clone(), billed.issued),
                None => Err(Refused::NoSuchInvoice { number: preceding.clone() }),
            },
        };
        let should = allowed.map_err(|refused| against_the_rules(event, &refused))?;
        let kind = if billed.preceding.is_none() { Kind::Invoiced } else { Kind::Credited };
        if should != *billed || event.kind != kind {
            let found = format!("{} {billed:?}", event.kind);
            return Err(broken(event.sequence, Link::Rules, found, format!("{kind} {should:?}")));
        }
        self.follow_number(event, number, billed.issued, true)?;
        let before = Number { sequence: number.sequence.saturating_sub(1), ..number.clone() };
        let last = self.invoices.get(&before).map(|(last, _)| (before, last.issued));
        rules::in_order(last, billed.issued).map_err(|refused| against_the_rules(event, &refused))?;
        match &billed.preceding {
            None => drop(self.invoiced.insert(quote.clone(), number.clone())),
            Some(preceding) => {
                self.invoiced.remove(quote);
                if let Some((_, credited)) = self.invoices.get_mut(preceding) {
                    *credited = Some(number.clone());
                }
            }
        }
        self.invoices.insert(number.clone(), (billed.clone(), None));
        self.done.invoices = self.done.invoices.saturating_add(1);
        Ok(())
    }

    fn follow_settings(&mut self, record: &Record) -> Result<(), Broken> {
        let event = &record.event;
        let (subject, allowed) = match &record.kept {
            Kept::Edition(edition) => {
                let allowed = rules::publish(&self.editions, &edition.code, edition.from);
                let (code, from, until) = (edition.code.clone(), edition.from, edition.until);
                self.editions.push(Span { code, from, until });
                self.done.editions = self.done.editions.saturating_add(1);
                (&edition.code, allowed)
            }
            Kept::Caller(caller) if event.kind == Kind::CallerAdded => {
                let name = caller.name.clone();
                self.done.callers = self.done.callers.saturating_add(1);
                let allowed = if self.callers.insert(name.clone(), false).is_some() {
                    Err(Refused::CallerExists { name })
                } else if self.credentials.insert(caller.credential) {
                    Ok(())
                } else {
                    Err(Refused::CredentialInUse)
                };
                (&caller.name, allowed)
            }
            Kept::Caller(caller) => {
                let name = caller.name.clone();
                let allowed = match self.callers.insert(name.clone(), true) {
                    Some(false) => Ok(()),
                    _ => Err(Refused::NoSuchCaller { name }),
                };
                (&caller.name, allowed)
            }
            Kept::Entry(_) | Kept::Invoice(_) | Kept::Unread(_) => return Ok(()),
        };
        if subject.as_str() != event.subject {
            return Err(broken(event.sequence, Link::Content, subject, &event.subject));
        }
        allowed.map_err(|refused| against_the_rules(event, &refused))
    }
}

fn against_the_rules(event: &Event, refused: &Refused) -> Broken {
    broken(event.sequence, Link::Rules, format!("{} although {refused}", event.kind), "what the rules allow")
}

/// The digest of what was written along with an event; none where nothing was.
fn content_of(record: &Record) -> Option<Digest> {
    match (&record.kept, record.event.kind) {
        (Kept::Entry(entry), Kind::Issued | Kind::Revised | Kind::Reversed) => {
            Some(chain::digest_of_entry(&entry.content))
        }
        (Kept::Invoice(invoice), _) => Some(chain::digest_of_invoice(&invoice.billed)),
        (Kept::Edition(edition), _) => Some(chain::digest_of_edition(
            &edition.code,
            edition.from,
            edition.until,
            &edition.currency,
            &edition.archive,
        )),
        (Kept::Caller(caller), Kind::CallerAdded) => {
            Some(chain::digest_of_caller(&caller.name, &caller.role, caller.kind, &caller.credential))
        }
        _ => None,
    }
}

fn shown(digest: Option<Digest>) -> String {
    digest.map_or_else(|| "nothing".to_owned(), |digest| digest.to_string())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use evenfare_engine::text::Text;

    use super::*;
    use crate::command::{Command, Request};
    use crate::entry::{Content, Offered};
    use crate::sqlite::Sqlite;

    fn quote(revision: u32) -> Box<Content> {
        Box::new(Content {
            revision,
            reversal: false,
            reference: "JOB-1".parse().unwrap(),
            customer: "Bakery".parse().unwrap(),
            edition: "E1".parse().unwrap(),
            currency: "EUR".parse().unwrap(),
            quoted: NaiveDate::default(),
            valid_until: NaiveDate::default(),
            end_net_minor: 0,
            offers: vec![Offered { id: "main".parse().unwrap(), net_minor: Some(0) }],
            partners: Vec::new(),
            document: bytes::Bytes::new(),
        })
    }

    /// Whoever computes the hashes again could have the customer accept what was revised since, at another price.
    #[tokio::test]
    async fn a_customer_accepts_the_revision_that_stands() {
        let folder = tempfile::tempdir().unwrap();
        let store = Sqlite::open(folder.path().join("store.db")).unwrap();
        let write = async |id: &str, command| {
            let (id, caller) = (id.parse().unwrap(), "office".parse().unwrap());
            store.write(Request { id, fingerprint: Digest::ZERO, caller, command }).await.unwrap()
        };
        let issue = Command::Issue { series: Series::usual(), content: quote(1), editions: 0 };
        let issued = write("r-1", issue).await;
        let number: Number = issued.event.subject.parse().unwrap();
        let (of, etag, reason) = (number.clone(), issued.event.hash, Text::default());
        let revise = Command::Revise { number: of, etag, content: quote(2), editions: 0, reason };
        let revised = write("r-2", revise).await;
        let (etag, offer, day) = (revised.event.hash, "main".parse().unwrap(), NaiveDate::default());
        let accepted = write("r-3", Command::Accept { number, etag, offer, day }).await;
        let after = |last: &Record| {
            let mut course = Course::default();
            [&issued, &revised, last].into_iter().try_for_each(|record| course.follow(record, None))
        };
        assert_eq!(after(&accepted), Ok(()));
        let mut event = Event { revision: Some(1), ..accepted.event };
        event.hash = chain::hash_of(&event);
        let of_the_first = Record { event, kept: issued.kept.clone() };
        assert_eq!(after(&of_the_first).map_err(|broken| broken.link), Err(Link::Content));
        store.close().await;
    }

    #[test]
    fn every_sequence_is_in_one_span() {
        let span = u64::from(SPAN);
        for (events, of_events) in [(0, 0), (1, 1), (span, 1), (span + 1, 2), (3 * span, 3)] {
            let spans: Vec<_> = spans(events).collect();
            assert_eq!(spans.len(), of_events + 2, "{events}");
            assert_eq!(spans.first().map(RangeInclusive::start), Some(&i64::MIN));
            assert_eq!(spans.last().map(RangeInclusive::end), Some(&i64::MAX));
            for (one, next) in spans.iter().zip(spans.iter().skip(1)) {
                assert_eq!(one.end() + 1, *next.start(), "{events}");
                assert!(!next.is_empty(), "{events}");
            }
        }
    }
}
