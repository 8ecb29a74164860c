//! What a job is made of, key by key.

use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Returned, Stop, Unit};
use evenfare_engine::text::Code;

use crate::fields::Fields;
use crate::log::Log;
use crate::node::{Kind, Node};
use crate::value::{Value, no_list, wrong_kind};

impl Value for Job {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        let mut fields = Fields::of(node, log)?;
        let reference = fields.need("reference");
        let received = fields.need("received");
        let quoted = fields.need("quoted");
        let dispatch = fields.need("dispatch");
        let tax_date = fields.need("tax_date");
        let currency = fields.need("currency");
        let customer = fields.need("customer");
        let route = fields.or_default("route");
        let extras = fields.or_default("extras");
        let units = fields.need_with("units", "a list of tables", units);
        let alternatives = fields.or_default("alternatives");
        fields.finish();
        Some(Self {
            reference: reference?,
            received: received?,
            quoted: quoted?,
            dispatch: dispatch?,
            tax_date: tax_date?,
            currency: currency?,
            customer: customer?,
            route: route?,
            extras: extras?,
            units: units.unwrap_or_default(),
            alternatives: alternatives?,
        })
    }

    fn expected() -> String {
        String::from("a table")
    }
}

/// Units, named by their order where they have no name of their own.
fn units(node: &Node, log: &mut Log) -> Option<Vec<Unit>> {
    let Kind::List(nodes) = &node.kind else {
        return no_list(node, log, String::from("a list of tables"));
    };
    let units = (1..=nodes.len()).zip(nodes);
    let read: Vec<_> = units.map(|(number, node)| unit(number, node, log).or_else(no_unit)).collect();
    read.into_iter().collect()
}

fn unit(number: usize, node: &Node, log: &mut Log) -> Option<Unit> {
    let mut fields = Fields::of(node, log)?;
    let id = match fields.need::<Option<Code>>("id") {
        Some(None) => format!("U{number}").parse().ok(),
        id => id.flatten(),
    };
    let family = fields.need("family");
    let serial = fields.need("serial");
    let built = fields.need("built");
    let cycles = fields.need("cycles");
    let hours = fields.need("hours");
    let declared_value = fields.need("declared_value");
    let task = fields.or_default("task");
    let class = fields.need("class");
    let parcels = fields.or_default("parcels");
    let findings = fields.or_default("findings");
    let returned = fields.need("returned");
    fields.finish();
    Some(Unit {
        id: id.or_else(Value::in_a_job)?,
        family: family?,
        serial: serial?,
        built: built?,
        cycles: cycles?,
        hours: hours?,
        declared_value: declared_value?,
        task: task?,
        class: class?,
        parcels: parcels?,
        findings: findings?,
        returned: returned?,
    })
}

/// What stands for an entry of the list that is no table.
fn no_unit() -> Option<Unit> {
    Some(Unit {
        id: Value::in_a_job()?,
        family: Value::in_a_job()?,
        serial: Value::in_a_job()?,
        built: None,
        cycles: None,
        hours: None,
        declared_value: Value::in_a_job()?,
        task: Value::in_a_job()?,
        class: None,
        parcels: Vec::new(),
        findings: Vec::new(),
        returned: None,
    })
}

/// A partner's code alone, or a table that says more.
impl Value for Stop {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        match &node.kind {
            Kind::Text(_) => return Code::read(node, log).map(|partner| Self { partner, takes_over: None }),
            Kind::Table(_) => {}
            _ => return wrong_kind(node, log, Self::expected()),
        }
        let mut fields = Fields::of(node, log)?;
        let (partner, takes_over) = (fields.need("partner"), fields.need("takes_over"));
        fields.finish();
        Some(Self { partner: partner?, takes_over: takes_over? })
    }

    fn expected() -> String {
        String::from("the code of a partner, or a table with partner and takes_over")
    }

    fn in_a_job() -> Option<Self> {
        Some(Self { partner: Value::in_a_job()?, takes_over: None })
    }
}

macro_rules! take {
    ($fields:ident, $field:ident) => {
        $fields.need(stringify!($field))
    };
    ($fields:ident, $field:ident or_default) => {
        $fields.or_default(stringify!($field))
    };
}

macro_rules! records {
    ($($name:ident { $($field:ident $($how:ident)?),* $(,)? })*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                let mut fields = Fields::of(node, log)?;
                $(let $field = take!(fields, $field $($how)?);)*
                fields.finish();
                Some(Self { $($field: $field?),* })
            }

            fn expected() -> String {
                String::from("a table")
            }

            fn in_a_job() -> Option<Self> {
                Some(Self { $($field: Value::in_a_job()?),* })
            }
        }
    )* };
}

records! {
    Customer {
        name, street or_default, postcode or_default, city or_default, country, vat_id, business, language,
    }
    Parcel { length_cm, width_cm, height_cm, weight_kg }
    Finding { code, position, quantity }
    Returned { quote, dispatched, warranty_months, warranty_cycles, cycles_at_dispatch }
    Alternative { id, text or_default, changes }
    Change { unit, task, class, findings or_default }
}
