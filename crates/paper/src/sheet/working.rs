//! The working of every figure, rule by rule: what went in, and how it was rounded.

use evenfare_engine::trail::{From as Origin, Input, Rounding, Step};

use super::pen::Pen;
use super::{Block, Followed, Tone, Worked};
use crate::figures::NO_BREAK;

/// The working of the job itself: alternatives are worked out by the same rules, and would fill as many
/// pages again.
pub(super) fn working(pen: &Pen<'_>, into: &mut Vec<Block>) {
    let steps = pen.given.view.main.working.as_slice();
    if steps.is_empty() {
        return;
    }
    into.push(pen.heading("working"));
    if !pen.given.view.alternatives.is_empty() {
        into.push(Block::Text { text: pen.say("working-of-others"), tone: Tone::Quiet });
    }
    // A rule is told once, with what is the same for all its figures, however the steps of others lie between.
    let mut rules: Vec<Vec<&Step>> = Vec::new();
    for step in steps {
        match rules.iter_mut().find(|rule| rule.first().is_some_and(|first| is_told_with(first, step))) {
            Some(rule) => rule.push(step),
            None => rules.push(vec![step]),
        }
    }
    into.push(Block::Working { rules: rules.iter().map(|steps| followed(pen, steps)).collect() });
}

/// Figures of one kind, by one rule, rounded in the same way.
fn is_told_with(a: &Step, b: &Step) -> bool {
    a.rule == b.rule && a.rounding == b.rounding && kind(&a.figure) == kind(&b.figure)
}

/// `sale.2.line` of `sale.2.line.U1/part/CAP-470`.
fn kind(figure: &str) -> &str {
    let of = figure.split('/').next().unwrap_or(figure);
    of.rsplit_once('.').map_or(of, |(kind, _)| kind)
}

fn followed(pen: &Pen<'_>, steps: &[&Step]) -> Followed {
    // What went into one figure alone stands there.
    let is_of_all = |input: &&Input| steps.len() > 1 && steps.iter().all(|step| step.inputs.contains(input));
    let rounding = steps.first().and_then(|step| match step.rounding {
        Rounding::None => None,
        Rounding::HalfUp => Some(pen.say("rounding-half-up")),
        Rounding::LargestRemainder => Some(pen.say("rounding-largest-remainder")),
        Rounding::Ending => Some(pen.say("rounding-ending")),
    });
    let rule = steps.first().map(|step| step.rule.text().to_owned());
    let of_all = steps.first().into_iter().flat_map(|step| &step.inputs).filter(is_of_all).map(told);
    let worked = |step: &&Step| Worked {
        figure: step.figure.clone(),
        result: result(step),
        inputs: joined(step.inputs.iter().filter(|input| !is_of_all(input)).map(told)),
    };
    Followed {
        rule: joined(rule.into_iter().chain(of_all).chain(rounding)),
        figures: steps.iter().map(worked).collect(),
    }
}

fn told(input: &Input) -> String {
    let (Origin::Figure(from) | Origin::Tariff(from) | Origin::Job(from)) = &input.from;
    // A number stays with its unit.
    let shown = match input.shown.matches(' ').count() {
        1 => input.shown.replace(' ', NO_BREAK),
        _ => input.shown.to_string(),
    };
    [&*input.name, " ", &shown, " (", from, ")"].concat()
}

fn joined(parts: impl Iterator<Item = String>) -> String {
    parts.collect::<Vec<_>>().join("; ")
}

/// The figure; before it the exact value, where that is another.
fn result(step: &Step) -> String {
    let written = |figure: &str| figure.replace(' ', NO_BREAK);
    match &step.exact {
        Some(exact) if !is_written_as(exact, &step.result) => {
            [&written(exact), " → ", &written(&step.result)].concat()
        }
        _ => written(&step.result),
    }
}

/// `45 EUR` and `45.00 EUR` are the same.
fn is_written_as(exact: &str, result: &str) -> bool {
    let bare = |figure: &str| {
        let number = figure.split(' ').next().unwrap_or(figure);
        if number.contains('.') {
            number.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            number.to_owned()
        }
    };
    bare(exact) == bare(result)
}
