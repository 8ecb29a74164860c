//! Cost lines: what the work costs the workshop, one rounding a line.

mod work;
mod lines;

use compact_str::CompactString;

use crate::category::PartUnit;
use crate::courier::Consignment;
use crate::line::LineId;
use crate::money::{Cost, Overflow, Quantity};
use crate::order::{Order, UnitOrder};
use crate::plan::{Plan, charged_plan, plan};
use crate::trail::{Trail, thousandths};

use lines::Lines;

/// How much of something a line is for.
#[derive(Clone, Copy)]
pub(crate) enum Measure {
    Pieces(Quantity, PartUnit),
    /// In thousandths of a minute.
    Minutes(i64),
    BenchHours(Quantity),
    Once,
}

impl Measure {
    /// As people read it, with the unit; nothing where it is one of its kind.
    pub(crate) fn text(self) -> CompactString {
        let (milli, unit) = match self {
            Self::Pieces(quantity, unit) => (quantity.scaled(), unit.word()),
            Self::Minutes(milli) => (milli, "min"),
            Self::BenchHours(hours) => (hours.scaled(), "h"),
            Self::Once => return CompactString::default(),
        };
        thousandths(milli).of(unit).spelt(|text| text.into())
    }
}

/// How a cost line enters the end price.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sold {
    /// Charged for.
    Charged,
    /// Shown, and free: the open warranty covers it.
    Free,
    /// Not charged for and not shown.
    Never,
}

/// One cost line, in the tariff's currency.
pub(crate) struct CostLine<'a> {
    pub(crate) id: LineId<'a>,
    pub(crate) measure: Measure,
    /// What the workshop spends.
    pub(crate) cost: Cost,
    /// What of it the end price has to carry: all, or what the open warranty does not cover.
    pub(crate) carried: Cost,
    pub(crate) sold: Sold,
}

/// The cost lines of one unit.
pub(crate) struct UnitCost<'o, 'a> {
    pub(crate) order: &'o UnitOrder<'a>,
    pub(crate) plan: Plan<'a>,
    /// Is anything about this unit charged for?
    pub(crate) charged: bool,
    pub(crate) lines: Vec<CostLine<'a>>,
}

pub(crate) fn unit_cost<'o, 'a>(
    order: &'o Order<'a>,
    unit: &'o UnitOrder<'a>,
    consignment: &Consignment,
    trail: &mut impl Trail,
) -> Result<UnitCost<'o, 'a>, Overflow> {
    let received = order.job.received;
    let whole = plan(unit, received)?;
    let rest = if unit.under_warranty() { Some(charged_plan(unit, received)?) } else { None };
    let charged = rest.as_ref().is_none_or(Option::is_some);
    let mut lines = Lines::new(order, unit, charged, whole.parts.len(), trail);
    // For every line of the whole plan, the same line of the plan that is charged for.
    let rest = rest.map(Option::unwrap_or_default);
    let rest = rest.as_ref();
    for part in &whole.parts {
        lines.planned(part, rest.map(|rest| rest.parts.as_slice()), &whole)?;
    }
    for labour in &whole.labour {
        lines.planned(labour, rest.map(|rest| rest.labour.as_slice()), &whole)?;
    }
    for test in &whole.tests {
        lines.planned(test, rest.map(|rest| rest.tests.as_slice()), &whole)?;
    }
    lines.task()?;
    lines.courier(consignment)?;
    Ok(UnitCost { order: unit, charged, lines: lines.finished(), plan: whole })
}
