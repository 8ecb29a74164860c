//! Rows of tariff editions and callers to what they mean and back.

use chrono::NaiveDate;
use evenfare_engine::text::Code;

use crate::caller::{Caller, CredentialKind, Role};
use crate::digest::Digest;
use crate::entry::KeptEdition;
use crate::refused::{Refused, StoreError};
use crate::rules::{self, Span};
use crate::tables::{Ask, Fault, Row, Value, corrupt, sequence_value};

macro_rules! edition_select {
    () => {
        "SELECT d.code, d.begins, d.ends, d.currency, d.archive, w.recorded, w.caller \
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

pub(crate) fn edition_of_row(row: Row) -> Result<KeptEdition, Fault> {
    let edition = edition_after(None, row)?;
    match edition.unread {
        Some(why) => Err(corrupt(why)),
        None => Ok(edition),
    }
}

/// One that was published after another; where its days cannot be read, with all that the other leaves to it.
pub(crate) fn edition_after(before: Option<&KeptEdition>, mut row: Row) -> Result<KeptEdition, Fault> {
    let code = row.parsed("the code")?;
    let mut unread = None;
    let mut known = |day: Result<Option<NaiveDate>, Fault>| match day {
        Err(Fault::Alone(StoreError::Corrupt(why))) => {
            unread.get_or_insert(why);
            Ok(None)
        }
        day => day,
    };
    let (from, until) =
        (known(row.day("the first day").map(Some))?, known(row.optional_day("the last day"))?);
    let first = || match before {
        None => NaiveDate::from_ymd_opt(1, 1, 1),
        Some(before) => rules::taken_until(before.from, before.until).succ_opt(),
    };
    Ok(KeptEdition {
        code,
        from: from.or_else(first).unwrap_or_default(),
        until,
        unread,
        currency: row.text("the currency")?,
        archive: row.bytes("the archive")?,
        published: row.moment("the time")?,
        publisher: row.parsed("the publisher")?,
    })
}

pub(crate) fn edition_spans() -> Ask<'static> {
    Ask::new("SELECT code, begins, ends FROM editions", Vec::new())
}

pub(crate) fn span_of_row(mut row: Row) -> Result<Span, Fault> {
    let code: Code = row.parsed("the code")?;
    let days = row.day("the first day").and_then(|from| Ok((from, row.optional_day("the last day")?)));
    match days {
        Ok((from, until)) => Ok(Span { code, from, until }),
        Err(Fault::Alone(StoreError::Corrupt(_))) => Err(Refused::EditionUnreadable { code }.into()),
        Err(fault) => Err(fault),
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

pub(crate) fn caller_of_row(mut row: Row) -> Result<Caller, Fault> {
    let name: Code = row.parsed("the name")?;
    // Whoever reads of it has to know which caller that is.
    let role = row.parsed::<Role>(&format!("the role of {name}"))?;
    Ok(Caller {
        name,
        role,
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
