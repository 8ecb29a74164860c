//! What the workshop spends, in the quote's currency: the cost lines without what a partner carries.

use crate::category::Work;
use crate::convert::convert;
use crate::cost::{CostLine, Sold, UnitCost};
use crate::line::Item;
use crate::money::{Amount, AmountKind, Cost, Exact, Overflow};
use crate::order::Order;
use crate::price::with_rates;
use crate::role::Role;
use crate::trail::{Rule, Step, Trail, money};

/// A cost line as this route has it.
pub(crate) struct SpentLine {
    pub(crate) cost: Cost,
    /// What of it the end price has to carry.
    carried: Cost,
    /// A partner on the route carries it; it is not the workshop's.
    pub(crate) by_partner: bool,
}

/// The cost side of an offer.
pub(crate) struct Spent {
    /// Of each cost line, in their order.
    pub(crate) lines: Vec<SpentLine>,
    /// What the workshop spends by this route.
    pub(crate) workshop: Cost,
    /// What of it the end price has to carry.
    pub(crate) carried: Cost,
    /// The same sold directly, with both legs.
    pub(crate) carried_direct: Cost,
}

/// Converts the cost lines, each once, and adds them up as this route has them. Where nothing is
/// charged for, no partner carries anything.
pub(crate) fn spent(
    order: &Order<'_>,
    units: &[UnitCost<'_, '_>],
    charged: bool,
    trail: &mut impl Trail,
) -> Result<Spent, Overflow> {
    let taken_over = |work: Work| charged && order.stops.iter().any(|stop| stop.takes_over.contains(&work));
    let (leg_in, leg_out) = (taken_over(Work::LegIn), taken_over(Work::LegOut));
    let by_partner = |line: &CostLine<'_>| match line.id.item {
        Item::LegIn => leg_in,
        Item::LegOut => leg_out,
        _ => false,
    };
    let of_units = || units.iter().flat_map(|unit| &unit.lines);
    let mut lines = Vec::with_capacity(units.iter().map(|unit| unit.lines.len()).sum());
    for line in of_units() {
        let cost = converted(order, "cost", line, line.cost, trail)?;
        let carried = match line.carried == line.cost {
            true => cost,
            false if line.sold == Sold::Free => Cost::ZERO,
            false => converted(order, "charged", line, line.carried, trail)?,
        };
        lines.push(SpentLine { cost, carried, by_partner: by_partner(line) });
    }
    let own = || lines.iter().filter(|line| !line.by_partner);
    let workshop = Cost::sum(own().map(|line| line.cost))?;
    let carried = Cost::sum(own().map(|line| line.carried))?;
    let carried_direct = Cost::sum(lines.iter().map(|line| line.carried))?;
    trail.step(|| {
        let step = Step::new("cost", Rule::WorkshopCost, money(workshop, order.currency));
        of_units().zip(&lines).fold(step, |step, (line, spent)| {
            let role = if spent.by_partner { Role::LeftOut } else { Role::Line };
            step.figure(role, money(spent.cost, order.currency), format_args!("cost.{}", line.id))
        })
    });
    trail.step(|| {
        let step = Step::new("cost.carried", Rule::ChargedSum, money(carried, order.currency));
        let charged =
            of_units().zip(&lines).filter(|(line, spent)| !spent.by_partner && line.sold != Sold::Free);
        charged.fold(step, |step, (line, spent)| {
            let figure = if line.carried == line.cost { "cost" } else { "charged" };
            step.figure(
                Role::Line,
                money(spent.carried, order.currency),
                format_args!("{figure}.{}", line.id),
            )
        })
    });
    Ok(Spent { lines, workshop, carried, carried_direct })
}

fn converted<K: AmountKind>(
    order: &Order<'_>,
    figure: &str,
    line: &CostLine<'_>,
    amount: Amount<K>,
    trail: &mut impl Trail,
) -> Result<Amount<K>, Overflow> {
    let Some(conversion) = &order.conversion else { return Ok(amount) };
    let exact = conversion.exact(Exact::from_minor(amount.minor()))?;
    let converted = convert(Some(conversion), amount)?;
    trail.step(|| {
        let shown = money(converted, order.currency);
        let place = format!("tariff.{figure}.{}", line.id);
        let step = Step::new(format_args!("{figure}.{}", line.id), Rule::Converted, shown);
        let step = step.figure(Role::Amount, money(amount, conversion.from), place);
        with_rates(step, Some(conversion)).rounded(exact, order.currency)
    });
    Ok(converted)
}

/// Some line of these units is not charged for because a warranty is open.
pub(crate) fn covers_something(units: &[UnitCost<'_, '_>]) -> bool {
    units.iter().flat_map(|unit| &unit.lines).any(|line| line.sold == Sold::Free || line.carried != line.cost)
}
