//! What is done to a unit, why, and the warranty it leaves with.

use evenfare_engine::quote::{OfferedFinding, OfferedUnit, PlanStep};
use evenfare_engine::terms::{OpenCover, Warranty};

use crate::wire::message::Message;
use crate::wire::pb;

pub(super) fn unit(mut at: Message<'_>, wire: &pb::OfferedUnit) -> Option<OfferedUnit> {
    let id = at.needed("id", &wire.id);
    let family = at.needed("family", &wire.family);
    let family_text = at.needed("family_text", &wire.family_text);
    let serial = at.needed("serial", &wire.serial);
    let task = at.said("task", wire.task, pb::Task::said, "1 refresh, 2 exchange or 3 decline");
    let findings = at.list("findings", &wire.findings, finding);
    let plan = at.list("plan", &wire.plan, step);
    let warranty = at.message_if_said("warranty", wire.warranty.as_ref(), warranty);
    let open_cover = at.message_if_said("open_cover", wire.open_cover.as_ref(), open_cover);
    Some(OfferedUnit {
        id: id?,
        family: family?,
        family_text: family_text?,
        serial: serial?,
        task: task?,
        findings: findings?,
        plan: plan?,
        warranty: warranty?,
        open_cover: open_cover?,
    })
}

fn finding(mut at: Message<'_>, wire: &pb::OfferedFinding) -> Option<OfferedFinding> {
    let code = at.needed("code", &wire.code);
    let text = at.needed("text", &wire.text);
    let position = at.if_said("position", wire.position.as_deref());
    Some(OfferedFinding {
        code: code?,
        text: text?,
        position: position?,
        times: wire.times,
        covered: wire.covered,
    })
}

fn step(mut at: Message<'_>, wire: &pb::PlanStep) -> Option<PlanStep> {
    let expected = "1 part, 2 labour or 3 test";
    let category = at.said("category", wire.category, pb::Category::said, expected);
    let code = at.needed("code", &wire.code);
    let text = at.needed("text", &wire.text);
    let quantity = at.line("quantity", &wire.quantity);
    let position = at.line_if_said("position", wire.position.as_deref());
    let why = at.needed("why", &wire.why);
    Some(PlanStep {
        category: category?,
        code: code?,
        text: text?,
        quantity: quantity?,
        position: position?,
        why: why?,
    })
}

fn warranty(mut at: Message<'_>, wire: &pb::Warranty) -> Option<Warranty> {
    let from = at.day("from", wire.from.as_ref());
    let until = at.day("until", wire.until.as_ref());
    let excludes = at.list("excludes", &wire.excludes, |mut at, text| at.entry(text));
    Some(Warranty { from: from?, until: until?, cycles: wire.cycles, excludes: excludes? })
}

fn open_cover(mut at: Message<'_>, wire: &pb::OpenCover) -> Option<OpenCover> {
    let quote = at.needed("quote", &wire.quote);
    let until = at.day("until", wire.until.as_ref());
    Some(OpenCover { quote: quote?, until: until?, cycles_left: wire.cycles_left })
}
