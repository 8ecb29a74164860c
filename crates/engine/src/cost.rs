//! Cost lines: what the work costs the workshop, one rounding a line.

use crate::category::PartUnit;
use crate::courier::Consignment;
use crate::job::Task;
use crate::line::{Item, LineId};
use crate::money::{Cost, Currency, Exact, Overflow, Quantity, UnitPrice};
use crate::order::{Order, UnitOrder};
use crate::plan::{Plan, PlannedLabour, PlannedPart, PlannedTest, Wanted, WantedTest, charged_plan, plan};
use crate::tariff::entries::{Part, Test};
use crate::trail::{Rounding, Rule, Step, Trail, money, price};
use crate::why::{asked, labour_asked};

/// How much of something a line is for.
#[derive(Clone, Copy)]
pub(crate) enum Measure {
    Pieces(Quantity, PartUnit),
    /// In thousandths of a minute.
    Minutes(i64),
    BenchHours(Quantity),
    Once,
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

/// What of a line of the plan is charged for.
enum Charge {
    /// All of it, if anything is.
    Whole,
    /// Nothing: the open warranty covers it.
    Nothing,
    /// What the open warranty does not cover: its cost, and how much that is.
    Rest(Exact, String),
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
    let charged = if unit.under_warranty() { Some(charged_plan(unit, received)?) } else { None };
    let is_charged = charged.as_ref().is_none_or(Option::is_some);
    let mut lines = Lines {
        order,
        unit,
        sold: if is_charged { Sold::Charged } else { Sold::Free },
        lines: Vec::with_capacity(whole.parts.len().saturating_add(8)),
        trail,
    };
    // For every line of the whole plan, the same line of the plan that is charged for.
    let charged = charged.map(Option::unwrap_or_default);
    for planned in &whole.parts {
        let same = |p: &&PlannedPart<'_>| p.part.rank == planned.part.rank;
        lines.part(planned, charged.as_ref().map(|plan| plan.parts.iter().find(same)), &whole.wanted)?;
    }
    for planned in &whole.labour {
        let same = |p: &&PlannedLabour<'_>| p.grade.rank == planned.grade.rank;
        lines.labour(planned, charged.as_ref().map(|plan| plan.labour.iter().find(same)), &whole)?;
    }
    for planned in &whole.tests {
        let same = |p: &&PlannedTest<'_>| p.test.rank == planned.test.rank;
        let charged = charged.as_ref().map(|plan| plan.tests.iter().find(same));
        lines.test(planned, charged, &whole.wanted_tests)?;
    }
    lines.other(consignment)?;
    Ok(UnitCost { order: unit, charged: is_charged, lines: lines.lines, plan: whole })
}

struct Lines<'t, 'o, 'a, T> {
    order: &'o Order<'a>,
    unit: &'o UnitOrder<'a>,
    /// How lines are sold that are not told apart by finding.
    sold: Sold,
    lines: Vec<CostLine<'a>>,
    trail: &'t mut T,
}

impl<'a, T: Trail> Lines<'_, '_, 'a, T> {
    fn id(&self, item: Item<'a>) -> LineId<'a> {
        LineId { unit: Some(self.unit.unit), item }
    }

    fn push(&mut self, item: Item<'a>, measure: Measure, cost: Cost, carried: Cost, sold: Sold) {
        self.lines.push(CostLine { id: self.id(item), measure, cost, carried, sold });
    }

    /// The working of a cost line.
    fn told(&mut self, id: LineId<'a>, exact: Exact, cost: Cost, inputs: impl Fn(Step) -> Step, rule: Rule) {
        let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
        self.trail.step(|| {
            inputs(Step::new(format_args!("{prefix}cost.{id}"), rule, ""))
                .rounded(exact, currency)
                .result(cost.in_major_units(currency), currency)
        });
    }

    /// Adds a line of the plan, with a second figure where only the rest of it is charged for.
    fn finish(
        &mut self,
        item: Item<'a>,
        measure: Measure,
        cost: Cost,
        charge: Charge,
    ) -> Result<(), Overflow> {
        let (carried, sold) = match charge {
            Charge::Whole => (if self.sold == Sold::Free { Cost::ZERO } else { cost }, self.sold),
            Charge::Nothing => (Cost::ZERO, Sold::Free),
            Charge::Rest(exact, shown) => {
                let carried = exact.round()?;
                let id = self.id(item);
                let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
                self.trail.step(|| {
                    Step::new(format_args!("{prefix}charged.{id}"), Rule::ChargedCost, "")
                        .job("not covered", shown, "units[].findings")
                        .figure("whole cost", money(cost, currency), format_args!("{prefix}cost.{id}"))
                        .rounded(exact, currency)
                        .result(carried.in_major_units(currency), currency)
                });
                (carried, self.sold)
            }
        };
        self.push(item, measure, cost, carried, sold);
        Ok(())
    }

    fn part(
        &mut self,
        planned: &PlannedPart<'a>,
        charged: Option<Option<&PlannedPart<'a>>>,
        wanted: &[Wanted<'a>],
    ) -> Result<(), Overflow> {
        let currency = self.order.edition.currency;
        let part = planned.part;
        let id = self.id(Item::Part(part));
        let best = best_break(part, planned.quantity, currency)?;
        let cost: Cost = best.exact.round()?;
        self.trail.step(|| {
            let step = Step::new(format_args!("plan.{id}"), Rule::PlannedQuantity, planned.quantity);
            let of_part = wanted.iter().filter(|w| w.part.rank == part.rank);
            of_part.fold(step, |step, wanted| {
                let quantity = rust_decimal::Decimal::new(wanted.quantity, 3).normalize();
                let place = wanted.position.map_or_else(String::new, |position| format!(" at {position}"));
                asked(step, self.unit, &part.code, format!("{quantity}{place}"), wanted.reason)
            })
        });
        let inputs = |step: Step| {
            let step = step.figure("quantity", planned.quantity, format_args!("plan.{id}"));
            let step = match best.lot {
                Some(lot) => step.tariff(
                    "charged as a lot of",
                    lot,
                    format_args!("price_breaks.csv {} {lot}", part.code),
                ),
                None => step,
            };
            step.tariff(
                "unit cost",
                price(best.unit_cost, currency),
                format_args!("{} {}", best.table, part.code),
            )
        };
        self.told(id, best.exact, cost, inputs, Rule::PartCost);
        let charge = match charged {
            None => Charge::Whole,
            Some(None) => Charge::Nothing,
            Some(Some(charged)) => Charge::Rest(
                best_break(part, charged.quantity, currency)?.exact,
                charged.quantity.to_string(),
            ),
        };
        self.finish(Item::Part(part), Measure::Pieces(planned.quantity, part.unit), cost, charge)
    }

    fn labour(
        &mut self,
        planned: &PlannedLabour<'a>,
        charged: Option<Option<&PlannedLabour<'a>>>,
        plan: &Plan<'a>,
    ) -> Result<(), Overflow> {
        let currency = self.order.edition.currency;
        let grade = planned.grade;
        let id = self.id(Item::Labour(grade));
        let exact = labour_exact(grade.rate_per_hour, planned.milli_minutes, currency)?;
        let cost: Cost = exact.round()?;
        self.trail.step(|| {
            let shown = format!("{} min", minutes(planned.milli_minutes));
            let step = Step::new(format_args!("plan.{id}"), Rule::PlannedMinutes, shown);
            labour_asked(step, plan, grade, self.unit)
        });
        let inputs = |step: Step| {
            step.figure(
                "minutes",
                format_args!("{} min", minutes(planned.milli_minutes)),
                format_args!("plan.{id}"),
            )
            .tariff(
                "rate",
                format_args!("{}/h", price(grade.rate_per_hour, currency)),
                format_args!("grades.csv {}", grade.code),
            )
        };
        self.told(id, exact, cost, inputs, Rule::LabourCost);
        let charge = match charged {
            None => Charge::Whole,
            Some(None) => Charge::Nothing,
            Some(Some(charged)) => Charge::Rest(
                labour_exact(grade.rate_per_hour, charged.milli_minutes, currency)?,
                format!("{} min", minutes(charged.milli_minutes)),
            ),
        };
        self.finish(Item::Labour(grade), Measure::Minutes(planned.milli_minutes), cost, charge)
    }

    fn test(
        &mut self,
        planned: &PlannedTest<'a>,
        charged: Option<Option<&PlannedTest<'a>>>,
        wanted: &[WantedTest<'a>],
    ) -> Result<(), Overflow> {
        let edition = self.order.edition;
        let currency = edition.currency;
        let test = planned.test;
        let id = self.id(Item::Test(test));
        let exact = test_exact(test, planned.bench_hours, edition.price.energy_per_kwh, currency)?;
        let cost: Cost = exact.round()?;
        self.trail.step(|| {
            let shown = format!("{} h", planned.bench_hours);
            let step = Step::new(format_args!("plan.{id}"), Rule::PlannedHours, shown);
            let of_test = wanted.iter().filter(|wanted| wanted.test.rank == test.rank);
            of_test.fold(step, |step, wanted| {
                asked(step, self.unit, &test.code, format!("{} h", wanted.bench_hours), wanted.reason)
            })
        });
        let inputs = |step: Step| {
            let place = format!("tests.csv {}", test.code);
            step.figure("bench hours", format_args!("{} h", planned.bench_hours), format_args!("plan.{id}"))
                .tariff("bench rate", format_args!("{}/h", price(test.bench_rate, currency)), &place)
                .tariff("attended", format_args!("{} min", test.attended_minutes), &place)
                .tariff(
                    "rate",
                    format_args!("{}/h", price(test.grade.rate_per_hour, currency)),
                    format_args!("grades.csv {}", test.grade.code),
                )
                .tariff("power", format_args!("{} kW", test.power_kw), &place)
                .tariff(
                    "energy",
                    format_args!("{}/kWh", price(edition.price.energy_per_kwh, currency)),
                    "edition.toml price.energy_per_kwh",
                )
        };
        self.told(id, exact, cost, inputs, Rule::TestCost);
        let charge = match charged {
            None => Charge::Whole,
            Some(None) => Charge::Nothing,
            Some(Some(charged)) => Charge::Rest(
                test_exact(test, charged.bench_hours, edition.price.energy_per_kwh, currency)?,
                format!("{} h", charged.bench_hours),
            ),
        };
        self.finish(Item::Test(test), Measure::BenchHours(planned.bench_hours), cost, charge)
    }

    /// What does not come from the plan: exchange, inspection, courier.
    fn other(&mut self, consignment: &Consignment) -> Result<(), Overflow> {
        let edition = self.order.edition;
        let currency = edition.currency;
        match self.unit.task {
            Task::Refresh => {}
            Task::Exchange => {
                let (each, _) = self.unit.family.exchange.ok_or(Overflow)?;
                let exact = Exact::from_unit_price(each, currency);
                let cost = exact.round()?;
                let place = format!("families.csv {} exchange_cost", self.unit.family.code);
                let inputs = |step: Step| step.tariff("exchange unit", price(each, currency), &place);
                self.told(self.id(Item::Exchange), exact, cost, inputs, Rule::ExchangeCost);
                self.push(Item::Exchange, Measure::Once, cost, cost, Sold::Charged);
            }
            Task::Decline => {
                let inspection = &edition.inspection;
                let milli = i64::from(inspection.minutes).checked_mul(1_000).ok_or(Overflow)?;
                let exact = labour_exact(inspection.grade.rate_per_hour, milli, currency)?;
                let cost = exact.round()?;
                let inputs = |step: Step| {
                    step.tariff(
                        "minutes",
                        format_args!("{} min", inspection.minutes),
                        "edition.toml inspection.minutes",
                    )
                    .tariff(
                        "rate",
                        format_args!("{}/h", price(inspection.grade.rate_per_hour, currency)),
                        format_args!("grades.csv {}", inspection.grade.code),
                    )
                };
                self.told(self.id(Item::Inspection), exact, cost, inputs, Rule::InspectionCost);
                self.push(Item::Inspection, Measure::Minutes(milli), cost, cost, Sold::Charged);
            }
        }
        let leg = consignment.legs.get(self.unit.index).copied().ok_or(Overflow)?;
        let packaging = consignment.packaging.get(self.unit.index).copied().ok_or(Overflow)?;
        // A unit that is declined is charged the way back only.
        let leg_in = if self.unit.task == Task::Decline { Sold::Never } else { self.sold };
        for (item, cost, sold, of) in [
            (Item::LegIn, leg, leg_in, ("consignment.leg", consignment.leg)),
            (Item::LegOut, leg, self.sold, ("consignment.leg", consignment.leg)),
            (Item::Packaging, packaging, self.sold, ("consignment.packaging", consignment.parcels)),
        ] {
            let id = self.id(item);
            let prefix = self.order.tariff_prefix();
            let weight = self.order.shipment.weights.get(self.unit.index).copied().unwrap_or(0);
            self.trail.step(|| {
                let step = Step::new(format_args!("{prefix}cost.{id}"), Rule::CourierShare, "")
                    .figure("of the consignment", money(of.1, currency), of.0)
                    .job(
                        "chargeable weight of the unit",
                        format_args!("{} kg", crate::weight::kilograms(weight)),
                        format_args!("units[{}].parcels", self.unit.index),
                    )
                    .result(cost.in_major_units(currency), currency);
                if self.order.job.units.len() > 1 { step.by(Rounding::LargestRemainder) } else { step }
            });
            let carried = if sold == Sold::Free { Cost::ZERO } else { cost };
            self.push(item, Measure::Once, cost, carried, sold);
        }
        Ok(())
    }
}

/// Minutes from thousandths of them.
pub(crate) fn minutes(milli: i64) -> rust_decimal::Decimal {
    rust_decimal::Decimal::new(milli, 3).normalize()
}

/// A part line at the break that costs least.
struct Best {
    exact: Exact,
    unit_cost: UnitPrice,
    /// A whole larger lot is cheaper than the pieces themselves.
    lot: Option<Quantity>,
    table: &'static str,
}

/// Quantity times unit cost at its price break; or the lot of a higher break, where that whole lot
/// costs less. Without this a line could cost less for one piece more.
fn best_break(part: &Part, quantity: Quantity, currency: Currency) -> Result<Best, Overflow> {
    let reached = part.breaks.iter().rev().find(|(from, _)| *from <= quantity);
    let unit_cost = reached.map_or(part.unit_cost, |&(_, cost)| cost);
    let table = if reached.is_some() { "price_breaks.csv" } else { "parts.csv" };
    let exact = Exact::from_unit_price(unit_cost, currency).times_quantity(quantity)?;
    let mut best = Best { exact, unit_cost, lot: None, table };
    for &(from, unit_cost) in part.breaks.iter().filter(|(from, _)| *from > quantity) {
        let exact = Exact::from_unit_price(unit_cost, currency).times_quantity(from)?;
        if exact.compare(best.exact)? == std::cmp::Ordering::Less {
            best = Best { exact, unit_cost, lot: Some(from), table: "price_breaks.csv" };
        }
    }
    Ok(best)
}

fn labour_exact(rate_per_hour: UnitPrice, milli_minutes: i64, currency: Currency) -> Result<Exact, Overflow> {
    Exact::from_unit_price(rate_per_hour, currency).times_ratio(milli_minutes, 60_000)
}

fn test_exact(
    test: &Test,
    bench_hours: Quantity,
    energy_per_kwh: UnitPrice,
    currency: Currency,
) -> Result<Exact, Overflow> {
    let bench = Exact::from_unit_price(test.bench_rate, currency).times_quantity(bench_hours)?;
    let attended = Exact::from_unit_price(test.grade.rate_per_hour, currency)
        .times_ratio(i64::from(test.attended_minutes), 60)?;
    let energy = Exact::from_unit_price(energy_per_kwh, currency)
        .times_quantity(test.power_kw)?
        .times_quantity(bench_hours)?;
    bench.plus(attended)?.plus(energy)
}
