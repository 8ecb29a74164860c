//! What the lines of a plan cost: parts, labour and tests.

use std::cmp::Ordering;

use super::Measure;

use crate::asked::{asked, labour_asked};
use crate::line::Item;
use crate::money::{Currency, Exact, Overflow, Quantity, UnitPrice};
use crate::order::{Order, UnitOrder};
use crate::plan::{Plan, PlannedLabour, PlannedPart, PlannedTest};
use crate::role::Role;
use crate::shown::Shown;
use crate::tariff::entries::Part;
use crate::text::written;
use crate::trail::{Rule, Step, price, thousandths};

/// A line of the plan that costs something.
pub(super) trait Work<'a> {
    /// The rule of its amount, and the rule of its cost.
    const RULES: (Rule, Rule);
    /// What its amount is called.
    const AMOUNT: Role;

    fn item(&self) -> Item<'a>;
    fn measure(&self) -> Measure;
    /// Is it the same part, grade or programme?
    fn is_same(&self, other: &Self) -> bool;
    fn exact(&self, order: &Order<'_>) -> Result<Exact, Overflow>;
    /// Adds to its amount's working who asked for it.
    fn asked(&self, step: Step, plan: &Plan<'a>, unit: &UnitOrder<'a>) -> Step;
    /// Adds to its cost's working what the amount is multiplied by.
    fn rates(&self, step: Step, order: &Order<'_>) -> Step;
}

impl<'a> Work<'a> for PlannedPart<'a> {
    const RULES: (Rule, Rule) = (Rule::PlannedQuantity, Rule::PartCost);
    const AMOUNT: Role = Role::Quantity;

    fn item(&self) -> Item<'a> {
        Item::Part(self.part)
    }

    fn measure(&self) -> Measure {
        Measure::Pieces(self.quantity, self.part.unit)
    }

    fn is_same(&self, other: &Self) -> bool {
        self.part.rank == other.part.rank
    }

    fn exact(&self, order: &Order<'_>) -> Result<Exact, Overflow> {
        Ok(best_break(self.part, self.quantity, order.edition.currency)?.exact)
    }

    fn asked(&self, step: Step, plan: &Plan<'a>, unit: &UnitOrder<'a>) -> Step {
        let of_part = plan.wanted.iter().filter(|wanted| wanted.part.rank == self.part.rank);
        of_part.fold(step, |step, wanted| {
            let quantity = thousandths(wanted.quantity);
            let amount = format_args!("{quantity} {}", self.part.unit);
            let shown = wanted.position.map_or(Shown::Plain(amount), |position| Shown::At(amount, position));
            asked(step, unit, &self.part.code, shown, wanted.reason)
        })
    }

    fn rates(&self, step: Step, order: &Order<'_>) -> Step {
        let (code, currency) = (&self.part.code, order.edition.currency);
        let Ok(best) = best_break(self.part, self.quantity, currency) else { return step };
        let step = match best.lot {
            Some(lot) => {
                step.tariff(Role::ChargedAsALotOf, lot, format_args!("price_breaks.csv {code} {lot}"))
            }
            None => step,
        };
        step.tariff(Role::UnitCost, price(best.unit_cost, currency), format_args!("{} {code}", best.table))
    }
}

impl<'a> Work<'a> for PlannedLabour<'a> {
    const RULES: (Rule, Rule) = (Rule::PlannedMinutes, Rule::LabourCost);
    const AMOUNT: Role = Role::Minutes;

    fn item(&self) -> Item<'a> {
        Item::Labour(self.grade)
    }

    fn measure(&self) -> Measure {
        Measure::Minutes(self.milli_minutes)
    }

    fn is_same(&self, other: &Self) -> bool {
        self.grade.rank == other.grade.rank
    }

    fn exact(&self, order: &Order<'_>) -> Result<Exact, Overflow> {
        Exact::from_unit_price(self.grade.rate_per_hour, order.edition.currency)
            .times_ratio(self.milli_minutes, 60_000)
    }

    fn asked(&self, step: Step, plan: &Plan<'a>, unit: &UnitOrder<'a>) -> Step {
        labour_asked(step, plan, self.grade, unit)
    }

    fn rates(&self, step: Step, order: &Order<'_>) -> Step {
        let rate = price(self.grade.rate_per_hour, order.edition.currency);
        step.tariff(Role::Rate, format_args!("{rate}/h"), format_args!("grades.csv {}", self.grade.code))
    }
}

impl<'a> Work<'a> for PlannedTest<'a> {
    const RULES: (Rule, Rule) = (Rule::PlannedHours, Rule::TestCost);
    const AMOUNT: Role = Role::BenchHours;

    fn item(&self) -> Item<'a> {
        Item::Test(self.test)
    }

    fn measure(&self) -> Measure {
        Measure::BenchHours(self.bench_hours)
    }

    fn is_same(&self, other: &Self) -> bool {
        self.test.rank == other.test.rank
    }

    fn exact(&self, order: &Order<'_>) -> Result<Exact, Overflow> {
        let (test, currency) = (self.test, order.edition.currency);
        let bench = Exact::from_unit_price(test.bench_rate, currency).times_quantity(self.bench_hours)?;
        let attended = Exact::from_unit_price(test.grade.rate_per_hour, currency)
            .times_ratio(i64::from(test.attended_minutes), 60)?;
        let energy = Exact::from_unit_price(order.edition.price.energy_per_kwh, currency)
            .times_quantity(test.power_kw)?
            .times_quantity(self.bench_hours)?;
        bench.plus(attended)?.plus(energy)
    }

    fn asked(&self, step: Step, plan: &Plan<'a>, unit: &UnitOrder<'a>) -> Step {
        let of_test = plan.wanted_tests.iter().filter(|wanted| wanted.test.rank == self.test.rank);
        of_test.fold(step, |step, wanted| {
            asked(step, unit, &self.test.code, format_args!("{} h", wanted.bench_hours), wanted.reason)
        })
    }

    fn rates(&self, step: Step, order: &Order<'_>) -> Step {
        let (test, currency) = (self.test, order.edition.currency);
        let place = ["tests.csv ", test.code.as_str()].concat();
        let per_hour = |rate| written(format_args!("{}/h", price(rate, currency)));
        let energy = price(order.edition.price.energy_per_kwh, currency);
        step.tariff(Role::BenchRate, per_hour(test.bench_rate), &place)
            .tariff(Role::Attended, format_args!("{} min", test.attended_minutes), &place)
            .tariff(
                Role::Rate,
                per_hour(test.grade.rate_per_hour),
                format_args!("grades.csv {}", test.grade.code),
            )
            .tariff(Role::Power, format_args!("{} kW", test.power_kw), &place)
            .tariff(Role::Energy, format_args!("{energy}/kWh"), "edition.toml price.energy_per_kwh")
    }
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
        if exact.compare(best.exact)? == Ordering::Less {
            best = Best { exact, unit_cost, lot: Some(from), table: "price_breaks.csv" };
        }
    }
    Ok(best)
}
