//! From the wire to the engine: units, and what is found in them.

use evenfare_engine::job::{Finding, Parcel, Returned, Task, Unit};
use evenfare_engine::text::Code;

use crate::wire::message::Message;
use crate::wire::pb;

/// A unit; the number is its place in the list, counted from one.
pub(super) fn unit(mut at: Message<'_>, wire: &pb::Unit, number: usize) -> Option<Unit> {
    let id = match at.if_said::<Code>("id", Some(&wire.id)) {
        Some(None) => format!("U{number}").parse().ok(),
        id => id.flatten(),
    };
    let family = at.needed("family", &wire.family);
    let serial = at.needed("serial", &wire.serial);
    let built = at.day_if_said("built", wire.built.as_ref());
    let declared_value = at.needed("declared_value", &wire.declared_value);
    let task = task(&mut at, wire.task);
    let class = at.if_said("class", wire.class.as_deref());
    let parcels = at.list("parcels", &wire.parcels, parcel);
    let findings = at.list("findings", &wire.findings, finding);
    let returned = at.message_if_said("returned", wire.returned.as_ref(), returned);
    Some(Unit {
        id: id?,
        family: family?,
        serial: serial?,
        built: built?,
        cycles: wire.cycles,
        hours: wire.hours,
        declared_value: declared_value?,
        task: task?.unwrap_or_default(),
        class: class?,
        parcels: parcels?,
        findings: findings?,
        returned: returned?,
    })
}

/// The task in the field of that name; none inside where it is not said.
pub(super) fn task(at: &mut Message<'_>, number: i32) -> Option<Option<Task>> {
    at.word("task", number, "1 refresh, 2 exchange or 3 decline; 0 says nothing").map(pb::Task::said)
}

fn parcel(mut at: Message<'_>, wire: &pb::Parcel) -> Option<Parcel> {
    let length_cm = at.needed("length_cm", &wire.length_cm);
    let width_cm = at.needed("width_cm", &wire.width_cm);
    let height_cm = at.needed("height_cm", &wire.height_cm);
    let weight_kg = at.needed("weight_kg", &wire.weight_kg);
    Some(Parcel { length_cm: length_cm?, width_cm: width_cm?, height_cm: height_cm?, weight_kg: weight_kg? })
}

pub(super) fn finding(mut at: Message<'_>, wire: &pb::Finding) -> Option<Finding> {
    let code = at.needed("code", &wire.code);
    let position = at.if_said("position", wire.position.as_deref());
    Some(Finding { code: code?, position: position?, quantity: wire.quantity })
}

fn returned(mut at: Message<'_>, wire: &pb::Returned) -> Option<Returned> {
    let quote = at.needed("quote", &wire.quote);
    let dispatched = at.day("dispatched", wire.dispatched.as_ref());
    Some(Returned {
        quote: quote?,
        dispatched: dispatched?,
        warranty_months: wire.warranty_months,
        warranty_cycles: wire.warranty_cycles,
        cycles_at_dispatch: wire.cycles_at_dispatch,
    })
}
