//! Why a step of the plan is there, in words and as inputs of its figure.

use crate::order::UnitOrder;
use crate::plan::{Known, Plan, Reason};
use crate::tariff::entries::{Due, Grade};
use crate::trail::Step;

/// All who asked for a step, in words.
pub(crate) fn why<'a>(reasons: impl Iterator<Item = Reason<'a>>) -> String {
    let mut texts: Vec<String> = reasons
        .map(|reason| match reason {
            Reason::Finding(found) => match found.position {
                Some(position) => format!("finding {} at {position}", found.finding.code),
                None => format!("finding {}", found.finding.code),
            },
            Reason::Refresh(due, known) => format!("refresh, {}", why_due(due, known)),
            Reason::Family => "test of the family".to_owned(),
        })
        .collect();
    texts.sort();
    texts.dedup();
    texts.join("; ")
}

/// A plan's figure and one of those who asked for it.
pub(crate) fn asked(step: Step, quantity: i64, position: Option<&str>, reason: Reason<'_>) -> Step {
    let quantity = rust_decimal::Decimal::new(quantity, 3).normalize();
    let place = position.map_or_else(String::new, |position| format!(" at {position}"));
    let shown = format!("{quantity}{place}");
    match reason {
        Reason::Finding(found) => step.job("finding", shown, format_args!("finding {}", found.finding.code)),
        Reason::Refresh(due, known) => step.tariff("refresh list", shown, why_due(due, known)),
        Reason::Family => step.tariff("family", shown, "families.csv test"),
    }
}

/// Why a row of the refresh list applies, in words.
fn why_due(due: &Due, known: Known) -> String {
    let due = match due {
        Due::Always => "always".to_owned(),
        Due::Cycles(from) => format!("from {from} cycles"),
        Due::Years(from) => format!("from {from} years"),
        Due::Wear(wear, share) => format!("from {share} % of its life used ({})", wear.code),
    };
    match known {
        Known::Yes => due,
        Known::No => format!("{due}; not known, so taken for due"),
    }
}

pub(crate) fn labour_asked(step: Step, plan: &Plan<'_>, grade: &Grade, unit: &UnitOrder<'_>) -> Step {
    let of_grade = plan.operations.iter().filter(|asked| asked.operation.grade.rank == grade.rank);
    let step = of_grade.fold(step, |step, asked_for| {
        let operation = asked_for.operation;
        let once = if operation.once { ", once" } else { "" };
        let position = format!("{} ({} min each{once})", operation.code, operation.minutes);
        asked(step, asked_for.times, Some(position.as_str()), asked_for.reason)
    });
    let fitted = plan.parts.iter().filter_map(|planned| Some((planned, planned.part.fitting.as_ref()?)));
    fitted.filter(|(_, (_, fitter))| fitter.rank == grade.rank).fold(step, |step, (planned, (each, _))| {
        let shown = format!("{} x {each} min", planned.quantity);
        step.figure("fitting", shown, format_args!("plan.{}/part/{}", unit.unit.id, planned.part.code))
    })
}
