//! What is done to a unit, and the warranty it leaves with.

use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::terms::{OpenCover, Warranty};
use evenfare_engine::view::UnitView;

use super::day;
use crate::wire::backwards::Backwards;
use crate::wire::pb;

pub(super) fn unit(at: &mut Backwards, view: &UnitView) {
    at.some_message(21, view.open_cover.as_ref(), open_cover);
    at.some_message(20, view.warranty.as_ref(), warranty);
    at.messages(12, &view.plan, step);
    at.messages(11, &view.findings, finding);
    at.word(10, pb::Task::from(view.task));
    at.text(4, view.serial.as_str());
    at.text(3, view.family_text.as_str());
    at.text(2, view.family.as_str());
    at.text(1, view.id.as_str());
}

fn finding(at: &mut Backwards, finding: &OfferedFinding) {
    at.number(5, finding.covered);
    at.number(4, finding.times);
    at.some_text(3, finding.position.as_ref().map(AsRef::as_ref));
    at.text(2, finding.text.as_str());
    at.text(1, finding.code.as_str());
}

fn step(at: &mut Backwards, step: &PlanStep) {
    at.text(6, &step.why.to_string());
    at.some_text(5, step.position.as_deref());
    at.text(4, &step.quantity);
    at.text(3, step.text.as_str());
    at.text(2, step.code.as_str());
    at.word(1, pb::Category::from(step.category));
}

pub(super) fn warranty(at: &mut Backwards, warranty: &Warranty) {
    for excluded in warranty.excludes.iter().rev() {
        // An entry of a list is there though it is empty.
        at.some_text(4, Some(excluded.as_str()));
    }
    at.some_number(3, warranty.cycles);
    day(at, 2, warranty.until);
    day(at, 1, warranty.from);
}

fn open_cover(at: &mut Backwards, cover: &OpenCover) {
    at.some_number(3, cover.cycles_left);
    day(at, 2, cover.until);
    at.text(1, cover.quote.as_str());
}
