//! A job as far as it could be read, and what the engine finds wrong with that.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use evenfare_engine::job::Job;
use evenfare_engine::problem::Problem;

use crate::log::{Log, Refusal};
use crate::node::Places;
use crate::report::{Mistake, Report, Says};
use crate::source::Source;
use crate::tariff::Tariffs;

/// Problems that may only follow from a value that was refused elsewhere: keys without the places in
/// their lists.
const MAY_FOLLOW: &[(&str, &[&str])] = &[
    ("before_receipt", &["received"]),
    ("built_after_receipt", &["received"]),
    ("cycles_not_known", &["units.cycles", "units.returned.cycles_at_dispatch"]),
    ("dispatched_after_receipt", &["received"]),
    ("given_twice", &["units.id"]),
    ("invalid_vat_id", &["customer.country"]),
    ("missing_vat_id", &["customer.country", "route.partner", "units.task", "alternatives.changes.task"]),
    ("no_agreement", &["received"]),
    ("no_courier_zone", &["customer.country", "customer.postcode"]),
    ("no_currency_rate", &["received"]),
    ("no_parcels", &["units.parcels"]),
    ("no_vat_rate", &["customer.country", "route.partner", "received", "dispatch", "tax_date"]),
    ("not_his_supplier", &["route.partner"]),
    ("not_of_this_edition", &["received"]),
    ("taken_over_twice", &["route.takes_over"]),
    ("too_heavy", &["customer.country", "customer.postcode", "units.parcels"]),
    ("unknown_unit", &["units.id"]),
    ("vat_id_of_another_country", &["customer.country"]),
    ("withdrawn_currency", &["received"]),
    ("work_without_credit", &["received"]),
];

/// The text of a job, to say where in it a problem stands that the engine finds later.
#[derive(Debug, Clone)]
pub struct JobSource {
    source: Arc<Source>,
    places: Places,
    warnings: Report,
}

impl JobSource {
    pub(super) fn new(log: &Log, places: Places) -> Self {
        Self { source: Arc::clone(log.source()), places, warnings: Report::default() }
    }

    /// The engine's problems with this job, at their lines and columns.
    ///
    /// What the file does not say stands where it would be said.
    pub fn locate(&self, problems: impl IntoIterator<Item = Problem>) -> Report {
        problems
            .into_iter()
            .map(|problem| {
                let bytes = self.places.nearest(problem.place.as_str());
                Mistake::in_text(&self.source, bytes, Says::from(problem))
            })
            .collect()
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        self.source.name()
    }

    /// What stood in the file and was not read, as it says nothing that a job has.
    pub fn warnings(&self) -> &Report {
        &self.warnings
    }
}

/// A job with something standing for every value that was refused.
pub(super) struct Draft {
    pub(super) job: Job,
    pub(super) source: JobSource,
    refused: Refused,
}

impl Draft {
    pub(super) fn new(job: Job, source: JobSource, log: &Log) -> Self {
        let refused = Refused::of(log, &source.places);
        Self { job, source, refused }
    }

    /// The job, where nothing in it was refused; what is left to report is worth a look.
    pub(super) fn done(self, warnings: Report) -> (Job, JobSource) {
        (self.job, JobSource { warnings, ..self.source })
    }

    /// What the engine finds wrong beside the mistakes that were read, as far as it cannot only follow
    /// from them.
    pub(super) fn check(mut self, tariffs: &Tariffs, report: &mut Report) {
        let (told, held_back) = self.refused.beside(&self.job, tariffs);
        report.extend(self.source.locate(told));
        report.hold_back(self.source.name(), held_back);
    }
}

/// What is wrong with a job beside what was refused already: for one that did not come as a file.
///
/// Something stands in the job for each value that was refused; `refused` are the places of those, as the
/// engine names them. What may only follow from them is left out.
pub fn check_beside<'p>(
    job: &Job,
    refused: impl IntoIterator<Item = &'p str>,
    tariffs: &Tariffs,
) -> Vec<Problem> {
    let mut places = Refused { paths: BTreeSet::new(), keys: BTreeSet::new(), is_partial: false };
    refused.into_iter().for_each(|path| places.add(path));
    places.beside(job, tariffs).0
}

/// What every edition finds wrong, where the day does not say which of them prices the job.
fn in_all(job: &Job, tariffs: &Tariffs) -> Vec<Problem> {
    let mut editions = tariffs.editions().iter().rev().map(|edition| {
        let job = Job { received: edition.span().from, ..job.clone() };
        evenfare_engine::check(&job, edition)
    });
    let mut common = editions.next().unwrap_or_default();
    for other in editions {
        let other: BTreeSet<_> = other.iter().map(|problem| (&problem.place, problem.code)).collect();
        common.retain(|problem| other.contains(&(&problem.place, problem.code)));
    }
    common
}

/// Where values were refused.
struct Refused {
    /// As `units[0].family`.
    paths: BTreeSet<String>,
    /// As `units.family`.
    keys: BTreeSet<String>,
    /// Part of the text could not be read at all.
    is_partial: bool,
}

impl Refused {
    fn of(log: &Log, places: &Places) -> Self {
        let mut refused = Self { paths: BTreeSet::new(), keys: BTreeSet::new(), is_partial: log.partial };
        let mut by_bytes: BTreeMap<_, Vec<Option<&str>>> = BTreeMap::new();
        for Refusal { bytes, key } in log.refusals() {
            by_bytes.entry((bytes.start, bytes.end)).or_default().push(*key);
        }
        places.each(|path, bytes| {
            for key in by_bytes.get(&(bytes.start, bytes.end)).into_iter().flatten() {
                match key {
                    None => refused.add(path),
                    Some(key) if path.is_empty() => refused.add(key),
                    Some(key) => refused.add(&format!("{path}.{key}")),
                }
            }
        });
        refused
    }

    /// What the engine finds wrong with a job beside what was refused, and how many problems more may only
    /// follow from that.
    fn beside(&mut self, job: &Job, tariffs: &Tariffs) -> (Vec<Problem>, usize) {
        let mut no_edition = None;
        let mut problems = match tariffs.edition_for(job) {
            _ if self.has("received") => in_all(job, tariffs),
            Ok(edition) => evenfare_engine::check(job, edition),
            Err(problem) => {
                self.add("received");
                // That an edition cannot be read is no mistake of the job.
                no_edition = tariffs.unreadable_on(job.received).is_none().then_some(problem);
                in_all(job, tariffs)
            }
        };
        problems.retain(|problem| !self.has(problem.place.as_str()));
        let (held_back, told): (Vec<_>, Vec<_>) =
            problems.into_iter().partition(|problem| self.may_cause(problem));
        (no_edition.into_iter().chain(told).collect(), held_back.len())
    }

    fn add(&mut self, path: &str) {
        self.paths.insert(path.to_owned());
        let keys = path.split('[').map(|part| part.split_once(']').map_or(part, |(_, rest)| rest));
        self.keys.insert(keys.collect());
    }

    /// Was the value at that path refused, or one that it is part of?
    fn has(&self, path: &str) -> bool {
        let ends = path.match_indices(['.', '[']).map(|(end, _)| end).chain([path.len()]);
        ends.filter_map(|end| path.get(..end)).any(|path| self.paths.contains(path))
    }

    /// May the problem only follow from what was refused?
    fn may_cause(&self, problem: &Problem) -> bool {
        let sources = MAY_FOLLOW.iter().filter(|(code, _)| *code == problem.code);
        let mut sources = sources.flat_map(|(_, sources)| *sources).peekable();
        // What is missing may be in the part that could not be read.
        let is_out_of_sight = self.is_partial && (problem.found.is_empty() || sources.peek().is_some());
        is_out_of_sight || sources.any(|source| self.keys.iter().any(|key| is_within(source, key)))
    }
}

/// Is that key the other, or below it?
fn is_within(key: &str, other: &str) -> bool {
    key.strip_prefix(other).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}
