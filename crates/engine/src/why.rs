//! Why a step of the plan is there, in words and as inputs of its figure.

use crate::order::UnitOrder;
use crate::plan::{Known, Plan, Reason};
use crate::tariff::entries::{Due, Grade};
use crate::text::Code;
use crate::trail::{Step, thousandths};

/// All who asked for a step, in words.
pub(crate) fn why<'a>(reasons: impl Iterator<Item = Reason<'a>>) -> String {
    let mut texts: Vec<String> = reasons
        .map(|reason| match reason {
            Reason::Finding(found) => match found.position {
                Some(position) => format!("finding {} at {position}", found.finding.code),
                None => format!("finding {}", found.finding.code),
            },
            Reason::Refresh(_, due, known) => format!("refresh, {}", when(due, known)),
            Reason::Family => "test of the family".to_owned(),
        })
        .collect();
    texts.sort();
    texts.dedup();
    texts.join("; ")
}

/// A figure of the plan, and one of those who asked for it: how much, and in which row.
pub(crate) fn asked(
    step: Step,
    unit: &UnitOrder<'_>,
    code: &Code,
    shown: String,
    reason: Reason<'_>,
) -> Step {
    match reason {
        Reason::Finding(found) => {
            let position = found.position.map_or_else(String::new, |position| format!(" at {position}"));
            let place = format!("units[{}].findings {}{position}", unit.index, found.finding.code);
            step.job("finding", shown, place)
        }
        Reason::Refresh(list, due, known) => step.tariff(
            "refresh list",
            format_args!("{shown}, {}", when(due, known)),
            format_args!("refresh.csv {list} {code}"),
        ),
        Reason::Family => step.tariff("family", shown, format_args!("families.csv {}", unit.family.code)),
    }
}

/// When a row of the refresh list applies, in words.
fn when(due: &Due, known: Known) -> String {
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

/// The minutes of one grade: operations asked for, and the fitting of planned parts.
pub(crate) fn labour_asked(step: Step, plan: &Plan<'_>, grade: &Grade, unit: &UnitOrder<'_>) -> Step {
    let of_grade = plan.operations.iter().filter(|asked| asked.operation.grade.rank == grade.rank);
    let step = of_grade.fold(step, |step, wanted| {
        let operation = wanted.operation;
        let times = thousandths(wanted.times);
        let once = if operation.once { ", once for the unit" } else { "" };
        let shown = format!("{} {times} x {} min{once}", operation.code, operation.minutes);
        asked(step, unit, &operation.code, shown, wanted.reason)
    });
    let fitted = plan.parts.iter().filter_map(|planned| Some((planned, planned.part.fitting.as_ref()?)));
    fitted.filter(|(_, (_, fitter))| fitter.rank == grade.rank).fold(step, |step, (planned, (each, _))| {
        let shown = format!("{} x {each} min", planned.quantity);
        step.figure("fitting", shown, format_args!("plan.{}/part/{}", unit.unit.id, planned.part.code))
    })
}
