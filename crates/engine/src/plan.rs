//! The work plan: what is done to a unit, and why.
//!
//! Every finding asks for parts, operations and tests; so does the family's refresh list. What
//! is asked for at one board position is replaced once, whoever asked for it.

use crate::job::Task;
use crate::life::has_used;
use crate::money::{Overflow, Quantity};
use crate::order::{Found, UnitOrder};
use crate::period::years_have_passed;
use crate::tariff::Cover;
use crate::tariff::entries::{Due, Grade, Operation, Part, Step, Test};
use crate::text::Code;

/// Who asked for a step.
#[derive(Clone, Copy)]
pub(crate) enum Reason<'a> {
    /// A finding.
    Finding(Found<'a>),
    /// A row of the refresh list of that name, and whether the figure was known that it goes by; else it counts as due.
    Refresh(&'a Code, &'a Due, bool),
    /// The family's own test programme.
    Family,
}

/// A part asked for, somewhere.
#[derive(Clone, Copy)]
pub(crate) struct Wanted<'a> {
    pub(crate) part: &'a Part,
    pub(crate) position: Option<&'a str>,
    pub(crate) quantity: i64,
    pub(crate) reason: Reason<'a>,
}

pub(crate) struct PlannedPart<'a> {
    pub(crate) part: &'a Part,
    pub(crate) quantity: Quantity,
}

pub(crate) struct PlannedLabour<'a> {
    pub(crate) grade: &'a Grade,
    /// Thousandths of a minute.
    pub(crate) milli_minutes: i64,
}

/// A test programme asked for, that long.
#[derive(Clone, Copy)]
pub(crate) struct WantedTest<'a> {
    pub(crate) test: &'a Test,
    pub(crate) bench_hours: Quantity,
    pub(crate) reason: Reason<'a>,
}

pub(crate) struct PlannedTest<'a> {
    pub(crate) test: &'a Test,
    pub(crate) bench_hours: Quantity,
}

/// An operation asked for, this many thousandths of a time.
#[derive(Clone, Copy)]
pub(crate) struct PlannedOperation<'a> {
    pub(crate) operation: &'a Operation,
    pub(crate) times: i64,
    pub(crate) reason: Reason<'a>,
}

/// What is done to one unit. Each list stands in the order of codes.
#[derive(Default)]
pub(crate) struct Plan<'a> {
    pub(crate) wanted: Vec<Wanted<'a>>,
    pub(crate) operations: Vec<PlannedOperation<'a>>,
    pub(crate) wanted_tests: Vec<WantedTest<'a>>,
    pub(crate) parts: Vec<PlannedPart<'a>>,
    pub(crate) labour: Vec<PlannedLabour<'a>>,
    pub(crate) tests: Vec<PlannedTest<'a>>,
    /// A part counts as due because the unit's age or wear could not be read.
    pub(crate) wear_unknown: bool,
}

/// Plans the work on a unit: all of it.
pub(crate) fn plan<'a>(order: &UnitOrder<'a>, received: chrono::NaiveDate) -> Result<Plan<'a>, Overflow> {
    planned(order, received, false)
}

/// Plans only what the open warranty does not cover; `None` where nothing is left.
pub(crate) fn charged_plan<'a>(
    order: &UnitOrder<'a>,
    received: chrono::NaiveDate,
) -> Result<Option<Plan<'a>>, Overflow> {
    if order.findings.iter().all(is_covered) {
        return Ok(None);
    }
    planned(order, received, true).map(Some)
}

pub(crate) fn is_covered(found: &Found<'_>) -> bool {
    found.finding.warranty == Cover::Covered
}

fn planned<'a>(
    order: &UnitOrder<'a>,
    received: chrono::NaiveDate,
    uncovered_only: bool,
) -> Result<Plan<'a>, Overflow> {
    let mut plan = Plan::default();
    if order.task != Task::Refresh {
        return Ok(plan);
    }
    let of_findings = order.findings.iter().map(|found| found.finding.steps.len());
    let of_refresh = order.family.refresh.as_ref().map_or(0, |list| list.steps.len());
    plan.wanted.reserve(of_findings.sum::<usize>().saturating_add(of_refresh));
    let test = &order.family.test;
    plan.wanted_tests.push(WantedTest { test, bench_hours: test.bench_hours, reason: Reason::Family });
    for found in &order.findings {
        if uncovered_only && is_covered(found) {
            continue;
        }
        for step in &found.finding.steps {
            plan.add(step, i64::from(found.times), found.position, Reason::Finding(*found))?;
        }
    }
    // A unit under warranty was refreshed by the job it comes back from.
    if !order.under_warranty() {
        plan.refresh(order, received)?;
    }
    plan.merge()?;
    Ok(plan)
}

impl<'a> Plan<'a> {
    /// A step this many times, at its own place or else at that one.
    fn add(
        &mut self,
        step: &'a Step,
        times: i64,
        at: Option<&'a Code>,
        reason: Reason<'a>,
    ) -> Result<(), Overflow> {
        match step {
            Step::Part { part, quantity, position } => self.wanted.push(Wanted {
                part,
                position: position.as_ref().or(at).map(|code| code.as_str()),
                quantity: quantity.scaled().checked_mul(times).ok_or(Overflow)?,
                reason,
            }),
            Step::Operation { operation, times: each } => self.operations.push(PlannedOperation {
                operation,
                times: each.scaled().checked_mul(times).ok_or(Overflow)?,
                reason,
            }),
            Step::Test { test, bench_hours } => {
                self.wanted_tests.push(WantedTest { test, bench_hours: *bench_hours, reason });
            }
        }
        Ok(())
    }

    fn refresh(&mut self, order: &UnitOrder<'a>, received: chrono::NaiveDate) -> Result<(), Overflow> {
        let Some(list) = &order.family.refresh else { return Ok(()) };
        for row in &list.steps {
            let unit = order.unit;
            let due = match &row.due {
                Due::Always => Some(true),
                Due::Cycles(from) => unit.cycles.map(|cycles| cycles >= *from),
                Due::Years(from) => unit.built.map(|built| years_have_passed(built, *from, received)),
                Due::Wear(wear, share) => has_used(wear, order.hours, unit.cycles, *share),
            };
            // Wear that cannot be read is taken for worn: the unit leaves with a new one's warranty.
            self.wear_unknown |= due.is_none();
            if due != Some(false) {
                self.add(&row.step, 1, None, Reason::Refresh(&list.code, &row.due, due.is_some()))?;
            }
        }
        Ok(())
    }

    fn merge(&mut self) -> Result<(), Overflow> {
        self.merge_tests();
        self.wanted.sort_by(|a, b| (a.part.rank, a.position).cmp(&(b.part.rank, b.position)));
        self.operations.sort_by_key(|planned| planned.operation.rank);
        self.merge_parts()?;
        self.merge_operations()
    }

    /// A programme counts once, at its longest.
    fn merge_tests(&mut self) {
        self.wanted_tests.sort_by_key(|wanted| wanted.test.rank);
        for of_test in self.wanted_tests.chunk_by(|a, b| a.test.rank == b.test.rank) {
            let Some(longest) = of_test.iter().max_by_key(|wanted| wanted.bench_hours) else { continue };
            self.tests.push(PlannedTest { test: longest.test, bench_hours: longest.bench_hours });
        }
    }

    /// The pieces at named positions, each position once; or the largest number that was asked for
    /// without a position, if that is more: those may be the same pieces.
    fn merge_parts(&mut self) -> Result<(), Overflow> {
        self.parts.reserve(self.wanted.len());
        for of_part in self.wanted.chunk_by(|a, b| a.part.rank == b.part.rank) {
            let mut placed = 0_i64;
            let mut unplaced = 0_i64;
            for at_position in of_part.chunk_by(|a, b| a.position == b.position) {
                let most = at_position.iter().map(|wanted| wanted.quantity).max().unwrap_or(0);
                match at_position.first().and_then(|wanted| wanted.position) {
                    Some(_) => placed = placed.checked_add(most).ok_or(Overflow)?,
                    None => unplaced = most,
                }
            }
            let Some(first) = of_part.first() else { continue };
            let quantity = Quantity::from_scaled(placed.max(unplaced)).map_err(|_| Overflow)?;
            self.parts.push(PlannedPart { part: first.part, quantity });
            if let Some((minutes, grade)) = &first.part.fitting {
                let milli = i64::from(*minutes).checked_mul(quantity.scaled()).ok_or(Overflow)?;
                add_labour(&mut self.labour, grade, milli)?;
            }
        }
        Ok(())
    }

    fn merge_operations(&mut self) -> Result<(), Overflow> {
        for of_operation in self.operations.chunk_by(|a, b| a.operation.rank == b.operation.rank) {
            let Some(first) = of_operation.first() else { continue };
            let operation = first.operation;
            let times = if operation.once {
                1_000
            } else {
                of_operation.iter().try_fold(0_i64, |sum, o| sum.checked_add(o.times)).ok_or(Overflow)?
            };
            let milli = i64::from(operation.minutes).checked_mul(times).ok_or(Overflow)?;
            add_labour(&mut self.labour, &operation.grade, milli)?;
        }
        self.labour.sort_by_key(|planned| planned.grade.rank);
        Ok(())
    }
}

fn add_labour<'a>(
    labour: &mut Vec<PlannedLabour<'a>>,
    grade: &'a Grade,
    milli_minutes: i64,
) -> Result<(), Overflow> {
    match labour.iter_mut().find(|planned| planned.grade.rank == grade.rank) {
        Some(planned) => {
            planned.milli_minutes = planned.milli_minutes.checked_add(milli_minutes).ok_or(Overflow)?;
        }
        None => labour.push(PlannedLabour { grade, milli_minutes }),
    }
    Ok(())
}
