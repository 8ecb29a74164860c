//! What is done to a unit, why, and the warranty it leaves with.

use evenfare_engine::quote::{OfferedFinding, PlanStep};
use evenfare_engine::terms::{OpenCover, Warranty};
use evenfare_engine::text::{Code, Text};
use evenfare_engine::view::UnitView;

use crate::wire::pb;

pub(super) fn unit(view: &UnitView) -> pb::OfferedUnit {
    pb::OfferedUnit {
        id: view.id.to_string(),
        family: view.family.to_string(),
        family_text: view.family_text.to_string(),
        serial: view.serial.to_string(),
        task: pb::Task::from(view.task).into(),
        findings: view.findings.iter().map(finding).collect(),
        plan: view.plan.iter().map(step).collect(),
        warranty: view.warranty.as_ref().map(warranty),
        open_cover: view.open_cover.as_ref().map(open_cover),
    }
}

fn finding(finding: &OfferedFinding) -> pb::OfferedFinding {
    pb::OfferedFinding {
        code: finding.code.to_string(),
        text: finding.text.to_string(),
        position: finding.position.as_ref().map(Code::to_string),
        times: finding.times,
        covered: finding.covered,
    }
}

fn step(step: &PlanStep) -> pb::PlanStep {
    pb::PlanStep {
        category: pb::Category::from(step.category).into(),
        code: step.code.to_string(),
        text: step.text.to_string(),
        quantity: step.quantity.clone(),
        position: step.position.clone(),
        why: step.why.clone(),
    }
}

pub(super) fn warranty(warranty: &Warranty) -> pb::Warranty {
    pb::Warranty {
        from: Some(warranty.from.into()),
        until: Some(warranty.until.into()),
        cycles: warranty.cycles,
        excludes: warranty.excludes.iter().map(Text::to_string).collect(),
    }
}

fn open_cover(cover: &OpenCover) -> pb::OpenCover {
    pb::OpenCover {
        quote: cover.quote.to_string(),
        until: Some(cover.until.into()),
        cycles_left: cover.cycles_left,
    }
}
