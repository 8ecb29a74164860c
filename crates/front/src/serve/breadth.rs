//! How much a job asks for.

use evenfare_engine::job::Job;

use crate::wire::job::job as read;
use crate::wire::message::Message;
use crate::wire::mistakes::Objection;
use crate::wire::pb;

/// A call may ask for so much. With its working a unit is some 30 to 70 KB of an answer.
const MOST: usize = 1_000;

/// Units and their findings, counted once for the job itself and once for each alternative, and what that changes.
pub(super) fn breadth(job: &pb::Job) -> usize {
    let of_units = job.units.iter().map(|unit| unit.findings.len().saturating_add(1));
    let once = of_units.fold(0, usize::saturating_add);
    let changes = job.alternatives.iter().flat_map(|alternative| &alternative.changes);
    let on_top = changes.map(|change| change.findings.len().saturating_add(1)).fold(0, usize::saturating_add);
    once.saturating_mul(offers(job)).saturating_add(on_top)
}

fn offers(job: &pb::Job) -> usize {
    job.alternatives.len().saturating_add(1)
}

/// A job that does not ask for too much.
pub(super) fn job(mut at: Message<'_>, wire: &pb::Job) -> Option<Job> {
    let breadth = breadth(wire);
    if breadth > MOST {
        let found = format!("{breadth}, in {} offer(s)", offers(wire));
        let expected = format!(
            "at most {MOST} units and findings, counted for the job itself and for each alternative: make \
             several jobs of it"
        );
        // What else is wrong with it would take long to find as well.
        return at.refuse(Objection::new("too_broad", found, expected));
    }
    read(at, wire)
}
