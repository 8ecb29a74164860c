//! Why a step of the plan is there, in words and as inputs of its figure.

use std::fmt;

use crate::order::UnitOrder;
use crate::plan::{Known, Plan, Reason};
use crate::tariff::entries::{Due, Grade};
use crate::text::{Code, written};
use crate::trail::{Step, thousandths};

/// All who asked for a step, in words.
pub(crate) fn why<'a>(reasons: impl Iterator<Item = Reason<'a>>) -> String {
    let mut texts: Vec<String> = reasons
        .map(|reason| match reason {
            Reason::Finding(found) => match found.position {
                Some(position) => {
                    ["finding ", found.finding.code.as_str(), " at ", position.as_str()].concat()
                }
                None => ["finding ", found.finding.code.as_str()].concat(),
            },
            Reason::Refresh(_, due, known) => written(format_args!("refresh, {}", When(due, known))),
            Reason::Family => "test of the family".to_owned(),
        })
        .collect();
    texts.sort_unstable();
    texts.dedup();
    match texts.as_mut_slice() {
        [only] => std::mem::take(only),
        texts => texts.join("; "),
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
            step.job("finding", shown, format_args!("units[{unit}].findings {code}{at}{position}"))
        }
        Reason::Refresh(list, due, known) => step.tariff(
            "refresh list",
            format_args!("{shown}, {}", When(due, known)),
            format_args!("refresh.csv {list} {code}"),
        ),
        Reason::Family => step.tariff("family", shown, format_args!("families.csv {}", unit.family.code)),
    }
}

/// When a row of the refresh list applies, in words.
struct When<'a>(&'a Due, Known);

impl fmt::Display for When<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Due::Always => f.write_str("always"),
            Due::Cycles(from) => write!(f, "from {from} cycles"),
            Due::Years(from) => write!(f, "from {from} years"),
            Due::Wear(wear, share) => write!(f, "from {share} % of its life used ({})", wear.code),
        }?;
        match self.1 {
            Known::Yes => Ok(()),
            Known::No => f.write_str("; not known, so taken for due"),
        }
    }
}

/// The minutes of one grade: operations asked for, and the fitting of planned parts.
pub(crate) fn labour_asked(step: Step, plan: &Plan<'_>, grade: &Grade, unit: &UnitOrder<'_>) -> Step {
    let of_grade = plan.operations.iter().filter(|asked| asked.operation.grade.rank == grade.rank);
    let step = of_grade.fold(step, |step, wanted| {
        let operation = wanted.operation;
        let times = thousandths(wanted.times);
        let once = if operation.once { ", once for the unit" } else { "" };
        let shown = format_args!("{} {times} x {} min{once}", operation.code, operation.minutes);
        asked(step, unit, &operation.code, shown, wanted.reason)
    });
    let fitted = plan.parts.iter().filter_map(|planned| Some((planned, planned.part.fitting.as_ref()?)));
    fitted.filter(|(_, (_, fitter))| fitter.rank == grade.rank).fold(step, |step, (planned, (each, _))| {
        let shown = format_args!("{} x {each} min", planned.quantity);
        step.figure("fitting", shown, format_args!("plan.{}/part/{}", unit.unit.id, planned.part.code))
    })
}
