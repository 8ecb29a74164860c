//! The working of every figure, rule by rule: what went in, and how it was rounded.

use evenfare_engine::trail::{Input, Step};

use super::input::{amount, told};
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
    let first = steps.first();
    let rule = first.map(|step| pen.words.rule(step.rule));
    let rounding = first.and_then(|step| pen.words.rounding(step.rounding));
    let told = |input: &Input| told(&pen.phrases, input);
    let of_all = first.into_iter().flat_map(|step| &step.inputs).filter(is_of_all).map(told);
    let worked = |step: &&Step| Worked {
        figure: step.figure.to_string(),
        result: result(pen, step),
        inputs: pen.words.joined(step.inputs.iter().filter(|input| !is_of_all(input)).map(told)),
    };
    Followed {
        rule: pen.words.joined(rule.into_iter().chain(of_all).chain(rounding)),
        figures: steps.iter().map(worked).collect(),
    }
}

/// The figure; before it the exact value, where that is another.
fn result(pen: &Pen<'_>, step: &Step) -> String {
    let written = |figure: &str| amount(pen.words, figure).replace(' ', NO_BREAK);
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
