//! From the engine to the wire.

use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Returned, Stop, Task, Unit};
use evenfare_engine::text::{Code, Text};

use crate::wire::pb;

/// Writes a job so that reading it gives the same job again: `a_job_comes_back_as_it_went`.
impl From<&Job> for pb::Job {
    fn from(job: &Job) -> Self {
        Self {
            reference: job.reference.to_string(),
            currency_code: job.currency.map(|currency| currency.code().to_owned()),
            received: Some(job.received.into()),
            quoted: job.quoted.map(pb::Date::from),
            dispatch: job.dispatch.map(pb::Date::from),
            tax_date: job.tax_date.map(pb::Date::from),
            customer: Some(customer(&job.customer)),
            route: job.route.iter().map(stop).collect(),
            extras: job.extras.iter().map(Code::to_string).collect(),
            units: job.units.iter().map(unit).collect(),
            alternatives: job.alternatives.iter().map(alternative).collect(),
        }
    }
}

fn customer(customer: &Customer) -> pb::Customer {
    pb::Customer {
        name: customer.name.to_string(),
        vat_id: customer.vat_id.as_ref().map(Text::to_string),
        business: customer.business,
        street: customer.street.to_string(),
        postcode: customer.postcode.to_string(),
        city: customer.city.to_string(),
        country_code: customer.country.to_string(),
        language_code: customer.language.map(|language| language.word().to_owned()),
    }
}

fn stop(stop: &Stop) -> pb::Stop {
    let taken = |works: &Vec<_>| pb::TakenOver {
        works: works.iter().map(|&work| pb::Work::from(work).into()).collect(),
    };
    pb::Stop { partner: stop.partner.to_string(), takes_over: stop.takes_over.as_ref().map(taken) }
}

fn unit(unit: &Unit) -> pb::Unit {
    pb::Unit {
        id: unit.id.to_string(),
        family: unit.family.to_string(),
        serial: unit.serial.to_string(),
        built: unit.built.map(pb::Date::from),
        cycles: unit.cycles,
        hours: unit.hours,
        declared_value: unit.declared_value.to_string(),
        parcels: unit.parcels.iter().map(parcel).collect(),
        task: task(Some(unit.task)),
        class: unit.class.as_ref().map(Code::to_string),
        findings: unit.findings.iter().map(finding).collect(),
        returned: unit.returned.as_ref().map(returned),
    }
}

fn task(task: Option<Task>) -> i32 {
    task.map_or(pb::Task::Unspecified, pb::Task::from).into()
}

fn parcel(parcel: &Parcel) -> pb::Parcel {
    pb::Parcel {
        length_cm: parcel.length_cm.to_string(),
        width_cm: parcel.width_cm.to_string(),
        height_cm: parcel.height_cm.to_string(),
        weight_kg: parcel.weight_kg.to_string(),
    }
}

fn finding(finding: &Finding) -> pb::Finding {
    pb::Finding {
        code: finding.code.to_string(),
        position: finding.position.as_ref().map(Code::to_string),
        quantity: finding.quantity,
    }
}

fn returned(returned: &Returned) -> pb::Returned {
    pb::Returned {
        quote: returned.quote.to_string(),
        dispatched: Some(returned.dispatched.into()),
        warranty_months: returned.warranty_months,
        warranty_cycles: returned.warranty_cycles,
        cycles_at_dispatch: returned.cycles_at_dispatch,
    }
}

fn alternative(alternative: &Alternative) -> pb::Alternative {
    pb::Alternative {
        id: alternative.id.to_string(),
        text: alternative.text.to_string(),
        changes: alternative.changes.iter().map(change).collect(),
    }
}

fn change(change: &Change) -> pb::Change {
    pb::Change {
        unit: change.unit.to_string(),
        task: task(change.task),
        class: change.class.as_ref().map(Code::to_string),
        findings: change.findings.iter().map(finding).collect(),
    }
}
