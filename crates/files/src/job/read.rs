//! From a file to a job.

use std::path::Path;

use evenfare_engine::job::Job;

use crate::decode::{JOB_LIMIT, decode};
use crate::folder::read_alone;
use crate::job::draft::{Draft, JobSource};
use crate::job::request::{self, REQUEST};
use crate::node::Places;
use crate::report::{Mistake, Report, Says};
use crate::tariff::Tariffs;
use crate::value::Value;
use crate::{json_tree, toml_tree, xml_tree};

/// Reads a job from a file whose name ends in `.toml`, `.json` or `.xml`.
///
/// # Errors
/// Every mistake of its writing at once; a file that cannot be read or is larger than 1 MiB.
pub fn read_job(path: &Path) -> Result<(Job, JobSource), Report> {
    parse_job(&path.display().to_string(), read_alone(path, JOB_LIMIT)?)
}

/// Reads a job that is to be priced by one of these editions: where it has mistakes, what the
/// engine finds wrong with the rest of it is told with them.
///
/// The way to read a job wherever the tariff is at hand. A job without mistakes of its writing is
/// answered as it is; the engine checks it when it is priced.
///
/// # Errors
/// As [`read_job`], and with them whatever else is wrong with the job.
pub fn read_job_for(path: &Path, tariffs: &Tariffs) -> Result<(Job, JobSource), Report> {
    parse_job_for(&path.display().to_string(), read_alone(path, JOB_LIMIT)?, tariffs)
}

/// Reads a job from its text; the name says by its ending whether it is TOML, JSON or
/// a UBL 2.1 RequestForQuotation.
///
/// # Errors
/// Every mistake of its writing at once.
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
    let (draft, report) = parse(name, text.as_ref());
    match draft {
        Some(draft) if !report.has_errors() => Ok(draft.done(report)),
        _ => Err(report),
    }
}

/// Reads a job from its text that is to be priced by one of these editions, as [`read_job_for`].
///
/// # Errors
/// Every mistake at once: those of its writing, and what the engine finds wrong with the rest.
pub fn parse_job_for(
    name: &str,
    text: impl AsRef<[u8]>,
    tariffs: &Tariffs,
) -> Result<(Job, JobSource), Report> {
    let (draft, mut report) = parse(name, text.as_ref());
    match draft {
        Some(draft) if !report.has_errors() => return Ok(draft.done(report)),
        Some(draft) => draft.check(tariffs, &mut report),
        None => {}
    }
    Err(report)
}

/// The job as far as it can be read, and every mistake of its writing.
fn parse(name: &str, bytes: &[u8]) -> (Option<Draft>, Report) {
    let mut report = Report::default();
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase()).unwrap_or_default();
    if !matches!(&*ending, "toml" | "json" | "xml") {
        let says = Says::error("unknown_format", &ending, "a name that ends in .toml, .json or .xml");
        report.push(Mistake::in_folder(name.to_owned(), says));
        return (None, report);
    }
    let Some(mut decoded) = decode(name, bytes, JOB_LIMIT, &mut report) else { return (None, report) };
    let (text, log) = (&decoded.text, &mut decoded.log);
    log.keep_refusals();
    let root = match &*ending {
        "toml" => Some(toml_tree::parse(text, log)),
        "json" => json_tree::parse(text, log),
        _ => xml_tree::parse(text, REQUEST, log).map(|root| request::tree(&root, log)),
    };
    let draft = root.and_then(|root| {
        let job = Job::read(&root, log)?;
        Some(Draft::new(job, JobSource::new(log, Places::of(&root)), log))
    });
    log.move_into(&mut report);
    (draft, report)
}
