//! What is asked for, read from its message; everything wrong with it at once.

use chrono::NaiveDate;
use evenfare_engine::category::Work;
use evenfare_engine::job::Job;
use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::text::{Code, Text};
use evenfare_files::{Report, Tariffs, check_beside, parse_job_for};
use evenfare_store::digest::Digest;
use evenfare_store::number::{Number, Series};

use super::breadth::job;
use super::refusal::{FIELD, Refusal, below};
use crate::editions::problem;
use crate::wire::job::taken_over;
use crate::wire::message::Message;
use crate::wire::mistakes::{Mistakes, Objection};
use crate::wire::pb;

const THE_JOB: &str = "the job";
/// What a request for quotation is called in the places of its mistakes.
const REQUEST: &str = "request.xml";

/// Reads a message by what is said of its fields.
pub(super) fn read<T>(of: impl FnOnce(&mut Message<'_>) -> Option<T>) -> Result<T, Refusal> {
    let mut mistakes = Mistakes::default();
    let read = of(&mut Message::outermost(&mut mistakes));
    let problems = mistakes.into_problems();
    match read {
        Some(read) if problems.is_empty() => Ok(read),
        _ => Err(Refusal::Input(problems)),
    }
}

/// The same where a job is in it: what is wrong with that by the tariff is found at the same time, also where
/// something else cannot be read. `of` hands the job over beside what goes with it.
fn read_with_job<T>(
    tariffs: &Tariffs,
    of: impl FnOnce(&mut Message<'_>) -> (Option<Job>, Option<T>),
) -> Result<(Job, T), Refusal> {
    let mut mistakes = Mistakes::default();
    let (draft, with) = of(&mut Message::outermost(&mut mistakes));
    let mut problems = mistakes.into_problems();
    match (draft, with) {
        (Some(job), Some(with)) if problems.is_empty() => return Ok((job, with)),
        (Some(draft), _) => {
            let refused = problems.iter().filter_map(|problem| problem.place.as_str().strip_prefix("job."));
            let more = check_beside(&draft, refused, tariffs);
            problems.extend(below(FIELD, more));
        }
        (None, _) => {}
    }
    Err(Refusal::Input(problems))
}

/// The digest of a whole request: the method, and the message as it is written.
pub(super) fn fingerprint(method: &str, message: &impl prost::Message) -> Digest {
    let mut bytes = Vec::with_capacity(message.encoded_len().saturating_add(method.len()).saturating_add(1));
    bytes.extend_from_slice(method.as_bytes());
    bytes.push(0);
    // There is room for it: a vector grows.
    let _ = message.encode(&mut bytes);
    Digest::of(&bytes)
}

/// A request id alone.
pub(super) fn request_id(id: &str) -> Result<Code, Refusal> {
    read(|at| at.needed("request_id", id))
}

/// A job to be priced.
pub(super) fn priced(wire: Option<&pb::Job>, tariffs: &Tariffs) -> Result<Job, Refusal> {
    read_with_job(tariffs, |at| (at.message(FIELD, wire, THE_JOB, job), Some(()))).map(|(job, ())| job)
}

/// A request for quotation: its job, and what was left out of that or is wrong with it by the tariff, at the lines and
/// columns of the request.
pub(super) fn requested(content: &[u8], tariffs: &Tariffs) -> Result<(Job, Report), Refusal> {
    let (job, source) = parse_job_for(REQUEST, content, tariffs)
        .map_err(|report| Refusal::Request(report.iter().map(problem).collect()))?;
    let mut wrong = check_beside(&job, [], tariffs);
    if let Some(code) = tariffs.unreadable_on(job.received) {
        // It is no mistake of the job; but nothing prices it.
        let expected =
            format!("an edition that this server can read; {code} it cannot, as ListEditions says");
        wrong.push(Problem::error(Place::field("received"), "edition_unreadable", job.received, expected));
    }
    let wrong = source.locate(wrong);
    let told = wrong.into_iter().chain(source.warnings().iter().cloned()).collect();
    Ok((job, told))
}

/// A job of a partner's own customer; its route is not his to choose.
pub(super) fn own(
    wire: &pb::PriceOwnJobRequest,
    tariffs: &Tariffs,
) -> Result<(Job, Option<Vec<Work>>), Refusal> {
    read_with_job(tariffs, |at| {
        let own = at.message(FIELD, wire.job.as_ref(), THE_JOB, |mut at, wire| {
            if wire.route.is_empty() {
                return job(at, wire);
            }
            let found = format!("{} stop(s)", wire.route.len());
            let expected = "no route: it leads to the partner who asks";
            at.at("route").refuse::<()>(Objection::new("route_given", found, expected));
            // What is wrong with a route that does not count is not said.
            job(at, &pb::Job { route: Vec::new(), ..wire.clone() })
        });
        (own, at.message_if_said("takes_over", wire.takes_over.as_ref(), taken_over))
    })
}

/// A quote to be issued.
pub(super) struct Issue {
    pub(super) id: Code,
    pub(super) series: Series,
    pub(super) job: Job,
}

pub(super) fn issue(wire: &pb::IssueQuoteRequest, tariffs: &Tariffs) -> Result<Issue, Refusal> {
    let (job, (id, series)) = read_with_job(tariffs, |at| {
        let id = at.needed("request_id", &wire.request_id);
        let job = at.message(FIELD, wire.job.as_ref(), THE_JOB, job);
        let series = at.if_said("series", Some(&wire.series));
        (job, id.zip(series))
    })?;
    Ok(Issue { id, series: series.unwrap_or_else(Series::usual), job })
}

/// A change of a quote.
pub(super) struct Change<T> {
    pub(super) id: Code,
    pub(super) number: Number,
    pub(super) etag: Digest,
    /// What else belongs to it.
    pub(super) with: T,
}

/// The fields that every change has.
fn which(at: &mut Message<'_>, [id, number, etag]: [&str; 3]) -> Option<(Code, Number, Digest)> {
    let id = at.needed("request_id", id);
    let number = at.needed("number", number);
    let etag = at.needed("etag", etag);
    Some((id?, number?, etag?))
}

fn change<T>(
    fields: [&str; 3],
    with: impl FnOnce(&mut Message<'_>) -> Option<T>,
) -> Result<Change<T>, Refusal> {
    read(|at| {
        let which = which(at, fields);
        let with = with(at)?;
        which.map(|(id, number, etag)| Change { id, number, etag, with })
    })
}

pub(super) fn revise(
    wire: &pb::ReviseQuoteRequest,
    tariffs: &Tariffs,
) -> Result<Change<(Job, Text)>, Refusal> {
    let (job, ((id, number, etag), reason)) = read_with_job(tariffs, |at| {
        let which = which(at, [&wire.request_id, &wire.number, &wire.etag]);
        let job = at.message(FIELD, wire.job.as_ref(), THE_JOB, job);
        (job, which.zip(at.needed("reason", &wire.reason)))
    })?;
    Ok(Change { id, number, etag, with: (job, reason) })
}

pub(super) fn reverse(wire: &pb::ReverseQuoteRequest) -> Result<Change<Text>, Refusal> {
    change([&wire.request_id, &wire.number, &wire.etag], |at| at.needed("reason", &wire.reason))
}

pub(super) fn accept(
    wire: &pb::AcceptQuoteRequest,
    today: NaiveDate,
) -> Result<Change<(Code, NaiveDate)>, Refusal> {
    change([&wire.request_id, &wire.number, &wire.etag], |at| {
        let offer = at.needed("offer", &wire.offer);
        let day = settled(at, "accepted", wire.accepted.as_ref(), today);
        Some((offer?, day?))
    })
}

pub(super) fn decline(
    wire: &pb::DeclineQuoteRequest,
    today: NaiveDate,
) -> Result<Change<(NaiveDate, Text)>, Refusal> {
    change([&wire.request_id, &wire.number, &wire.etag], |at| {
        let day = settled(at, "declined", wire.declined.as_ref(), today);
        let reason = at.needed("reason", &wire.reason);
        Some((day?, reason?))
    })
}

/// A day on which the customer has answered; today where it is not said.
fn settled(
    at: &mut Message<'_>,
    field: &'static str,
    wire: Option<&pb::Date>,
    today: NaiveDate,
) -> Option<NaiveDate> {
    let day = at.day_if_said(field, wire)?.unwrap_or(today);
    not_after(at.at(field), day, today)
}

/// The day of what has happened: not after today.
pub(super) fn not_after(mut at: Message<'_>, day: NaiveDate, today: NaiveDate) -> Option<NaiveDate> {
    if day <= today {
        return Some(day);
    }
    let expected = format!("a day not after today, {today} (UTC)");
    at.refuse(Objection::new("in_the_future", day.to_string(), expected))
}

/// An invoice to be issued.
pub(super) struct Invoice {
    pub(super) series: Series,
    pub(super) issued: NaiveDate,
    /// The letterhead says it where this does not.
    pub(super) due: Option<NaiveDate>,
}

pub(super) fn invoice(wire: &pb::IssueInvoiceRequest, today: NaiveDate) -> Result<Change<Invoice>, Refusal> {
    read(|at| {
        let id = at.needed("request_id", &wire.request_id);
        let number = at.needed("quote_number", &wire.quote_number);
        let etag = at.needed("etag", &wire.etag);
        let series = at.if_said("series", Some(&wire.series));
        let issued = settled(at, "issued", wire.issued.as_ref(), today);
        let due = at.day_if_said("due", wire.due.as_ref());
        let series = series?.unwrap_or_else(Series::of_invoices);
        let with = Invoice { series, issued: issued?, due: due? };
        Some(Change { id: id?, number: number?, etag: etag?, with })
    })
}

/// A credit note to be issued.
pub(super) struct CreditNote {
    pub(super) id: Code,
    pub(super) series: Series,
    pub(super) invoice: Number,
    pub(super) issued: NaiveDate,
    pub(super) reason: Text,
}

pub(super) fn credit_note(
    wire: &pb::IssueCreditNoteRequest,
    today: NaiveDate,
) -> Result<CreditNote, Refusal> {
    read(|at| {
        let id = at.needed("request_id", &wire.request_id);
        let invoice: Option<Number> = at.needed("invoice_number", &wire.invoice_number);
        let series = at.if_said("series", Some(&wire.series));
        let issued = settled(at, "issued", wire.issued.as_ref(), today);
        let reason = at.needed("reason", &wire.reason);
        let (invoice, series) = (invoice?, series?);
        let series = series.unwrap_or_else(|| invoice.series.clone());
        Some(CreditNote { id: id?, series, invoice, issued: issued?, reason: reason? })
    })
}

/// A number alone.
pub(super) fn number(number: &str) -> Result<Number, Refusal> {
    read(|at| at.needed("number", number))
}

/// Which entry of a quote, where one is named.
pub(super) fn revision(
    at: &mut Message<'_>,
    revision: Option<u32>,
    reversal: bool,
) -> Option<Option<(u32, bool)>> {
    if revision.is_none() && reversal {
        let expected = "the revision whose opposite entry is asked for";
        return at.at("revision").refuse(Objection::missing(expected));
    }
    Some(revision.map(|revision| (revision, reversal)))
}

/// Which entry of which quote.
pub(super) fn entry(
    number: &str,
    revision: Option<u32>,
    reversal: bool,
) -> Result<(Number, Option<(u32, bool)>), Refusal> {
    read(|at| {
        let number = at.needed("number", number);
        let which = self::revision(at, revision, reversal);
        Some((number?, which?))
    })
}

/// After which event somebody watches, where that is the last. One that there is not yet he has from a store that was put
/// back from a backup since: up to it, whatever happens would not be told.
pub(super) fn watched(wire: &pb::WatchQuotesRequest, last: u64) -> Result<u64, Refusal> {
    if wire.from_now {
        return Ok(last);
    }
    read(|at| {
        if wire.after_sequence <= last {
            return Some(wire.after_sequence);
        }
        let expected = format!("the sequence of an event, at most {last}");
        let found = wire.after_sequence.to_string();
        at.at("after_sequence").refuse(Objection::new("no_such_event", found, expected))
    })
}

/// The days of a period, both of which count.
pub(super) fn period(
    from: Option<&pb::Date>,
    until: Option<&pb::Date>,
) -> Result<(NaiveDate, NaiveDate), Refusal> {
    let (from, until) = read(|at| {
        let from = at.day("from", from);
        let until = at.day("until", until);
        Some((from?, until?))
    })?;
    if from <= until {
        return Ok((from, until));
    }
    let expected = format!("a day not before {from}");
    Err(Refusal::problem(Problem::error(Place::field("until"), "ends_before_it_begins", until, expected)))
}
