//! From what was computed to what the quote says.

use compact_str::CompactString;

use crate::asked::why;
use crate::category::Category;
use crate::cost::UnitCost;
use crate::money::Overflow;
use crate::offer::Priced;
use crate::order::{Found, Order};
use crate::period::OutOfCalendar;
use crate::plan::{Plan, is_covered};
use crate::price::EndLine;
use crate::quote::{
    CostEntry, Draft, End, Line, Offer, OfferedFinding, OfferedUnit, PartnerShare, PlanStep, Sale, Standing,
};
use crate::refused::Refused;
use crate::route::UnderTheFloor;
use crate::terms::{open_cover, valid_until, warranty};
use crate::text::{Code, written};
use crate::trail::{Trail, Unkept, thousandths};

/// The quote around its offers.
pub(crate) fn draft(
    order: &Order<'_>,
    offers: Vec<Offer>,
    refused: Vec<UnderTheFloor>,
) -> Result<Draft, Refused> {
    Ok(Draft {
        reference: order.job.reference.clone(),
        standing: Standing::Revision(1),
        edition: order.edition.code.clone(),
        currency: order.currency,
        received: order.job.received,
        quoted: order.quoted,
        valid_until: valid_until(order, &mut Unkept)?,
        dispatch: order.dispatch,
        tax_date: order.tax_date,
        workshop: order.edition.workshop.clone(),
        route: order.stops.iter().map(|stop| stop.partner.party.clone()).collect(),
        customer: order.customer().ok_or(Overflow)?,
        offers,
        refused,
    })
}

/// One way to do the job, with its texts and what was kept of its working.
pub(crate) fn offer<T: Trail>(
    order: &Order<'_>,
    priced: Priced<'_, '_>,
    with_plan: bool,
    mut trail: T,
) -> Result<Offer, Refused> {
    let units = priced
        .units
        .iter()
        .map(|unit| offered_unit(order, unit, with_plan, &mut trail))
        .collect::<Result<Vec<_>, _>>()?;
    valid_until(order, &mut trail)?;
    let cost_lines = priced.units.iter().flat_map(|unit| &unit.lines);
    let costs: Vec<CostEntry> = cost_lines
        .zip(&priced.spent.lines)
        .map(|(line, spent)| CostEntry {
            id: line.id.name(),
            category: line.id.item.category(),
            text: line.id.item.text(),
            quantity: line.measure.text(),
            cost: spent.cost,
            carried_by_partner: spent.by_partner,
        })
        .collect();
    let lines = priced.end.lines.iter().map(|line| offered_line(line, &costs)).collect();
    let shares = order
        .stops
        .iter()
        .zip(&priced.shared.shares)
        .map(|(stop, share)| PartnerShare { partner: stop.partner.party.code.clone(), share: *share })
        .collect();
    Ok(Offer {
        id: priced.offer.id.into(),
        text: priced.offer.text.into(),
        units,
        lines,
        end: End { net: priced.end.net, vat_rate: order.customer_vat_rate, vat_due: priced.vat_due },
        sales: sales(order, priced.sales)?,
        shares,
        workshop_net: priced.shared.workshop_net,
        costs,
        cost: priced.spent.workshop,
        flags: priced.flags,
        working: trail.kept(),
    })
}

fn sales(order: &Order<'_>, figures: Vec<crate::offer::SaleFigures>) -> Result<Vec<Sale>, Overflow> {
    let code = |text: &str| text.parse::<Code>().map_err(|_| Overflow);
    let mut seller = code("workshop")?;
    let mut sales = Vec::with_capacity(figures.len());
    for (index, sale) in figures.into_iter().enumerate() {
        let buyer = match order.stops.get(index) {
            Some(stop) => stop.partner.party.code.clone(),
            None => code("customer")?,
        };
        sales.push(Sale {
            seller,
            buyer: buyer.clone(),
            net: sale.net,
            lines: sale.lines,
            vat: sale.vat,
            gross: sale.gross,
        });
        seller = buyer;
    }
    Ok(sales)
}

fn offered_unit(
    order: &Order<'_>,
    unit: &UnitCost<'_, '_>,
    with_plan: bool,
    trail: &mut impl Trail,
) -> Result<OfferedUnit, OutOfCalendar> {
    let of = unit.order;
    let (findings, plan) = match with_plan {
        true => (of.findings.iter().map(offered_finding).collect(), plan_steps(&unit.plan)),
        false => Default::default(),
    };
    Ok(OfferedUnit {
        id: of.unit.id.clone(),
        family: of.family.code.clone(),
        family_text: of.family.text.clone(),
        serial: of.unit.serial.clone(),
        task: of.task,
        findings,
        plan,
        warranty: warranty(order, of, unit.charged, trail)?,
        open_cover: open_cover(of),
    })
}

fn offered_finding(found: &Found<'_>) -> OfferedFinding {
    OfferedFinding {
        code: found.finding.code.clone(),
        text: found.finding.text.clone(),
        position: found.position.cloned(),
        times: found.times,
        covered: is_covered(found),
    }
}

/// A line of the end price. What has a cost is called as that is, and is so much.
fn offered_line(line: &EndLine<'_>, costs: &[CostEntry]) -> Line {
    let category = line.id.item.category();
    let (id, text, quantity) = match line.cost.and_then(|place| costs.get(place)) {
        Some(cost) => (cost.id.clone(), cost.text.clone(), cost.quantity.clone()),
        None => (line.id.name(), line.id.item.text(), CompactString::default()),
    };
    Line { id, category, text, quantity, net: line.net }
}

/// Step by step what is done, and why each step is there.
fn plan_steps(plan: &Plan<'_>) -> Vec<PlanStep> {
    let most = [plan.wanted.len(), plan.operations.len(), plan.tests.len()].into_iter();
    let mut steps = Vec::with_capacity(most.fold(0, usize::saturating_add));
    for at_position in plan.wanted.chunk_by(|a, b| a.part.rank == b.part.rank && a.position == b.position) {
        let Some(first) = at_position.first() else { continue };
        let most = at_position.iter().map(|wanted| wanted.quantity).max().unwrap_or(0);
        steps.push(PlanStep {
            category: Category::Part,
            code: first.part.code.clone(),
            text: first.part.text.clone(),
            quantity: written(format_args!("{} {}", thousandths(most), first.part.unit)),
            position: first.position.map(CompactString::from),
            why: why(at_position.iter().map(|wanted| wanted.reason)),
        });
    }
    for of_operation in plan.operations.chunk_by(|a, b| a.operation.rank == b.operation.rank) {
        let Some(first) = of_operation.first() else { continue };
        let times = match first.operation.once {
            true => 1_000,
            false => of_operation.iter().fold(0_i64, |sum, o| sum.saturating_add(o.times)),
        };
        steps.push(PlanStep {
            category: Category::Labour,
            code: first.operation.code.clone(),
            text: first.operation.text.clone(),
            quantity: written(thousandths(times)),
            position: None,
            why: why(of_operation.iter().map(|operation| operation.reason)),
        });
    }
    for planned in &plan.tests {
        let asked_for = plan.wanted_tests.iter().filter(|wanted| wanted.test.rank == planned.test.rank);
        steps.push(PlanStep {
            category: Category::Test,
            code: planned.test.code.clone(),
            text: planned.test.text.clone(),
            quantity: written(format_args!("{} h", planned.bench_hours)),
            position: None,
            why: why(asked_for.map(|wanted| wanted.reason)),
        });
    }
    steps
}
