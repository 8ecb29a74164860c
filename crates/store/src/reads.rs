//! What is asked of either database outside a write.

use std::fmt::Write as _;
use std::ops::RangeInclusive;

use chrono::{DateTime, Utc};
use evenfare_engine::text::Code;

use crate::bills;
use crate::caller::Caller;
use crate::entry::{Entry, KeptEdition, State, Summary};
use crate::event::{Event, Kept, Kind, Record};
use crate::invoice::Invoice;
use crate::kept;
use crate::number::Number;
use crate::refused::StoreError;
use crate::rows::{self, last_event};
use crate::settings;
use crate::store::{InvoiceListing, InvoicePage, Listing, Page, Sight};
use crate::tables::{Ask, Fault, Row, Tables, ask, said_of};

/// What was kept along with at most this many events is asked for together,
const TOGETHER: usize = 16;
/// and no more when there are this many bytes of it.
const ENOUGH_BYTES: usize = 16 << 20;

pub(crate) async fn answered(tables: &impl Tables, id: &Code) -> Result<Option<Record>, Fault> {
    let events = ask(tables, rows::event_by_request(id)).await?;
    let events = events.into_iter().map(rows::event_of_row).collect::<Result<Vec<_>, _>>()?;
    Ok(with_kept(tables, events).await?.pop())
}

pub(crate) async fn events(tables: &impl Tables, after: u64, limit: u32) -> Result<Vec<Event>, Fault> {
    ask(tables, rows::events_after(after, limit)).await?.into_iter().map(rows::event_of_row).collect()
}

pub(crate) async fn records(tables: &impl Tables, after: u64, limit: u32) -> Result<Vec<Record>, Fault> {
    let events = events(tables, after, limit).await?;
    with_kept(tables, events).await
}

/// Rows never change, so it does not matter that this is read after the events. Of what is long there are fewer: those
/// who read a span have all of it in memory. How long it is, those before it tell.
async fn with_kept(tables: &impl Tables, events: Vec<Event>) -> Result<Vec<Record>, Fault> {
    let mut records = Vec::with_capacity(events.len());
    let mut bytes = 0_usize;
    let mut events = events.into_iter().peekable();
    while events.peek().is_some() && bytes < ENOUGH_BYTES {
        let some: Vec<Event> = events.by_ref().take(together(records.len(), bytes)).collect();
        let asks = some.iter().map(kept::kept_of_event).collect::<Result<Vec<_>, _>>()?;
        let kept = tables.read(&asks).await?;
        drop(asks);
        for (event, rows) in some.into_iter().zip(kept) {
            let kept = kept::kept_of_rows(&event, rows)?;
            bytes = bytes.saturating_add(match &kept {
                Kept::Entry(entry) => entry.content.document.len(),
                Kept::Edition(edition) => edition.archive.len(),
                Kept::Invoice(_) | Kept::Caller(_) | Kept::Unread(_) => 0,
            });
            records.push(Record { event, kept });
        }
    }
    Ok(records)
}

/// How many are asked for next, where those `seen` had `bytes` in all.
fn together(seen: usize, bytes: usize) -> usize {
    let left = ENOUGH_BYTES.saturating_sub(bytes);
    // At first it is not known how long they are; what takes no bytes is as short as can be.
    let fit = if seen == 0 { Some(1) } else { left.saturating_mul(seen).checked_div(bytes) };
    fit.unwrap_or(TOGETHER).clamp(1, TOGETHER)
}

pub(crate) async fn entry(
    tables: &impl Tables,
    number: &Number,
    which: Option<(u32, bool)>,
    sight: &Sight,
) -> Result<Option<Entry>, Fault> {
    let rows = ask(tables, rows::entry_now(number, which, sight.partner())).await?;
    rows.into_iter().next().map(rows::entry_of_row).transpose()
}

pub(crate) async fn invoice(
    tables: &impl Tables,
    number: &Number,
    sight: &Sight,
) -> Result<Option<Invoice>, Fault> {
    let rows = ask(tables, bills::invoice_now(number, sight.partner())).await?;
    rows.into_iter().next().map(bills::invoice_of_row).transpose()
}

pub(crate) async fn invoices(tables: &impl Tables, listing: &InvoiceListing) -> Result<InvoicePage, Fault> {
    let limit = usize::try_from(listing.limit.max(1)).unwrap_or(usize::MAX);
    let rows = ask(tables, bills::invoices(listing)).await?;
    // One more was asked for than is shown.
    let more = rows.len() > limit;
    let invoices = rows.into_iter().take(limit).map(bills::invoice_of_row).collect::<Result<Vec<_>, _>>()?;
    let next = invoices.last().filter(|_| more).map(|invoice| invoice.number.clone());
    Ok(InvoicePage { invoices, next })
}

/// Read from end to end: a clock that was set back leaves times in no order, and an index of them is a page more
/// that every event has to write.
pub(crate) async fn between(
    tables: &impl Tables,
    begin: DateTime<Utc>,
    end: DateTime<Utc>,
) -> Result<Option<(u64, u64)>, Fault> {
    // A moment between two microseconds is after the first of them.
    let bound = |moment: DateTime<Utc>| {
        let nanos = moment.timestamp_subsec_nanos().checked_rem(1000).unwrap_or(0);
        moment.timestamp_micros().saturating_add(i64::from(nanos > 0))
    };
    let sql = "SELECT min(sequence), max(sequence) FROM events WHERE recorded >= $1 AND recorded < $2";
    let values = vec![bound(begin).into(), bound(end).into()];
    let Some(mut row) = ask(tables, Ask::new(sql, values)).await?.into_iter().next() else { return Ok(None) };
    Ok(row.optional_int("the sequence")?.zip(row.optional_int("the sequence")?))
}

pub(crate) async fn last_recorded(tables: &impl Tables) -> Result<Option<DateTime<Utc>>, Fault> {
    let sql = "SELECT recorded FROM events ORDER BY sequence DESC LIMIT 1";
    let row = ask(tables, Ask::new(sql, Vec::new())).await?.into_iter().next();
    row.map(|mut row| row.moment("the time")).transpose()
}

pub(crate) async fn last(tables: &impl Tables) -> Result<u64, Fault> {
    sequence(tables, Ask::new("SELECT sequence FROM events ORDER BY sequence DESC LIMIT 1", Vec::new())).await
}

pub(crate) async fn settings(tables: &impl Tables) -> Result<u64, Fault> {
    let sql = "SELECT sequence FROM events WHERE kind IN ('published', 'caller_added', 'caller_withdrawn') \
         ORDER BY sequence DESC LIMIT 1";
    sequence(tables, Ask::new(sql, Vec::new())).await
}

async fn sequence(tables: &impl Tables, question: Ask<'_>) -> Result<u64, Fault> {
    match ask(tables, question).await?.into_iter().next() {
        None => Ok(0),
        Some(mut row) => row.int("the sequence"),
    }
}

pub(crate) async fn editions(tables: &impl Tables) -> Result<Vec<KeptEdition>, Fault> {
    let mut editions = Vec::new();
    for row in ask(tables, settings::editions()).await? {
        editions.push(settings::edition_after(editions.last(), row)?);
    }
    Ok(editions)
}

/// One who cannot be read says nothing of the others: a later version may know more roles.
pub(crate) async fn callers(tables: &impl Tables) -> Result<Vec<Result<Caller, StoreError>>, Fault> {
    let rows = ask(tables, settings::callers()).await?.into_iter();
    Ok(rows.map(|row| settings::caller_of_row(row).map_err(StoreError::from)).collect())
}

pub(crate) async fn list(tables: &impl Tables, listing: &Listing) -> Result<Page, Fault> {
    let limit = usize::try_from(listing.limit.max(1)).unwrap_or(usize::MAX);
    let rows = ask(tables, list_question(listing)).await?;
    // One line more was asked for than is shown.
    let more = rows.len() > limit;
    let (mut summaries, mut last) = (Vec::new(), None);
    for mut row in rows.into_iter().take(limit) {
        let number = rows::number_in(&mut row)?;
        let summary = summary_of(number.clone(), row);
        summaries.push(summary.map_err(|fault| said_of(&number, fault).into()));
        last = Some(number);
    }
    Ok(Page { summaries, next: last.filter(|_| more) })
}

fn list_question(listing: &Listing) -> Ask<'_> {
    let mut values = Vec::new();
    let mut sql = "SELECT e.series, e.year, e.sequence, e.revision, v.kind, v.revision, e.reference, \
         e.customer, e.quoted, e.valid_until, e.currency, e.end_net_minor, e.offers, w.recorded, v.offer FROM "
        .to_owned();
    // The last entry of a number that the reader may see, found in the order of the list, which is that of the first
    // entries; and where a number stands that he names, if it is his: where another stands is not for him to find out.
    let (of, first, named) = match &listing.sight {
        Sight::All => {
            sql.push_str(concat!(
                "entries f JOIN entries e ON e.first = f.event AND e.event = (SELECT max(s.event) FROM entries s \
                 WHERE s.series = f.series AND s.year = f.year AND s.sequence = f.sequence) \
                 JOIN events w ON w.sequence = e.event JOIN events v ON ",
                last_event!(),
                " WHERE f.event = f.first"
            ));
            ("f", "f.event", "SELECT n.first FROM entries n WHERE")
        }
        Sight::Partner(partner) => {
            values.push(partner.into());
            sql.push_str(concat!(
                "entry_partners p JOIN entries e ON e.event = p.event JOIN events w ON w.sequence = e.event \
                 JOIN events v ON ",
                last_event!(),
                " WHERE p.partner = $1 AND (p.event, p.position) = (SELECT s.event, s.position \
                 FROM entry_partners s WHERE s.partner = $1 AND s.first = p.first \
                 ORDER BY s.event DESC, s.position DESC LIMIT 1)"
            ));
            (
                "e",
                "p.first",
                "SELECT n.first FROM entries n JOIN entry_partners q ON q.event = n.event AND q.partner = $1 WHERE",
            )
        }
    };
    if let Some(number) = &listing.before {
        let [series, year, place] = rows::number_values(number);
        let at = values.len();
        values.extend([series, year, place]);
        let place_of = |index: usize| at.saturating_add(index);
        // Writing into a string does not fail.
        let _ = write!(
            sql,
            " AND {first} < ({named} n.series = ${} AND n.year = ${} AND n.sequence = ${} LIMIT 1)",
            place_of(1),
            place_of(2),
            place_of(3)
        );
    }
    let mut narrow = |clause: &str, value| {
        values.push(value);
        let _ = write!(sql, " AND {clause}${}", values.len());
    };
    let filter = &listing.filter;
    if let Some(series) = &filter.series {
        // By no index: numbers stand there in another order, and all of a series would be sorted for every page.
        narrow(&format!("{of}.series || '' = "), series.as_str().into());
    }
    if let Some(reference) = &filter.reference {
        narrow("e.reference = ", reference.into());
    }
    if let Some(day) = filter.quoted_from {
        narrow("e.quoted >= ", day.into());
    }
    if let Some(day) = filter.quoted_until {
        narrow("e.quoted <= ", day.into());
    }
    if !filter.states.is_empty() {
        // One value for each there is, whichever are asked for: PostgreSQL keeps each statement on each connection.
        let wanted = |state: State| if filter.states.contains(&state) { state.code() } else { "" };
        let states = State::ALL.map(|state| {
            values.push(wanted(state).into());
            format!("${}", values.len())
        });
        let _ = write!(
            sql,
            " AND CASE WHEN e.revision < v.revision THEN 'superseded' WHEN v.kind IN ('issued', 'revised') \
             THEN 'open' ELSE v.kind END IN ({})",
            states.join(", ")
        );
    }
    values.push(i64::from(listing.limit.max(1)).saturating_add(1).into());
    let _ = write!(sql, " ORDER BY {first} DESC LIMIT ${}", values.len());
    Ask::new(sql, values)
}

fn summary_of(number: Number, mut row: Row) -> Result<Summary, Fault> {
    let revision = row.int("the revision")?;
    let last = row.named("the kind of the last event", Kind::from_code)?;
    let state = rows::state_of(last, row.int("the revision of the last event")?, revision)?;
    let (reference, customer) = (row.parsed("the reference")?, row.parsed("the customer")?);
    let (quoted, valid_until) = (row.day("the day")?, row.day("the validity")?);
    let (currency, end_net_minor) = (row.text("the currency")?, row.int("the amount")?);
    let offers = rows::offers_of(&row.text("the offers")?)?;
    let recorded = row.moment("the time")?;
    let accepted: Option<Code> = row.optional_parsed("the offer")?.filter(|_| state == State::Accepted);
    let net_minor = |accepted: &Code| {
        let place = offers.iter().position(|offer| offer.id == *accepted)?;
        // The first is the job itself.
        if place == 0 { Some(end_net_minor) } else { offers.get(place)?.net_minor }
    };
    let accepted_net_minor = accepted.as_ref().and_then(net_minor);
    Ok(Summary {
        number,
        revision,
        state,
        reference,
        customer,
        quoted,
        valid_until,
        currency,
        end_net_minor,
        recorded,
        accepted,
        accepted_net_minor,
    })
}

/// The first row that belongs to no event, or not to the one it names. In an honest store there is none, in another
/// one there may be millions.
pub(crate) async fn stray(
    tables: &impl Tables,
    events: &RangeInclusive<i64>,
) -> Result<Option<(u64, String)>, Fault> {
    let questions = [
        (
            "events",
            "SELECT v.sequence FROM events v WHERE v.sequence BETWEEN $1 AND $2 AND v.sequence < 1 \
             ORDER BY v.sequence LIMIT 1",
        ),
        (
            "entries",
            "SELECT e.event FROM entries e WHERE e.event BETWEEN $1 AND $2 \
             AND (NOT EXISTS (SELECT 1 FROM events v WHERE v.sequence = e.event \
             AND v.subject = e.number AND v.revision = e.revision AND v.kind IN ('issued', 'revised', 'reversed')) \
             OR NOT EXISTS (SELECT 1 FROM events f WHERE f.sequence = e.first AND f.subject = e.number \
             AND f.kind = 'issued')) ORDER BY e.event LIMIT 1",
        ),
        (
            "entry_partners",
            "SELECT p.event FROM entry_partners p WHERE p.event BETWEEN $1 AND $2 \
             AND NOT EXISTS (SELECT 1 FROM entries e WHERE e.event = p.event AND e.first = p.first) \
             ORDER BY p.event LIMIT 1",
        ),
        (
            "invoices",
            "SELECT i.event FROM invoices i WHERE i.event BETWEEN $1 AND $2 \
             AND NOT EXISTS (SELECT 1 FROM events v WHERE v.sequence = i.event \
             AND v.subject = i.number AND v.kind = CASE WHEN i.preceding IS NULL THEN 'invoiced' ELSE 'credited' END) \
             ORDER BY i.event LIMIT 1",
        ),
        (
            "editions",
            "SELECT d.event FROM editions d WHERE d.event BETWEEN $1 AND $2 \
             AND NOT EXISTS (SELECT 1 FROM events v WHERE v.sequence = d.event \
             AND v.subject = d.code AND v.kind = 'published') ORDER BY d.event LIMIT 1",
        ),
        (
            "callers",
            "SELECT c.event FROM callers c WHERE c.event BETWEEN $1 AND $2 \
             AND NOT EXISTS (SELECT 1 FROM events v WHERE v.sequence = c.event \
             AND v.subject = c.name AND v.kind = 'caller_added') ORDER BY c.event LIMIT 1",
        ),
    ];
    let values = || vec![(*events.start()).into(), (*events.end()).into()];
    let asks: Vec<_> = questions.iter().map(|(_, sql)| Ask::new(*sql, values())).collect();
    let answers = tables.read(&asks).await?;
    let mut strays = Vec::new();
    for ((table, _), rows) in questions.into_iter().zip(answers) {
        for mut row in rows {
            let event: i64 = row.int("the event")?;
            strays.push((u64::try_from(event).unwrap_or(0), format!("a row of {table} for event {event}")));
        }
    }
    Ok(strays.into_iter().min())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::sqlite::Sqlite;
    use crate::store::{Filter, InvoiceFilter};

    /// Else one partner who asks for all sets of them, each with all other filters, has a thousand kept.
    #[test]
    fn a_list_by_states_is_one_statement_whichever_they_are() {
        let asked = |states: &[State]| {
            let filter = Filter { states: states.to_vec(), ..Filter::default() };
            let listing = Listing { sight: Sight::All, filter, before: None, limit: 9 };
            list_question(&listing).sql.into_owned()
        };
        for states in [&[State::Open][..], &[State::Declined, State::Accepted], &State::ALL] {
            assert_eq!(asked(states), asked(&[State::Reversed]), "{states:?}");
        }
        assert_ne!(asked(&[]), asked(&[State::Reversed]));
    }

    /// For a page nobody sorts all that there is.
    #[test]
    fn lists_are_read_in_their_order() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        let _store = Sqlite::open(&path).unwrap();
        let connection = rusqlite::Connection::open(&path).unwrap();
        let sorts = |ask: &Ask<'_>| {
            let mut plan = connection.prepare(&format!("EXPLAIN QUERY PLAN {}", ask.sql)).unwrap();
            let (mut steps, mut sorts) = (plan.raw_query(), false);
            while let Some(step) = steps.next().unwrap() {
                sorts |= step.get::<_, String>("detail").unwrap().contains("ORDER BY");
            }
            sorts
        };
        let (series, day) = (Some("AB".parse().unwrap()), Some(NaiveDate::default()));
        let filters = [
            Filter::default(),
            Filter { series: series.clone(), ..Filter::default() },
            Filter { states: State::ALL.to_vec(), quoted_from: day, ..Filter::default() },
        ];
        for sight in [Sight::All, Sight::Partner("NORD".parse().unwrap())] {
            for filter in filters.clone() {
                let listing = Listing { sight: sight.clone(), filter, before: None, limit: 100 };
                assert!(!sorts(&list_question(&listing)), "{listing:?}");
            }
            let filter = InvoiceFilter { series: series.clone(), ..InvoiceFilter::default() };
            let listing = InvoiceListing { sight, filter, before: None, limit: 100 };
            assert!(!sorts(&bills::invoices(&listing)), "{listing:?}");
        }
    }
}
