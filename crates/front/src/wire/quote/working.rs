//! The working of a figure.

use evenfare_engine::trail::{From as Origin, Input, Step};

use crate::wire::pb;

pub(super) fn step(step: &Step) -> pb::WorkingStep {
    pb::WorkingStep {
        figure: step.figure.clone(),
        rule: step.rule.code().to_owned(),
        inputs: step.inputs.iter().map(input).collect(),
        exact: step.exact.clone(),
        rounding: pb::Rounding::from(step.rounding).into(),
        result: step.result.clone(),
    }
}

fn input(input: &Input) -> pb::WorkingInput {
    use pb::working_input::Origin as Wire;
    let origin = match &input.from {
        Origin::Figure(figure) => Wire::Figure(figure.clone()),
        Origin::Tariff(place) => Wire::Tariff(place.clone()),
        Origin::Job(place) => Wire::Job(place.clone()),
    };
    pb::WorkingInput { name: input.name.to_owned(), shown: input.shown.clone(), origin: Some(origin) }
}
