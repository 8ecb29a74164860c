//! The working of a figure.

use evenfare_engine::trail::{From as Origin, Input, Step};

use crate::wire::message::Message;
use crate::wire::mistakes::Objection;
use crate::wire::pb;

pub(super) fn step(mut at: Message<'_>, wire: &pb::WorkingStep) -> Option<Step> {
    let figure = at.line("figure", &wire.figure);
    let rule = at.needed("rule", &wire.rule);
    let inputs = at.list("inputs", &wire.inputs, input);
    let exact = at.line_if_said("exact", wire.exact.as_deref());
    let rounding = at.said("rounding", wire.rounding, pb::Rounding::said, "the number of a rounding, 1 to 4");
    let result = at.line("result", &wire.result);
    Some(Step {
        figure: figure?,
        rule: rule?,
        inputs: inputs?,
        exact: exact?,
        rounding: rounding?,
        result: result?,
    })
}

fn input(mut at: Message<'_>, wire: &pb::WorkingInput) -> Option<Input> {
    use pb::working_input::Origin as Wire;
    let name = at.line("name", &wire.name);
    let shown = at.line("shown", &wire.shown);
    let from = match &wire.origin {
        Some(Wire::Figure(figure)) => at.line("figure", figure).map(Origin::Figure),
        Some(Wire::Tariff(place)) => at.line("tariff", place).map(Origin::Tariff),
        Some(Wire::Job(place)) => at.line("job", place).map(Origin::Job),
        None => at.refuse(Objection::missing("where it comes from: a figure, the tariff or the job")),
    };
    Some(Input { name: name?.into(), shown: shown?, from: from? })
}
