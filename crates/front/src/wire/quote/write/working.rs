//! The working of a figure.

use evenfare_engine::trail::{From as Origin, Input, Step};

use crate::wire::backwards::Backwards;
use crate::wire::pb;

pub(super) fn step(at: &mut Backwards, step: &Step) {
    at.text(12, &step.result);
    at.word(11, pb::Rounding::from(step.rounding));
    at.some_text(10, step.exact.as_deref());
    at.messages(3, &step.inputs, input);
    at.text(2, step.rule.code());
    at.text(1, &step.figure);
}

fn input(at: &mut Backwards, input: &Input) {
    // One of them is said, also where it is empty.
    let (field, origin) = match &input.from {
        Origin::Figure(figure) => (10, figure),
        Origin::Tariff(place) => (11, place),
        Origin::Job(place) => (12, place),
    };
    at.some_text(field, Some(origin));
    at.text(2, &input.shown);
    at.text(1, &input.name);
}
