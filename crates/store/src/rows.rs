//! Rows of events and entries to what they mean and back: the statements that both databases share.

use std::fmt::Write as _;

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::money::Currency;
use evenfare_engine::text::Code;

use crate::entry::{Content, Entry, Offered, State};
use crate::event::{Event, Kind};
use crate::number::{Number, Series};
use crate::rules::{self, Numbered};
use crate::tables::{Ask, Fault, Row, Value, corrupt, of_event, said_of, sequence_value};

/// The columns of an event.
macro_rules! event_columns {
    () => {
        "sequence, kind, recorded, caller, request_id, fingerprint, subject, revision, offer, settled, reason, \
         content, previous, hash"
    };
}

/// The columns of an entry `e`, of the event `w` that wrote it and of the event `v` up to which it is seen.
macro_rules! entry_columns {
    () => {
        "e.series, e.year, e.sequence, e.revision, e.reversal, e.reference, e.customer, e.edition, e.currency, \
         e.quoted, e.valid_until, e.end_net_minor, e.offers, \
         (SELECT string_agg(p.position || ':' || p.partner, ' ' ORDER BY p.position) \
            FROM entry_partners p WHERE p.event = e.event), \
         e.document, w.recorded, v.kind, v.revision, v.offer, v.settled, v.hash"
    };
}

/// The last event of the number of entry `e`: by the index of those that do not issue, or else the one that has
/// issued it. Editions and callers may have the name of a number.
macro_rules! last_event {
    () => {
        "v.sequence = coalesce((SELECT x.sequence FROM events x WHERE x.subject = e.number \
         AND x.kind <> 'issued' AND x.kind IN ('revised', 'reversed', 'accepted', 'declined') \
         ORDER BY x.sequence DESC LIMIT 1), e.first)"
    };
}

macro_rules! entry_select {
    ($v:expr) => {
        concat!(
            "SELECT ",
            entry_columns!(),
            " FROM entries e JOIN events w ON w.sequence = e.event JOIN events v ON ",
            $v
        )
    };
}

pub(crate) use {entry_columns, entry_select, last_event};

pub(crate) fn event_by_request(id: &Code) -> Ask<'_> {
    let sql = concat!("SELECT ", event_columns!(), " FROM events WHERE request_id = $1");
    Ask::new(sql, vec![id.into()])
}

pub(crate) fn events_after(after: u64, limit: u32) -> Ask<'static> {
    let sql =
        concat!("SELECT ", event_columns!(), " FROM events WHERE sequence > $1 ORDER BY sequence LIMIT $2");
    Ask::new(sql, vec![sequence_value(after), limit.into()])
}

pub(crate) fn event_of_row(mut row: Row) -> Result<Event, Fault> {
    let sequence = row.int("the sequence")?;
    event_of(sequence, row).map_err(|fault| of_event(sequence, fault))
}

fn event_of(sequence: u64, mut row: Row) -> Result<Event, Fault> {
    Ok(Event {
        sequence,
        kind: row.named("the kind", Kind::from_code)?,
        recorded: row.moment("the time")?,
        caller: row.parsed("the caller")?,
        request_id: row.parsed("the request id")?,
        fingerprint: row.digest("the fingerprint")?,
        subject: row.text("the subject")?,
        revision: row.optional_int("the revision")?,
        offer: row.optional_parsed("the offer")?,
        settled: row.optional_day("the day of the answer")?,
        reason: row.parsed("the reason")?,
        content: row.optional_digest("the digest of the content")?,
        previous: row.digest("the hash before")?,
        hash: row.digest("the hash")?,
    })
}

pub(crate) fn insert_event(event: &Event) -> Ask<'_> {
    let sql = concat!(
        "INSERT INTO events (",
        event_columns!(),
        ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)"
    );
    Ask::new(
        sql,
        vec![
            sequence_value(event.sequence),
            event.kind.code().into(),
            event.recorded.into(),
            (&event.caller).into(),
            (&event.request_id).into(),
            (&event.fingerprint).into(),
            event.subject.as_str().into(),
            Value::Int(event.revision.map(i64::from)),
            Value::Text(event.offer.as_ref().map(|offer| offer.as_str().into())),
            Value::Day(event.settled),
            event.reason.as_str().into(),
            Value::Bytes(event.content.as_ref().map(|digest| digest.as_bytes().as_slice().into())),
            (&event.previous).into(),
            (&event.hash).into(),
        ],
    )
}

/// What has to be known to issue a quote: the last number of its series in the year of that day, whether the series has
/// quotes and invoices so far, and how many editions there are.
pub(crate) fn before_issue(series: &Series, day: NaiveDate) -> Ask<'_> {
    // A series that has a quote in that year is none of invoices: who issues one after the other does not look again.
    let sql = "SELECT max(sequence), \
         CASE WHEN max(sequence) IS NULL THEN EXISTS (SELECT 1 FROM entries WHERE series = $1) ELSE TRUE END, \
         CASE WHEN max(sequence) IS NULL THEN EXISTS (SELECT 1 FROM invoices WHERE series = $1) ELSE FALSE END, \
         (SELECT count(*) FROM editions) FROM entries WHERE series = $1 AND year = $2";
    Ask::new(sql, vec![series.as_str().into(), i64::from(day.year()).into()])
}

/// The answer to [`before_issue`], where a quote may come next: the last number, and how many editions there are.
pub(crate) fn of_quotes(row: Option<Row>, series: &Series) -> Result<(Option<u32>, usize), Fault> {
    let mut row = row.ok_or_else(|| corrupt("a series has no answer"))?;
    let last = row.optional_int("the number")?;
    let has = (row.flag("the use of the series")?, row.flag("the use of the series")?);
    rules::in_series(series, Numbered::Quotes, has)?;
    Ok((last, row.int("the number of editions")?))
}

/// The number of the quote that an event is about.
pub(crate) fn number_of(event: &Event) -> Result<Number, Fault> {
    let Event { sequence, subject, .. } = event;
    subject.parse().map_err(|_| of_event(sequence, corrupt(format!("the subject cannot be `{subject}`"))))
}

pub(crate) fn number_values(number: &Number) -> [Value<'static>; 3] {
    [
        number.series.as_str().to_owned().into(),
        i64::from(number.year).into(),
        i64::from(number.sequence).into(),
    ]
}

/// The entries of a number, the last first, each as it stands now.
pub(crate) fn entry_now<'a>(
    number: &Number,
    which: Option<(u32, bool)>,
    partner: Option<&'a Code>,
) -> Ask<'a> {
    let mut sql =
        concat!(entry_select!(last_event!()), " WHERE e.series = $1 AND e.year = $2 AND e.sequence = $3")
            .to_owned();
    let mut values = Vec::from(number_values(number));
    // Writing into a string does not fail.
    if let Some((revision, reversal)) = which {
        values.extend([revision.into(), reversal.into()]);
        sql.push_str(" AND e.revision = $4 AND e.reversal = $5");
    }
    if let Some(partner) = partner {
        values.push(partner.into());
        let _ = write!(
            sql,
            " AND EXISTS (SELECT 1 FROM entry_partners s WHERE s.event = e.event AND s.partner = ${})",
            values.len()
        );
    }
    sql.push_str(" ORDER BY e.event DESC LIMIT 1");
    Ask::new(sql, values)
}

/// The number of a quote, which an entry has in three columns.
pub(crate) fn number_in(row: &mut Row) -> Result<Number, Fault> {
    Ok(Number {
        series: row.parsed("the series")?,
        year: row.int("the year")?,
        sequence: row.int("the number")?,
    })
}

pub(crate) fn entry_of_row(mut row: Row) -> Result<Entry, Fault> {
    let number = number_in(&mut row)?;
    entry_of(number.clone(), row).map_err(|fault| said_of(&number, fault))
}

fn entry_of(number: Number, mut row: Row) -> Result<Entry, Fault> {
    let content = Content {
        revision: row.int("the revision")?,
        reversal: row.flag("the reversal")?,
        reference: row.parsed("the reference")?,
        customer: row.parsed("the customer")?,
        edition: row.parsed("the edition")?,
        currency: row.parsed::<Currency>("the currency")?,
        quoted: row.day("the day")?,
        valid_until: row.day("the validity")?,
        end_net_minor: row.int("the amount")?,
        offers: offers_of(&row.text("the offers")?)?,
        partners: partners_of(row.optional_text("the partners")?.as_deref().unwrap_or_default())?,
        document: row.bytes("the document")?.into(),
    };
    let recorded = row.moment("the time")?;
    let last = row.named("the kind of the last event", Kind::from_code)?;
    let state = state_of(last, row.int("the revision of the last event")?, content.revision)?;
    let (accepted, settled) = (row.optional_parsed("the offer")?, row.optional_day("the day of the answer")?);
    let settles = matches!(state, State::Accepted | State::Declined);
    Ok(Entry {
        number,
        content,
        recorded,
        state,
        accepted: accepted.filter(|_| settles),
        settled: settled.filter(|_| settles),
        etag: row.digest("the hash")?,
    })
}

pub(crate) fn state_of(last: Kind, last_revision: u32, revision: u32) -> Result<State, Fault> {
    State::after(last, last_revision, revision).ok_or_else(|| corrupt(format!("a quote was `{last}`")))
}

/// Offers as they stand in a row, such as `main:212500 swap`: the id, and what it comes to where that is kept, so that a
/// list need not open documents. Entries from before version 5 have ids alone and stay so, as does what their digests are
/// taken over. Codes have neither spaces nor colons.
fn offers_text(offers: &[Offered]) -> String {
    let mut text = String::new();
    for Offered { id, net_minor } in offers {
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(id.as_str());
        if let Some(minor) = net_minor {
            // Writing into a string does not fail.
            let _ = write!(text, ":{minor}");
        }
    }
    text
}

/// The same read.
pub(crate) fn offers_of(text: &str) -> Result<Vec<Offered>, Fault> {
    let offer = |piece: &str| {
        let (id, net_minor) = match piece.split_once(':') {
            None => (piece, None),
            Some((id, minor)) => (id, Some(minor.parse::<i64>().ok()?)),
        };
        Some(Offered { id: id.parse().ok()?, net_minor })
    };
    let pieces = || text.split(' ').filter(|_| !text.is_empty());
    let offers: Option<Vec<_>> = pieces().map(offer).collect();
    // One way to write an amount: the digests are taken over what it is.
    offers
        .filter(|offers| offers_text(offers) == text)
        .ok_or_else(|| corrupt(format!("the offers cannot be `{text}`")))
}

fn partners_of(text: &str) -> Result<Vec<Code>, Fault> {
    let wrong = || corrupt(format!("the partners cannot be `{text}`"));
    let partner = |(place, piece): (usize, &str)| {
        let (position, partner) = piece.split_once(':')?;
        if position == place.to_string() { partner.parse().ok() } else { None }
    };
    if text.is_empty() {
        return Ok(Vec::new());
    }
    text.split(' ').enumerate().map(|piece| partner(piece).ok_or_else(wrong)).collect()
}

pub(crate) fn insert_entry<'a>(
    event: u64,
    first: &Value<'static>,
    number: &Number,
    content: &'a Content,
) -> Vec<Ask<'a>> {
    let sql = "INSERT INTO entries (event, first, series, year, sequence, revision, reversal, reference, customer, \
         edition, currency, quoted, valid_until, end_net_minor, offers, document) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)";
    let [series, year, place] = number_values(number);
    let entry = Ask::new(
        sql,
        vec![
            sequence_value(event),
            first.clone(),
            series,
            year,
            place,
            content.revision.into(),
            content.reversal.into(),
            (&content.reference).into(),
            content.customer.as_str().into(),
            (&content.edition).into(),
            content.currency.code().into(),
            content.quoted.into(),
            content.valid_until.into(),
            content.end_net_minor.into(),
            offers_text(&content.offers).into(),
            content.document.as_ref().into(),
        ],
    );
    let partners = (0_i64..).zip(&content.partners).map(|(position, partner)| {
        Ask::new(
            "INSERT INTO entry_partners (event, position, partner, first) VALUES ($1, $2, $3, $4)",
            vec![sequence_value(event), position.into(), partner.into(), first.clone()],
        )
    });
    std::iter::once(entry).chain(partners).collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn offers_are_written_in_one_way() {
        for text in ["", "main", "main swap", "main:212500 swap:-3 A-1", "main:-9223372036854775808"] {
            let offers = offers_of(text).unwrap();
            assert_eq!(offers_text(&offers), text);
            assert_eq!(offers.len(), text.split_whitespace().count());
        }
        // Else a row could be changed without its digest.
        for text in [
            " ",
            "main ",
            "main  swap",
            "main:",
            ":5",
            "main:05",
            "main:+5",
            "main:-0",
            "main:5:6",
            "main: 5",
        ] {
            assert!(offers_of(text).is_err(), "{text}");
        }
        assert!(offers_of("main:9223372036854775808").is_err());
    }
}
