//! Writing one thing down, inside a transaction of either database. Every decision is made here, once.

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use evenfare_engine::text::{Code, Text};

use crate::caller::Caller;
use crate::chain;
use crate::command::{Command, Request};
use crate::digest::Digest;
use crate::entry::{Content, Entry, KeptEdition, State};
use crate::event::{Event, Kept, Kind, Record};
use crate::number::{Number, Series};
use crate::refused::Refused;
use crate::rows;
use crate::rules::{self, Standing};
use crate::tables::{Ask, Fault, Row, Tables, ask, corrupt, sequence_value};

/// A request with what can be computed of it before its turn comes.
#[derive(Debug)]
pub(crate) struct Asked {
    pub(crate) request: Request,
    /// The digest of what is to be kept along with the event.
    content: Option<Digest>,
}

/// Where the chain ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Head {
    pub(crate) sequence: u64,
    hash: Digest,
    recorded: DateTime<Utc>,
}

/// What an event says beside who asked for it, when, and what was before.
struct Happening {
    kind: Kind,
    subject: String,
    revision: Option<u32>,
    offer: Option<Code>,
    settled: Option<NaiveDate>,
    reason: Text,
}

impl Asked {
    pub(crate) fn new(request: Request) -> Self {
        let content = match &request.command {
            Command::Issue { content, .. }
            | Command::Revise { content, .. }
            | Command::Reverse { content, .. } => Some(chain::digest_of_entry(content)),
            Command::Publish { code, from, until, currency, archive } => {
                Some(chain::digest_of_edition(code, *from, *until, *currency, archive))
            }
            Command::AddCaller { name, role, kind, credential } => {
                Some(chain::digest_of_caller(name, role, *kind, credential))
            }
            Command::Accept { .. } | Command::Decline { .. } | Command::WithdrawCaller { .. } => None,
        };
        Self { request, content }
    }

    /// About how much it will take in the database, in bytes.
    pub(crate) fn weight(&self) -> usize {
        let large = match &self.request.command {
            Command::Issue { content, .. }
            | Command::Revise { content, .. }
            | Command::Reverse { content, .. } => content.document.len(),
            Command::Publish { archive, .. } => archive.len(),
            _ => 0,
        };
        large.saturating_add(1024)
    }
}

impl Head {
    /// Asks for it.
    pub(crate) fn ask() -> Ask<'static> {
        Ask::new("SELECT sequence, hash, recorded FROM events ORDER BY sequence DESC LIMIT 1", Vec::new())
    }

    /// The answer to [`ask`](Self::ask).
    pub(crate) fn of_rows(rows: Vec<Row>) -> Result<Self, Fault> {
        let Some(mut row) = rows.into_iter().next() else {
            return Ok(Self { sequence: 0, hash: Digest::ZERO, recorded: DateTime::<Utc>::MIN_UTC });
        };
        Ok(Self {
            sequence: row.int("the sequence")?,
            hash: row.digest("the hash")?,
            recorded: row.moment("the time")?,
        })
    }

    /// After that event.
    pub(crate) fn after(event: &Event) -> Self {
        Self { sequence: event.sequence, hash: event.hash, recorded: event.recorded }
    }

    /// The event that comes next.
    fn next(&self, asked: &Asked, clock: DateTime<Utc>, happening: Happening) -> Event {
        let now = DateTime::from_timestamp_micros(clock.timestamp_micros()).unwrap_or(clock);
        let Request { id, fingerprint, caller, .. } = &asked.request;
        let Happening { kind, subject, revision, offer, settled, reason } = happening;
        let mut event = Event {
            sequence: self.sequence.saturating_add(1),
            kind,
            // Clocks may be set back, and differ between servers.
            recorded: now.max(self.recorded),
            caller: caller.clone(),
            request_id: id.clone(),
            fingerprint: *fingerprint,
            subject,
            revision,
            offer,
            settled,
            reason,
            content: asked.content,
            previous: self.hash,
            hash: Digest::ZERO,
        };
        event.hash = chain::hash_of(&event);
        event
    }
}

impl Happening {
    fn to(kind: Kind, subject: impl ToString) -> Self {
        let (subject, reason) = (subject.to_string(), Text::default());
        Self { kind, subject, revision: None, offer: None, settled: None, reason }
    }
}

/// Answers to [`questions`], one after the other.
struct Answers(std::vec::IntoIter<Vec<Row>>);

impl Answers {
    fn rows(&mut self) -> Vec<Row> {
        self.0.next().unwrap_or_default()
    }

    fn row(&mut self) -> Option<Row> {
        self.rows().into_iter().next()
    }

    /// Where there is one and it says so.
    fn int(&mut self) -> Result<Option<u64>, Fault> {
        let Some(mut row) = self.row() else { return Ok(None) };
        let Some(int) = row.optional_int("a number")? else { return Ok(None) };
        u64::try_from(int).map(Some).map_err(|_| corrupt(format!("a number cannot be {int}")))
    }
}

/// What is to be written down.
struct Decision {
    happening: Happening,
    /// As it will stand right after, without what only the event knows.
    kept: Kept,
    /// The sequence of the number's first event; none where this is it.
    first: Option<u64>,
}

/// Writes one thing down, or finds what was answered before. The record's event is newer than the head in
/// the first case alone.
pub(crate) async fn apply(
    tables: &impl Tables,
    head: &Head,
    asked: &Asked,
    clock: DateTime<Utc>,
) -> Result<Record, Fault> {
    let mut answers = Answers(tables.read(&questions(&asked.request)).await?.into_iter());
    if let Some(row) = answers.row() {
        return replay(tables, &asked.request, row).await;
    }
    let Decision { happening, kept, first } = decide(&asked.request.command, answers)?;
    let event = head.next(asked, clock, happening);
    let kept = dated(kept, &event);
    let mut asks = vec![rows::insert_event(&event)];
    match (&kept, event.kind) {
        (Kept::Entry(entry), Kind::Issued | Kind::Revised | Kind::Reversed) => {
            let first = sequence_value(first.unwrap_or(event.sequence));
            asks.extend(rows::insert_entry(event.sequence, &first, &entry.number, &entry.content));
        }
        (Kept::Edition(edition), _) => asks.push(rows::insert_edition(event.sequence, edition)),
        (Kept::Caller(caller), Kind::CallerAdded) => asks.push(rows::insert_caller(event.sequence, caller)),
        _ => {}
    }
    tables.keep(&asks).await?;
    drop(asks);
    Ok(Record { event, kept })
}

/// What has to be known to decide: first whether the request was answered before.
fn questions(request: &Request) -> Vec<Ask<'_>> {
    let editions = || Ask::new("SELECT count(*) FROM editions", Vec::new());
    let first = |number: &Number| {
        let sql = "SELECT first FROM entries WHERE series = $1 AND year = $2 AND sequence = $3 LIMIT 1";
        Ask::new(sql, Vec::from(rows::number_values(number)))
    };
    let mut asks = vec![rows::event_by_request(&request.id)];
    match &request.command {
        Command::Issue { series, content, .. } => {
            let sql = "SELECT max(sequence) FROM entries WHERE series = $1 AND year = $2";
            let year = i64::from(content.quoted.year());
            asks.extend([Ask::new(sql, vec![series.as_str().into(), year.into()]), editions()]);
        }
        Command::Revise { number, .. } => {
            asks.extend([rows::entry_now(number, None, None), first(number), editions()]);
        }
        Command::Reverse { number, .. } => {
            asks.extend([rows::entry_now(number, None, None), first(number)]);
        }
        Command::Accept { number, .. } | Command::Decline { number, .. } => {
            asks.push(rows::entry_now(number, None, None));
        }
        Command::Publish { .. } => asks.push(rows::edition_spans()),
        Command::AddCaller { name, credential, .. } => asks.push(rows::callers_like(name, credential)),
        Command::WithdrawCaller { name } => asks.push(rows::caller_named(name)),
    }
    asks
}

fn decide(command: &Command, mut answers: Answers) -> Result<Decision, Fault> {
    match command {
        Command::Issue { series, content, editions } => {
            let (last, published) = (answers.int()?, answers.int()?);
            unchanged(published, *editions)?;
            let number = number_after(last, series, content.quoted)?;
            rules::issue(&number, content)?;
            Ok(written(Kind::Issued, &number, content, Text::default(), None))
        }
        Command::Revise { number, etag, content, editions, reason } => {
            let entry = current(&mut answers, number, etag)?;
            let (first, published) = (answers.int()?, answers.int()?);
            standing_of(&entry).revise(number, content)?;
            unchanged(published, *editions)?;
            Ok(written(Kind::Revised, number, content, reason.clone(), first))
        }
        Command::Reverse { number, etag, content, reason } => {
            let entry = current(&mut answers, number, etag)?;
            standing_of(&entry).reverse(number, content)?;
            Ok(written(Kind::Reversed, number, content, reason.clone(), answers.int()?))
        }
        Command::Accept { number, etag, offer, day } => {
            let entry = current(&mut answers, number, etag)?;
            standing_of(&entry).accept(number, offer, *day)?;
            Ok(settled(entry, State::Accepted, Some(offer.clone()), *day, Text::default()))
        }
        Command::Decline { number, etag, day, reason } => {
            let entry = current(&mut answers, number, etag)?;
            standing_of(&entry).decline(number, *day)?;
            Ok(settled(entry, State::Declined, None, *day, reason.clone()))
        }
        Command::Publish { code, from, until, currency, archive } => {
            let spans = answers.rows().into_iter().map(rows::span_of_row).collect::<Result<Vec<_>, _>>()?;
            rules::publish(&spans, code, *from)?;
            let edition = KeptEdition {
                code: code.clone(),
                from: *from,
                until: *until,
                currency: *currency,
                archive: archive.clone(),
                published: DateTime::<Utc>::MIN_UTC,
                publisher: code.clone(),
            };
            let kept = Kept::Edition(Box::new(edition));
            Ok(Decision { happening: Happening::to(Kind::Published, code), kept, first: None })
        }
        Command::AddCaller { name, role, kind, credential } => {
            let mut alike = false;
            for row in answers.rows() {
                let known = rows::caller_of_row(row)?;
                if known.name == *name {
                    return Err(Refused::CallerExists { name: name.clone() }.into());
                }
                // Asked for by name or by credential.
                alike = true;
            }
            if alike {
                return Err(Refused::CredentialInUse.into());
            }
            let caller = Caller {
                name: name.clone(),
                role: role.clone(),
                kind: *kind,
                credential: *credential,
                added: DateTime::<Utc>::MIN_UTC,
                withdrawn: None,
            };
            let kept = Kept::Caller(Box::new(caller));
            Ok(Decision { happening: Happening::to(Kind::CallerAdded, name), kept, first: None })
        }
        Command::WithdrawCaller { name } => {
            let caller = answers.row().map(rows::caller_of_row).transpose()?;
            let Some(caller) = caller.filter(|caller| caller.withdrawn.is_none()) else {
                return Err(Refused::NoSuchCaller { name: name.clone() }.into());
            };
            let kept = Kept::Caller(Box::new(caller));
            Ok(Decision { happening: Happening::to(Kind::CallerWithdrawn, name), kept, first: None })
        }
    }
}

/// The last entry of a number, where nothing has happened to it since it was read.
fn current(answers: &mut Answers, number: &Number, etag: &Digest) -> Result<Entry, Fault> {
    let Some(row) = answers.row() else {
        return Err(Refused::NoSuchQuote { number: number.clone() }.into());
    };
    let entry = rows::entry_of_row(row)?;
    if entry.etag != *etag {
        return Err(Refused::EtagMismatch { number: number.clone() }.into());
    }
    Ok(entry)
}

fn standing_of(entry: &Entry) -> Standing {
    Standing { state: entry.state, ..Standing::written(&entry.content) }
}

fn unchanged(published: Option<u64>, editions: usize) -> Result<(), Refused> {
    if published.and_then(|count| usize::try_from(count).ok()) == Some(editions) {
        Ok(())
    } else {
        Err(Refused::TariffChanged)
    }
}

fn number_after(last: Option<u64>, series: &Series, quoted: NaiveDate) -> Result<Number, Refused> {
    // Only years that a number can be written with.
    let year = u16::try_from(quoted.year()).ok().filter(|year| (1..=9999).contains(year));
    let next = last.unwrap_or(0).checked_add(1).and_then(|next| u32::try_from(next).ok());
    match (year, next) {
        (Some(year), Some(sequence)) => Ok(Number { series: series.clone(), year, sequence }),
        (year, _) => Err(Refused::SeriesExhausted { series: series.clone(), year: year.unwrap_or_default() }),
    }
}

fn written(kind: Kind, number: &Number, content: &Content, reason: Text, first: Option<u64>) -> Decision {
    let revision = Some(content.revision);
    let entry = Entry {
        number: number.clone(),
        content: content.clone(),
        recorded: DateTime::<Utc>::MIN_UTC,
        state: Standing::written(content).state,
        accepted: None,
        settled: None,
        etag: Digest::ZERO,
    };
    let happening = Happening { revision, reason, ..Happening::to(kind, number) };
    Decision { happening, kept: Kept::Entry(Box::new(entry)), first }
}

fn settled(mut entry: Entry, state: State, offer: Option<Code>, day: NaiveDate, reason: Text) -> Decision {
    let kind = if state == State::Accepted { Kind::Accepted } else { Kind::Declined };
    let revision = Some(entry.content.revision);
    entry.state = state;
    entry.accepted.clone_from(&offer);
    entry.settled = Some(day);
    let happening =
        Happening { revision, offer, settled: Some(day), reason, ..Happening::to(kind, &entry.number) };
    Decision { happening, kept: Kept::Entry(Box::new(entry)), first: None }
}

/// With what only the event knows.
fn dated(mut kept: Kept, event: &Event) -> Kept {
    match &mut kept {
        Kept::Entry(entry) => {
            entry.etag = event.hash;
            if !matches!(event.kind, Kind::Accepted | Kind::Declined) {
                entry.recorded = event.recorded;
            }
        }
        Kept::Edition(edition) => {
            edition.published = event.recorded;
            edition.publisher = event.caller.clone();
        }
        Kept::Caller(caller) if event.kind == Kind::CallerWithdrawn => {
            caller.withdrawn = Some(event.recorded);
        }
        Kept::Caller(caller) => caller.added = event.recorded,
    }
    kept
}

/// What was answered before, as it was.
async fn replay(tables: &impl Tables, request: &Request, row: Row) -> Result<Record, Fault> {
    let event = rows::event_of_row(row)?;
    if event.fingerprint != request.fingerprint {
        return Err(Refused::RequestIdReused { id: request.id.clone() }.into());
    }
    let kept = ask(tables, rows::kept_of_event(&event)?).await?;
    let kept = rows::kept_of_rows(&event, kept)?;
    Ok(Record { event, kept })
}
