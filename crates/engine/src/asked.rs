//! Who asked for a step of the plan: why it is there, and as inputs of its figure.

use std::fmt;

use crate::order::UnitOrder;
use crate::plan::{Plan, Reason};
use crate::role::Role;
use crate::shown::Shown;
use crate::tariff::entries::{Due, Grade};
use crate::text::Code;
use crate::trail::{Step, thousandths};
use crate::why::{Because, When, Why};

/// All who asked for a step.
pub(crate) fn why<'a>(reasons: impl Iterator<Item = Reason<'a>>) -> Why {
    Why::new(reasons.map(because).collect())
}

fn because(reason: Reason<'_>) -> Because {
    match reason {
        Reason::Finding(found) => {
            Because::Finding { code: found.finding.code.clone(), position: found.position.cloned() }
        }
        Reason::Refresh(_, due, is_known) => Because::Refresh { when: when(due), is_known },
        Reason::Family => Because::Family,
    }
}

/// When a row of the refresh list applies.
fn when(due: &Due) -> When {
    match due {
        Due::Always => When::Always,
        Due::Cycles(from) => When::Cycles(*from),
        Due::Years(from) => When::Years(*from),
        Due::Wear(wear, share) => When::Wear { share: *share, wear: wear.code.clone() },
    }
}

/// A figure of the plan, and one of those who asked for it: how much, and in which row.
pub(crate) fn asked(
    step: Step,
    unit: &UnitOrder<'_>,
    code: &Code,
    shown: impl fmt::Display,
    reason: Reason<'_>,
) -> Step {
    match reason {
        Reason::Finding(found) => {
            let (at, position) = found.position.map_or(("", ""), |position| (" at ", position.as_str()));
            let (unit, code) = (unit.index, &found.finding.code);
            step.job(Role::Finding, shown, format_args!("units[{unit}].findings {code}{at}{position}"))
        }
        Reason::Refresh(list, due, is_known) => step.tariff(
            Role::RefreshList,
            Shown::Due { amount: shown, when: when(due), is_known },
            format_args!("refresh.csv {list} {code}"),
        ),
        Reason::Family => step.tariff(Role::Family, shown, format_args!("families.csv {}", unit.family.code)),
    }
}

/// The minutes of one grade: operations asked for, and the fitting of planned parts.
pub(crate) fn labour_asked(step: Step, plan: &Plan<'_>, grade: &Grade, unit: &UnitOrder<'_>) -> Step {
    let of_grade = plan.operations.iter().filter(|asked| asked.operation.grade.rank == grade.rank);
    let step = of_grade.fold(step, |step, wanted| {
        let operation = wanted.operation;
        let times = thousandths(wanted.times);
        let amount = format_args!("{} {times} x {} min", operation.code, operation.minutes);
        let shown = if operation.once { Shown::Once(amount) } else { Shown::Plain(amount) };
        asked(step, unit, &operation.code, shown, wanted.reason)
    });
    let fitted = plan.parts.iter().filter_map(|planned| Some((planned, planned.part.fitting.as_ref()?)));
    fitted.filter(|(_, (_, fitter))| fitter.rank == grade.rank).fold(step, |step, (planned, (each, _))| {
        let shown = format_args!("{} x {each} min", planned.quantity);
        step.figure(Role::Fitting, shown, format_args!("plan.{}/part/{}", unit.unit.id, planned.part.code))
    })
}
