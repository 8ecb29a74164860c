//! Job files, as TOML or as JSON.

use std::path::Path;
use std::sync::Arc;

use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Returned, Stop, Unit};
use evenfare_engine::problem::Problem;
use evenfare_engine::text::Code;

use crate::decode::{JOB_LIMIT, decode};
use crate::fields::Fields;
use crate::folder;
use crate::log::Log;
use crate::node::{Kind, Node, Places};
use crate::report::{Mistake, Report, Says};
use crate::source::Source;
use crate::value::{Value, wrong_kind};
use crate::{json_tree, toml_tree};

/// The text of a job, to say where in it a problem stands that the engine finds later.
#[derive(Debug, Clone)]
pub struct JobSource {
    source: Arc<Source>,
    places: Places,
}

impl JobSource {
    /// The engine's problems with this job, at their lines and columns.
    ///
    /// What the file does not say stands where it would be said.
    pub fn locate(&self, problems: impl IntoIterator<Item = Problem>) -> Report {
        let mut report = Report::default();
        report.extend(problems.into_iter().map(|problem| {
            let bytes = self.places.nearest(problem.place.as_str());
            Mistake::in_text(&self.source, bytes, Says::from(problem))
        }));
        report
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        self.source.name()
    }
}

/// Reads a job from a file whose name ends in `.toml` or `.json`.
///
/// # Errors
/// Every mistake in it at once; a file that cannot be read or is larger than 1 MiB.
pub fn read_job(path: &Path) -> Result<(Job, JobSource), Report> {
    let name = path.display().to_string();
    match folder::read(path, JOB_LIMIT) {
        Ok(bytes) => parse_job(&name, bytes),
        Err(says) => Err([Mistake::in_folder(name, says)].into_iter().collect()),
    }
}

/// Reads a job from its text; the name says by its ending whether it is TOML or JSON.
///
/// # Errors
/// Every mistake in it at once.
///
/// # Examples
/// ```
/// let job = r#"{
///     "reference": "J-1", "received": "2026-07-14",
///     "customer": { "name": "Mill", "country": "DE", "business": true },
///     "route": ["P-1"],
///     "units": [{ "family": "DRV-A", "serial": "7", "declared_value": "900" }]
/// }"#;
/// let (job, _) = evenfare_files::parse_job("job.json", job).unwrap();
/// assert_eq!(job.units[0].id.as_str(), "U1");
/// ```
pub fn parse_job(name: &str, text: impl AsRef<[u8]>) -> Result<(Job, JobSource), Report> {
    let mut report = Report::default();
    match parse(name, text.as_ref(), &mut report) {
        Some(job) if report.is_empty() => Ok(job),
        _ => Err(report),
    }
}

fn parse(name: &str, bytes: &[u8], report: &mut Report) -> Option<(Job, JobSource)> {
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase()).unwrap_or_default();
    if !matches!(&*ending, "toml" | "json") {
        let says = Says::error("unknown_format", &ending, "a name that ends in .toml or .json");
        report.push(Mistake::in_folder(name.to_owned(), says));
        return None;
    }
    let mut decoded = decode(name, bytes, JOB_LIMIT, report)?;
    let (text, log) = (&decoded.text, &mut decoded.log);
    let root = if ending == "toml" { Some(toml_tree::parse(text, log)) } else { json_tree::parse(text, log) };
    let read = root.and_then(|root| {
        let source = JobSource { source: Arc::clone(log.source()), places: Places::of(&root) };
        Job::read(&root, log).map(|job| (job, source))
    });
    log.move_into(report);
    read
}

/// Units, named by their order where they have no name of their own.
fn units(node: &Node, log: &mut Log) -> Option<Vec<Unit>> {
    let Kind::List(nodes) = &node.kind else {
        return wrong_kind(node, log, "a list of tables");
    };
    let read: Vec<_> = (1..=nodes.len()).zip(nodes).map(|(number, node)| unit(number, node, log)).collect();
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
        id: id?,
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
}

macro_rules! take {
    ($fields:ident, $field:ident) => {
        $fields.need(stringify!($field))
    };
    ($fields:ident, $field:ident or_default) => {
        $fields.or_default(stringify!($field))
    };
    ($fields:ident, $field:ident with $read:ident) => {
        $fields.need_with(stringify!($field), "a list of tables", $read)
    };
}

macro_rules! records {
    ($($name:ident { $($field:ident $($how:ident $($read:ident)?)?),* $(,)? })*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                let mut fields = Fields::of(node, log)?;
                $(let $field = take!(fields, $field $($how $($read)?)?);)*
                fields.finish();
                Some(Self { $($field: $field?),* })
            }

            fn expected() -> String {
                String::from("a table")
            }
        }
    )* };
}

records! {
    Job {
        reference, received, quoted, dispatch, tax_date, currency, customer, route or_default, extras or_default,
        units with units, alternatives or_default,
    }
    Customer {
        name, street or_default, postcode or_default, city or_default, country, vat_id, business,
    }
    Parcel { length_cm, width_cm, height_cm, weight_kg }
    Finding { code, position, quantity }
    Returned { quote, dispatched, warranty_months, warranty_cycles, cycles_at_dispatch }
    Alternative { id, text or_default, changes }
    Change { unit, task, class, findings or_default }
}
