//! The cost lines of a unit, one after the other.

use super::work::Work;
use super::{CostLine, Measure, Sold};
use crate::courier::Consignment;
use crate::job::Task;
use crate::line::{Item, LineId};
use crate::money::{Cost, Exact, Overflow};
use crate::order::{Order, UnitOrder};
use crate::plan::Plan;
use crate::role::Role;
use crate::trail::{Rounding, Rule, Step, Trail, money, price, thousandths};
use crate::weight::kilograms;

pub(super) struct Lines<'t, 'o, 'a, T> {
    order: &'o Order<'a>,
    unit: &'o UnitOrder<'a>,
    /// How the unit's share of the courier is sold: free where nothing about the unit is charged for.
    sold: Sold,
    lines: Vec<CostLine<'a>>,
    trail: &'t mut T,
}

impl<'t, 'o, 'a, T: Trail> Lines<'t, 'o, 'a, T> {
    pub(super) fn new(
        order: &'o Order<'a>,
        unit: &'o UnitOrder<'a>,
        charged: bool,
        parts: usize,
        trail: &'t mut T,
    ) -> Self {
        let sold = if charged { Sold::Charged } else { Sold::Free };
        Self { order, unit, sold, lines: Vec::with_capacity(parts.saturating_add(8)), trail }
    }

    pub(super) fn finished(self) -> Vec<CostLine<'a>> {
        self.lines
    }

    fn id(&self, item: Item<'a>) -> LineId<'a> {
        LineId { unit: Some(self.unit.unit), item }
    }

    fn push(&mut self, item: Item<'a>, measure: Measure, cost: Cost, carried: Cost, sold: Sold) {
        self.lines.push(CostLine { id: self.id(item), measure, cost, carried, sold });
    }

    /// Rounds a cost, and tells how it came about.
    fn told(
        &mut self,
        figure: &str,
        item: Item<'a>,
        exact: Exact,
        rule: Rule,
        inputs: impl FnOnce(Step, LineId<'a>) -> Step,
    ) -> Result<Cost, Overflow> {
        let cost: Cost = exact.round()?;
        let id = self.id(item);
        let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
        self.trail.step(|| {
            inputs(Step::new(format_args!("{prefix}{figure}.{id}"), rule, money(cost, currency)), id)
                .rounded(exact, currency)
        });
        Ok(cost)
    }

    /// A line of the plan. `rest` is the plan of what the open warranty does not cover, where there
    /// is one: the line is charged for as far as it stands there.
    pub(super) fn planned<W: Work<'a>>(
        &mut self,
        work: &W,
        rest: Option<&[W]>,
        plan: &Plan<'a>,
    ) -> Result<(), Overflow> {
        let (order, unit, item) = (self.order, self.unit, work.item());
        let id = self.id(item);
        let (amount, rule) = W::RULES;
        self.trail.step(|| {
            work.asked(Step::new(format_args!("plan.{id}"), amount, work.measure().text()), plan, unit)
        });
        let cost = self.told("cost", item, work.exact(order)?, rule, |step, id| {
            work.rates(step.figure(W::AMOUNT, work.measure().text(), format_args!("plan.{id}")), order)
        })?;
        let (carried, sold) = match rest.map(|rest| rest.iter().find(|other| other.is_same(work))) {
            None => (cost, Sold::Charged),
            Some(None) => (Cost::ZERO, Sold::Free),
            Some(Some(charged)) => {
                let place = format_args!("units[{}].findings that the warranty excludes", unit.index);
                let carried =
                    self.told("charged", item, charged.exact(order)?, Rule::ChargedCost, |step, _| {
                        charged.rates(step.job(W::AMOUNT, charged.measure().text(), place), order)
                    })?;
                (carried, Sold::Charged)
            }
        };
        self.push(item, work.measure(), cost, carried, sold);
        Ok(())
    }

    /// What a task costs that makes no plan.
    pub(super) fn task(&mut self) -> Result<(), Overflow> {
        let currency = self.order.edition.currency;
        match self.unit.task {
            Task::Refresh => Ok(()),
            Task::Exchange => {
                let (each, _) = self.unit.family.exchange.ok_or(Overflow)?;
                let place = format!("families.csv {} exchange_cost", self.unit.family.code);
                let exact = Exact::from_unit_price(each, currency);
                let cost = self.told("cost", Item::Exchange, exact, Rule::ExchangeCost, |step, _| {
                    step.tariff(Role::ExchangeUnit, price(each, currency), place)
                })?;
                self.push(Item::Exchange, Measure::Once, cost, cost, Sold::Charged);
                Ok(())
            }
            Task::Decline => {
                let inspection = &self.order.edition.inspection;
                let (milli, rate) =
                    (i64::from(inspection.minutes).saturating_mul(1_000), inspection.grade.rate_per_hour);
                let exact = Exact::from_unit_price(rate, currency).times_ratio(milli, 60_000)?;
                let grade = format!("grades.csv {}", inspection.grade.code);
                let cost = self.told("cost", Item::Inspection, exact, Rule::InspectionCost, |step, _| {
                    step.tariff(
                        Role::Minutes,
                        format_args!("{} min", thousandths(milli)),
                        "edition.toml inspection.minutes",
                    )
                    .tariff(
                        Role::Rate,
                        format_args!("{}/h", price(rate, currency)),
                        grade,
                    )
                })?;
                self.push(Item::Inspection, Measure::Minutes(milli), cost, cost, Sold::Charged);
                Ok(())
            }
        }
    }

    /// The unit's share of the consignment.
    pub(super) fn courier(&mut self, consignment: &Consignment) -> Result<(), Overflow> {
        let leg = consignment.legs.get(self.unit.index).copied().ok_or(Overflow)?;
        let packaging = consignment.packaging.get(self.unit.index).copied().ok_or(Overflow)?;
        // A unit that is declined is charged the way back only.
        let leg_in = if self.unit.task == Task::Decline { Sold::Never } else { self.sold };
        for (item, cost, sold, whole) in [
            (Item::LegIn, leg, leg_in, ("consignment.leg", consignment.leg)),
            (Item::LegOut, leg, self.sold, ("consignment.leg", consignment.leg)),
            (Item::Packaging, packaging, self.sold, ("consignment.packaging", consignment.parcels)),
        ] {
            let id = self.id(item);
            let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
            let order = self.order;
            self.trail.step(|| {
                let step =
                    Step::new(format_args!("{prefix}cost.{id}"), Rule::CourierShare, money(cost, currency))
                        .figure(Role::OfTheConsignment, money(whole.1, currency), whole.0);
                if order.job.units.len() == 1 {
                    return step;
                }
                let weights = order.job.units.iter().zip(&order.shipment.weights).enumerate();
                weights
                    .fold(step, |step, (index, (unit, grams))| {
                        let shown = format!("{} {} kg", unit.id, kilograms(*grams));
                        step.job(Role::ChargeableWeight, shown, format_args!("units[{index}].parcels"))
                    })
                    .by(Rounding::LargestRemainder)
            });
            let carried = if sold == Sold::Free { Cost::ZERO } else { cost };
            self.push(item, Measure::Once, cost, carried, sold);
        }
        Ok(())
    }
}
