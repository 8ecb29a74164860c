//! The working of a figure.

use evenfare_engine::trail::{From as Origin, Input, Step};

use crate::wire::pb;

pub(super) fn step(step: Step) -> pb::WorkingStep {
    pb::WorkingStep {
        figure: step.figure,
        rule: step.rule.code().to_owned(),
        inputs: step.inputs.into_iter().map(input).collect(),
        exact: step.exact,
        rounding: pb::Rounding::from(step.rounding).into(),
        result: step.result,
    }
}

fn input(input: Input) -> pb::WorkingInput {
    use pb::working_input::Origin as Wire;
    let origin = match input.from {
        Origin::Figure(figure) => Wire::Figure(figure),
        Origin::Tariff(place) => Wire::Tariff(place),
        Origin::Job(place) => Wire::Job(place),
    };
    pb::WorkingInput { name: input.name.into_owned(), shown: input.shown, origin: Some(origin) }
}
