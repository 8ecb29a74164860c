//! What is done to a unit, why, and the warranty it leaves with.

use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::terms::{OpenCover, Warranty};
use evenfare_engine::view::UnitView;

use crate::wire::pb;

pub(super) fn unit(view: UnitView) -> pb::OfferedUnit {
    pb::OfferedUnit {
        id: view.id.into(),
        family: view.family.into(),
        family_text: view.family_text.into(),
        serial: view.serial.into(),
        task: pb::Task::from(view.task).into(),
        findings: view.findings.into_iter().map(finding).collect(),
        plan: view.plan.into_iter().map(step).collect(),
        warranty: view.warranty.map(warranty),
        open_cover: view.open_cover.map(open_cover),
    }
}

fn finding(finding: OfferedFinding) -> pb::OfferedFinding {
    pb::OfferedFinding {
        code: finding.code.into(),
        text: finding.text.into(),
        position: finding.position.map(String::from),
        times: finding.times,
        covered: finding.covered,
    }
}

fn step(step: PlanStep) -> pb::PlanStep {
    pb::PlanStep {
        category: pb::Category::from(step.category).into(),
        code: step.code.into(),
        text: step.text.into(),
        quantity: step.quantity,
        position: step.position,
        why: step.why.to_string(),
    }
}

pub(super) fn warranty(warranty: Warranty) -> pb::Warranty {
    pb::Warranty {
        from: Some(warranty.from.into()),
        until: Some(warranty.until.into()),
        cycles: warranty.cycles,
        excludes: warranty.excludes.into_iter().map(String::from).collect(),
    }
}

fn open_cover(cover: OpenCover) -> pb::OpenCover {
    pb::OpenCover {
        quote: cover.quote.into(),
        until: Some(cover.until.into()),
        cycles_left: cover.cycles_left,
    }
}
