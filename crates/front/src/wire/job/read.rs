//! From the wire to the engine: the job, its customer and its route.

use evenfare_engine::category::Work;
use evenfare_engine::job::{Alternative, Change, Customer, Job, Stop};

use super::InvalidJob;
use super::units;
use crate::wire::message::{Message, unknown};
use crate::wire::mistakes::Mistakes;
use crate::wire::pb;

/// Reads a job as it came over the wire.
///
/// An optional code or text that is empty says nothing, and a unit without a name takes `U1`, `U2`,
/// `U3` by its place, as in a job file.
///
/// # Errors
/// [`InvalidJob`] with every mistake in the message at once.
///
/// # Examples
/// ```
/// use evenfare::wire::{InvalidJob, pb};
/// use evenfare_engine::job::Job;
///
/// let job = pb::Job {
///     reference: "J-1".into(),
///     received: Some(pb::Date { year: 2026, month: 7, day: 14 }),
///     customer: Some(pb::Customer {
///         name: "Mill".into(), country_code: "DE".into(), business: true, ..Default::default()
///     }),
///     units: vec![pb::Unit { family: "DRV-A".into(), declared_value: "900".into(), ..Default::default() }],
///     ..Default::default()
/// };
/// assert_eq!(Job::try_from(job.clone())?.units[0].id.as_str(), "U1");
///
/// let in_july = pb::Date { year: 2026, month: 7, day: 0 };
/// let invalid = Job::try_from(pb::Job { received: Some(in_july), ..job }).unwrap_err();
/// let problem = &invalid.problems()[0];
/// assert_eq!((problem.place.as_str(), problem.code), ("received", "partial_date"));
/// # Ok::<(), InvalidJob>(())
/// ```
impl TryFrom<pb::Job> for Job {
    type Error = InvalidJob;

    fn try_from(wire: pb::Job) -> Result<Self, InvalidJob> {
        let mut mistakes = Mistakes::default();
        let job = job(Message::outermost(&mut mistakes), &wire);
        let problems = mistakes.into_problems();
        match job {
            Some(job) if problems.is_empty() => Ok(job),
            _ => Err(InvalidJob { problems }),
        }
    }
}

/// A job that stands in another message.
pub(crate) fn job(mut at: Message<'_>, wire: &pb::Job) -> Option<Job> {
    let reference = at.needed("reference", &wire.reference);
    let received = at.day("received", wire.received.as_ref());
    let quoted = at.day_if_said("quoted", wire.quoted.as_ref());
    let dispatch = at.day_if_said("dispatch", wire.dispatch.as_ref());
    let tax_date = at.day_if_said("tax_date", wire.tax_date.as_ref());
    let currency = at.if_said("currency", wire.currency_code.as_deref());
    let customer = at.message("customer", wire.customer.as_ref(), "the end customer", customer);
    let route = at.list("route", &wire.route, stop);
    let extras = at.list("extras", &wire.extras, |mut at, code| at.entry(code));
    let mut number = 0_usize;
    let units = at.list("units", &wire.units, |at, wire| {
        number = number.saturating_add(1);
        units::unit(at, wire, number)
    });
    let alternatives = at.list("alternatives", &wire.alternatives, alternative);
    Some(Job {
        reference: reference?,
        received: received?,
        quoted: quoted?,
        dispatch: dispatch?,
        tax_date: tax_date?,
        currency: currency?,
        customer: customer?,
        route: route?,
        extras: extras?,
        units: units?,
        alternatives: alternatives?,
    })
}

fn customer(mut at: Message<'_>, wire: &pb::Customer) -> Option<Customer> {
    let name = at.needed("name", &wire.name);
    let street = at.needed("street", &wire.street);
    let postcode = at.needed("postcode", &wire.postcode);
    let city = at.needed("city", &wire.city);
    let country = at.needed("country", &wire.country_code);
    let vat_id = at.if_said("vat_id", wire.vat_id.as_deref());
    let language = at.if_said("language", wire.language_code.as_deref());
    Some(Customer {
        name: name?,
        street: street?,
        postcode: postcode?,
        city: city?,
        country: country?,
        vat_id: vat_id?,
        business: wire.business,
        language: language?,
    })
}

fn stop(mut at: Message<'_>, wire: &pb::Stop) -> Option<Stop> {
    let partner = at.needed("partner", &wire.partner);
    let takes_over = at.message_if_said("takes_over", wire.takes_over.as_ref(), taken_over);
    Some(Stop { partner: partner?, takes_over: takes_over? })
}

/// The work that a partner takes over.
pub(crate) fn taken_over(mut at: Message<'_>, wire: &pb::TakenOver) -> Option<Vec<Work>> {
    at.entries(&wire.works, work)
}

fn work(mut at: Message<'_>, number: &i32) -> Option<Work> {
    let work = pb::Work::try_from(*number).ok().and_then(pb::Work::said);
    let objection = || unknown(*number, "1 removal, 2 refitting, 3 diagnosis, 4 leg in or 5 leg out");
    work.or_else(|| at.refuse(objection()).or(Some(Work::Removal)))
}

fn alternative(mut at: Message<'_>, wire: &pb::Alternative) -> Option<Alternative> {
    let id = at.needed("id", &wire.id);
    let text = at.needed("text", &wire.text);
    let changes = at.list("changes", &wire.changes, change);
    Some(Alternative { id: id?, text: text?, changes: changes? })
}

fn change(mut at: Message<'_>, wire: &pb::Change) -> Option<Change> {
    let unit = at.needed("unit", &wire.unit);
    let task = units::task(&mut at, wire.task);
    let class = at.if_said("class", wire.class.as_deref());
    let findings = at.list("findings", &wire.findings, units::finding);
    Some(Change { unit: unit?, task: task?, class: class?, findings: findings? })
}
