//! Writing one thing down, inside a transaction of either database. Every decision is made here, once.

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use evenfare_engine::text::{Code, Text};

use crate::bills;
use crate::caller::Caller;
use crate::command::{Command, Request};
use crate::digest::Digest;
use crate::entry::{Content, Entry, KeptEdition, State};
use crate::event::{Event, Kept, Kind, Record};
use crate::head::{Asked, Happening, Head};
use crate::invoice::{Billed, Invoice};
use crate::kept;
use crate::number::{Number, Series};
use crate::refused::Refused;
use crate::rows;
use crate::rules::{self, Standing};
use crate::settings;
use crate::tables::{Ask, Fault, Row, Tables, ask, corrupt, of_event, sequence_value};

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
    fn int<T: TryFrom<i64>>(&mut self) -> Result<Option<T>, Fault> {
        self.row().map_or(Ok(None), |mut row| row.optional_int("a number"))
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
    now: DateTime<Utc>,
) -> Result<Record, Fault> {
    let mut answers = Answers(tables.read(&questions(&asked.request)).await?.into_iter());
    if let Some(row) = answers.row() {
        return replay(tables, &asked.request, row).await;
    }
    let Decision { happening, kept, first } = decide(&asked.request.command, answers)?;
    let event = head.next(asked, now, happening, &kept);
    let kept = dated(kept, &event);
    let mut asks = vec![rows::insert_event(&event)];
    match (&kept, event.kind) {
        (Kept::Entry(entry), Kind::Issued | Kind::Revised | Kind::Reversed) => {
            let first = sequence_value(first.unwrap_or(event.sequence));
            asks.extend(rows::insert_entry(event.sequence, &first, &entry.number, &entry.content));
        }
        (Kept::Invoice(invoice), _) => asks.push(bills::insert_invoice(event.sequence, invoice)),
        (Kept::Edition(edition), _) => asks.push(settings::insert_edition(event.sequence, edition)),
        (Kept::Caller(caller), Kind::CallerAdded) => {
            asks.push(settings::insert_caller(event.sequence, caller))
        }
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
            asks.push(rows::before_issue(series, content.quoted));
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
        Command::Invoice { series, number, issued, .. } => {
            let entry = rows::entry_now(number, None, None);
            asks.extend([entry, bills::standing_of(number), bills::last_of_series(series, *issued)]);
        }
        Command::Credit { series, invoice, issued, .. } => {
            asks.extend([bills::invoice_now(invoice, None), bills::last_of_series(series, *issued)]);
        }
        Command::Publish { .. } => asks.push(settings::edition_spans()),
        Command::AddCaller { name, credential, .. } => asks.push(settings::callers_like(name, credential)),
        Command::WithdrawCaller { name } => asks.push(settings::caller_named(name)),
    }
    asks
}

fn decide(command: &Command, mut answers: Answers) -> Result<Decision, Fault> {
    match command {
        Command::Issue { series, content, editions } => {
            let (last, published) = rows::of_quotes(answers.row(), series)?;
            unchanged(Some(published), *editions)?;
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
        Command::Invoice { series, number, etag, issued, due, sale } => {
            let entry = current(&mut answers, number, etag)?;
            let standing = answers.row().map(bills::number_of_row).transpose()?;
            let billed = standing_of(&entry).invoice(number, standing, (*issued, *due), *sale)?;
            let last = bills::of_invoices(answers.row(), series)?;
            let number = number_in_order(last, series, *issued)?;
            let Content { reference, customer, .. } = entry.content;
            Ok(invoiced(Kind::Invoiced, number, billed, (reference, customer), Text::default()))
        }
        Command::Credit { series, invoice, issued, reason } => {
            let found = answers.row().map(bills::invoice_of_row).transpose()?;
            let Invoice { billed, reference, customer, credited, .. } =
                found.ok_or_else(|| Refused::NoSuchInvoice { number: invoice.clone() })?;
            let billed = rules::credit(invoice, &billed, credited, *issued)?;
            let last = bills::of_invoices(answers.row(), series)?;
            let number = number_in_order(last, series, *issued)?;
            Ok(invoiced(Kind::Credited, number, billed, (reference, customer), reason.clone()))
        }
        Command::Publish { code, from, until, currency, archive } => {
            let spans =
                answers.rows().into_iter().map(settings::span_of_row).collect::<Result<Vec<_>, _>>()?;
            rules::publish(&spans, code, *from)?;
            let edition = KeptEdition {
                code: code.clone(),
                from: *from,
                until: *until,
                unread: None,
                currency: currency.code().to_owned(),
                archive: archive.clone(),
                published: None,
                publisher: String::new(),
            };
            let kept = Kept::Edition(Box::new(edition));
            Ok(Decision { happening: Happening::to(Kind::Published, code), kept, first: None })
        }
        Command::AddCaller { name, role, kind, credential } => {
            let mut alike = false;
            for row in answers.rows() {
                let known = settings::caller_of_row(row)?;
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
            let caller = answers.row().map(settings::caller_of_row).transpose()?;
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
    let accepted = entry.accepted.clone().zip(entry.settled);
    Standing { state: entry.state, accepted, ..Standing::written(&entry.content) }
}

fn unchanged(published: Option<usize>, editions: usize) -> Result<(), Refused> {
    if published == Some(editions) { Ok(()) } else { Err(Refused::TariffChanged) }
}

fn number_after(last: Option<u32>, series: &Series, quoted: NaiveDate) -> Result<Number, Refused> {
    // Only years that a number can be written with.
    let year = u16::try_from(quoted.year()).ok().filter(|year| (1..=9999).contains(year));
    let next = last.unwrap_or(0).checked_add(1);
    match (year, next) {
        (Some(year), Some(sequence)) => Ok(Number { series: series.clone(), year, sequence }),
        (year, _) => Err(Refused::SeriesExhausted { series: series.clone(), year: year.unwrap_or_default() }),
    }
}

/// As [`number_after`], where days go with numbers.
fn number_in_order(
    last: Option<(u32, NaiveDate)>,
    series: &Series,
    issued: NaiveDate,
) -> Result<Number, Refused> {
    let number = number_after(last.map(|(sequence, _)| sequence), series, issued)?;
    let before = Number { sequence: number.sequence.saturating_sub(1), ..number.clone() };
    rules::in_order(last.map(|(_, day)| (before, day)), issued)?;
    Ok(number)
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

fn invoiced(
    kind: Kind,
    number: Number,
    billed: Billed,
    (reference, customer): (Code, Text),
    reason: Text,
) -> Decision {
    let happening = Happening { reason: reason.clone(), ..Happening::to(kind, &number) };
    let recorded = DateTime::<Utc>::MIN_UTC;
    let invoice = Invoice { number, billed, reference, customer, recorded, reason, credited: None };
    Decision { happening, kept: Kept::Invoice(Box::new(invoice)), first: None }
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
        Kept::Invoice(invoice) => invoice.recorded = event.recorded,
        Kept::Edition(edition) => {
            edition.published = Some(event.recorded);
            edition.publisher = event.caller.to_string();
        }
        Kept::Caller(caller) if event.kind == Kind::CallerWithdrawn => {
            caller.withdrawn = Some(event.recorded);
        }
        Kept::Caller(caller) => caller.added = event.recorded,
        Kept::Unread(_) => {}
    }
    kept
}

/// What was answered before, as it was.
async fn replay(tables: &impl Tables, request: &Request, row: Row) -> Result<Record, Fault> {
    let event = rows::event_of_row(row)?;
    if event.fingerprint != request.fingerprint {
        return Err(Refused::RequestIdReused { id: request.id.clone() }.into());
    }
    let rows = ask(tables, kept::kept_of_event(&event)?).await?;
    match kept::kept_of_rows(&event, rows)? {
        // It cannot be answered again as it was.
        Kept::Unread(why) => Err(of_event(event.sequence, corrupt(why))),
        kept => Ok(Record { event, kept }),
    }
}
