//! Rows of tariff editions and callers to what they mean and back.

use chrono::NaiveDate;
use evenfare_engine::text::Code;

use crate::caller::{Caller, CredentialKind};
use crate::digest::Digest;
use crate::entry::KeptEdition;
use crate::refused::{Refused, StoreError};
use crate::rules::{self, Span};
use crate::tables::{Ask, Fault, Row, Value, corrupt, of_event, said_of, sequence_value};

macro_rules! edition_select {
    () => {
        "SELECT d.event, d.code, d.begins, d.ends, w.subject, w.recorded, w.caller, d.currency, d.archive \
         FROM editions d JOIN events w ON w.sequence = d.event"
    };
}

macro_rules! caller_select {
    ($withdrawn:expr) => {
        concat!(
            "SELECT c.name, c.role, c.kind, c.credential, a.recorded, w.recorded \
             FROM callers c JOIN events a ON a.sequence = c.event LEFT JOIN events w ON ",
            $withdrawn
        )
    };
}

pub(crate) use {caller_select, edition_select};

/// As they were published, which is the order of their days.
pub(crate) fn editions() -> Ask<'static> {
    Ask::new(concat!(edition_select!(), " ORDER BY d.event"), Vec::new())
}

/// The name and the days of an edition, as far as they can be read.
struct Named {
    code: Code,
    from: Option<NaiveDate>,
    until: Option<NaiveDate>,
    /// Why not all of them can be.
    unread: Option<String>,
}

/// What can be read; why not, where nothing before could not either.
fn known<T>(unread: &mut Option<String>, read: Result<Option<T>, Fault>) -> Result<Option<T>, Fault> {
    match read {
        Err(Fault::Alone(StoreError::Corrupt(why))) => {
            unread.get_or_insert(why);
            Ok(None)
        }
        read => read,
    }
}

fn named_in(row: &mut Row) -> Result<Named, Fault> {
    let (event, mut unread) = (row.int::<i64>("the event")?, None);
    let code: Option<Code> = known(&mut unread, row.parsed("the code").map(Some))?;
    let from = known(&mut unread, row.day("the first day").map(Some))?;
    let until = known(&mut unread, row.optional_day("the last day"))?;
    // The event that published it has its name as well.
    let subject = row.parsed("the name that an edition was published by");
    let subject = subject.map_err(|fault| of_event(event, fault));
    Ok(Named { code: code.map_or(subject, Ok)?, from, until, unread })
}

pub(crate) fn edition_of_row(row: Row) -> Result<KeptEdition, Fault> {
    let edition = edition_after(None, row)?;
    match edition.unread {
        Some(why) => Err(corrupt(why)),
        None => Ok(edition),
    }
}

/// One that was published after another; where its days cannot be read, with all that the other leaves to it.
pub(crate) fn edition_after(before: Option<&KeptEdition>, mut row: Row) -> Result<KeptEdition, Fault> {
    let Named { code, from, until, mut unread } = named_in(&mut row)?;
    // Who published it, and when, has no part in any price.
    let published = known(&mut None, row.moment("the time").map(Some))?;
    let publisher = known(&mut None, row.text("the publisher").map(Some))?;
    let currency = known(&mut unread, row.text("the currency").map(Some))?;
    let archive = known(&mut unread, row.bytes("the archive").map(Some))?;
    let first = || match before {
        None => NaiveDate::from_ymd_opt(1, 1, 1),
        Some(before) => rules::taken_until(before.from, before.until).succ_opt(),
    };
    Ok(KeptEdition {
        code,
        from: from.or_else(first).unwrap_or_default(),
        until,
        published,
        publisher: publisher.unwrap_or_default(),
        currency: currency.unwrap_or_default(),
        archive: archive.unwrap_or_default(),
        unread,
    })
}

/// What has to be known of all editions to publish the next.
pub(crate) fn edition_spans() -> Ask<'static> {
    let sql = "SELECT d.event, d.code, d.begins, d.ends, w.subject FROM editions d LEFT JOIN events w ON w.sequence = d.event";
    Ask::new(sql, Vec::new())
}

pub(crate) fn span_of_row(mut row: Row) -> Result<Span, Fault> {
    match named_in(&mut row)? {
        Named { code, from: Some(from), until, unread: None } => Ok(Span { code, from, until }),
        Named { code, .. } => Err(Refused::EditionUnreadable { code }.into()),
    }
}

pub(crate) fn insert_edition(event: u64, edition: &KeptEdition) -> Ask<'_> {
    Ask::new(
        "INSERT INTO editions (event, code, begins, ends, currency, archive) VALUES ($1, $2, $3, $4, $5, $6)",
        vec![
            sequence_value(event),
            (&edition.code).into(),
            edition.from.into(),
            Value::Day(edition.until),
            edition.currency.as_str().into(),
            edition.archive.as_slice().into(),
        ],
    )
}

macro_rules! caller_now {
    () => {
        // Both, so that the index of such events is found.
        caller_select!("w.subject = c.name AND w.kind <> 'issued' AND w.kind = 'caller_withdrawn'")
    };
}

/// All callers.
pub(crate) fn callers() -> Ask<'static> {
    Ask::new(concat!(caller_now!(), " ORDER BY c.event"), Vec::new())
}

/// The caller of that name.
pub(crate) fn caller_named(name: &Code) -> Ask<'_> {
    Ask::new(concat!(caller_now!(), " WHERE c.name = $1"), vec![name.into()])
}

/// Those of that name or with that credential.
pub(crate) fn callers_like<'a>(name: &'a Code, credential: &'a Digest) -> Ask<'a> {
    let sql = concat!(caller_now!(), " WHERE c.name = $1 OR c.credential = $2");
    Ask::new(sql, vec![name.into(), credential.into()])
}

/// Whoever reads of one who cannot be read has to know which caller that is.
pub(crate) fn caller_of_row(mut row: Row) -> Result<Caller, Fault> {
    let name: Code = row.parsed("the name of a caller")?;
    caller_of(name.clone(), row).map_err(|fault| said_of(&name, fault))
}

fn caller_of(name: Code, mut row: Row) -> Result<Caller, Fault> {
    Ok(Caller {
        name,
        role: row.parsed("the role")?,
        kind: row.named("the kind of credential", CredentialKind::from_code)?,
        credential: row.digest("the credential")?,
        added: row.moment("the time")?,
        withdrawn: row.optional_moment("the time of withdrawal")?,
    })
}

pub(crate) fn insert_caller(event: u64, caller: &Caller) -> Ask<'_> {
    Ask::new(
        "INSERT INTO callers (event, name, role, kind, credential) VALUES ($1, $2, $3, $4, $5)",
        vec![
            sequence_value(event),
            (&caller.name).into(),
            caller.role.to_string().into(),
            caller.kind.code().into(),
            (&caller.credential).into(),
        ],
    )
}
