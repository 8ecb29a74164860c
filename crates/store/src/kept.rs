//! What an event is about, by its kind.

use crate::bills;
use crate::event::{Event, Kept, Kind};
use crate::refused::StoreError;
use crate::rows::{self, entry_columns, entry_select};
use crate::settings::{self, caller_select, edition_select};
use crate::tables::{Ask, Fault, Row, Value, corrupt, of_event, sequence_value};

/// What an event is about, as it stood right after it.
pub(crate) fn kept_of_event(event: &Event) -> Result<Ask<'_>, Fault> {
    let sequence = sequence_value(event.sequence);
    let ask = match event.kind {
        Kind::Issued | Kind::Revised | Kind::Reversed => {
            let sql = concat!(entry_select!("v.sequence = e.event"), " WHERE e.event = $1");
            Ask::new(sql, vec![sequence])
        }
        Kind::Accepted | Kind::Declined => {
            let number = rows::number_of(event)?;
            let sql = concat!(
                entry_select!("v.sequence = $1"),
                " WHERE e.series = $2 AND e.year = $3 AND e.sequence = $4 AND e.revision = $5 AND e.reversal = $6"
            );
            let [series, year, place] = rows::number_values(&number);
            let revision = Value::Int(event.revision.map(i64::from));
            Ask::new(sql, vec![sequence, series, year, place, revision, false.into()])
        }
        Kind::Invoiced | Kind::Credited => bills::invoice_of_event(event.sequence),
        Kind::Published => {
            let sql = concat!(edition_select!(), " WHERE d.event = $1");
            Ask::new(sql, vec![sequence])
        }
        Kind::CallerAdded => {
            let sql = concat!(caller_select!("FALSE"), " WHERE c.event = $1");
            Ask::new(sql, vec![sequence])
        }
        Kind::CallerWithdrawn => {
            let sql = concat!(caller_select!("w.sequence = $1"), " WHERE c.name = $2");
            Ask::new(sql, vec![sequence, event.subject.as_str().into()])
        }
    };
    Ok(ask)
}

/// The answer to [`kept_of_event`].
pub(crate) fn kept_of_rows(event: &Event, rows: Vec<Row>) -> Result<Kept, Fault> {
    let mut rows = rows.into_iter();
    let Some(row) = rows.next() else {
        return Err(corrupt(format!("what event {} is about is missing", event.sequence)));
    };
    let kept = match event.kind {
        Kind::Invoiced | Kind::Credited => bills::invoice_of_row(row).map(|one| Kept::Invoice(Box::new(one))),
        Kind::Published => unless_unread(settings::edition_of_row(row), |one| Kept::Edition(Box::new(one))),
        Kind::CallerAdded | Kind::CallerWithdrawn => {
            unless_unread(settings::caller_of_row(row), |one| Kept::Caller(Box::new(one)))
        }
        _ => rows::entry_of_row(row).map(|one| Kept::Entry(Box::new(one))),
    };
    kept.map_err(|fault| of_event(event.sequence, fault))
}

/// What has no part in any sum hides nothing that has, where it cannot be read.
fn unless_unread<T>(read: Result<T, Fault>, kept: impl FnOnce(T) -> Kept) -> Result<Kept, Fault> {
    match read {
        Err(Fault::Alone(StoreError::Corrupt(why))) => Ok(Kept::Unread(why)),
        read => read.map(kept),
    }
}
