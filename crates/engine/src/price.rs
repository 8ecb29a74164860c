//! The end price: what the end customer pays, net of VAT, in lines.
//!
//! Nothing in this file knows a route. It takes a unit's cost lines and an edition and gives lines;
//! the end price is their sum, so no route can change it.

use crate::convert::{Conversion, convert};
use crate::cost::{CostLine, Sold, UnitCost};
use crate::job::Task;
use crate::line::{Item, LineId};
use crate::money::{Currency, Exact, Net, Overflow, kernel};
use crate::order::{Order, UnitOrder};
use crate::role::Role;
use crate::shown::Shown;
use crate::tariff::{EndingDirection, Method};
use crate::trail::{Rounding, Rule, Step, Trail, money};

/// One line of the end price.
pub(crate) struct EndLine<'a> {
    pub(crate) id: LineId<'a>,
    /// The place of what it costs among the cost lines of all units, where it has a cost.
    pub(crate) cost: Option<usize>,
    /// In the quote's currency.
    pub(crate) net: Net,
    /// Part of a supply of goods: an exchange unit and what goes with it.
    pub(crate) goods: bool,
}

/// The lines and their sum.
pub(crate) struct EndPrice<'a> {
    pub(crate) lines: Vec<EndLine<'a>>,
    pub(crate) net: Net,
    /// Is anything charged for at all?
    pub(crate) charged: bool,
}

pub(crate) fn end_price<'a>(
    order: &Order<'a>,
    units: &[UnitCost<'_, 'a>],
    trail: &mut impl Trail,
) -> Result<EndPrice<'a>, Overflow> {
    let count: usize = units.iter().map(|unit| unit.lines.len().saturating_add(1)).sum();
    let lines = Vec::with_capacity(count.saturating_add(4));
    let mut lines = Lines { order, sum: Net::ZERO, lines, trail };
    let mut costs = 0_usize;
    for unit in units {
        lines.unit(unit, costs)?;
        costs = costs.saturating_add(unit.lines.len());
    }
    let charged = units.iter().any(|unit| unit.charged);
    if charged {
        // What belongs to the whole job goes with the larger part of it.
        let goods = Net::sum(lines.lines.iter().filter(|line| line.goods).map(|line| line.net))?;
        let exchanges = units.iter().any(|unit| unit.order.task == Task::Exchange);
        let with_goods = exchanges && goods >= lines.sum.minus(goods)?;
        lines.surcharges(with_goods)?;
        lines.minimum(with_goods)?;
        lines.ending(with_goods)?;
    }
    let mut lines = lines.lines;
    if let Some(conversion) = &order.conversion {
        let mut done: Vec<EndLine<'a>> = Vec::with_capacity(lines.len());
        for line in lines {
            let net = converted(order, conversion, &line, &done, trail)?;
            done.push(EndLine { net, ..line });
        }
        lines = done;
    }
    let net = Net::sum(lines.iter().map(|line| line.net))?;
    trail.step(|| {
        let step = Step::new("end.net", Rule::EndNet, money(net, order.currency));
        lines.iter().fold(step, |step, line| {
            step.figure(Role::Line, money(line.net, order.currency), format_args!("net.{}", line.id))
        })
    });
    Ok(EndPrice { lines, net, charged })
}

fn converted(
    order: &Order<'_>,
    conversion: &Conversion,
    line: &EndLine<'_>,
    before: &[EndLine<'_>],
    trail: &mut impl Trail,
) -> Result<Net, Overflow> {
    let exact = conversion.exact(Exact::from_minor(line.net.minor()))?;
    let whole = convert(Some(conversion), line.net)?;
    // Lines round one by one; an ending still takes away no more than there is.
    let net = match line.id.item {
        Item::Ending => whole.max(Net::sum(before.iter().map(|line| line.net))?.reversed()),
        _ => whole,
    };
    trail.step(|| {
        let step = Step::new(format_args!("net.{}", line.id), Rule::Converted, money(net, order.currency))
            .figure(Role::Amount, money(line.net, conversion.from), format_args!("tariff.net.{}", line.id));
        let step = with_rates(step, Some(conversion));
        if net == whole {
            return step.rounded(exact, conversion.to);
        }
        let capped = before.iter().fold(step, |step, line| {
            step.figure(
                Role::AtMostTheLineBefore,
                money(line.net, order.currency),
                format_args!("net.{}", line.id),
            )
        });
        capped.by(Rounding::Ending)
    });
    Ok(net)
}

/// The rates of a conversion, where there is one, as inputs of a figure.
pub(crate) fn with_rates(step: Step, conversion: Option<&Conversion>) -> Step {
    let rates = conversion.map(|of| [(of.from, of.from_rate), (of.to, of.to_rate)]);
    rates.into_iter().flatten().fold(step, |step, (currency, rate)| match rate {
        Some((day, rate)) => {
            let shown = Shown::ForOneEuro(format_args!("{rate} {currency}"));
            step.tariff(Role::Rate, shown, format_args!("currency_rates.csv {day} {currency}"))
        }
        None => step,
    })
}

struct Lines<'t, 'o, 'a, T> {
    order: &'o Order<'a>,
    /// Of the lines so far, in the tariff's currency.
    sum: Net,
    lines: Vec<EndLine<'a>>,
    trail: &'t mut T,
}

impl<'a, T: Trail> Lines<'_, '_, 'a, T> {
    fn push(&mut self, id: LineId<'a>, cost: Option<usize>, net: Net, goods: bool) -> Result<(), Overflow> {
        self.sum = self.sum.plus(net)?;
        self.lines.push(EndLine { id, cost, net, goods });
        Ok(())
    }

    fn told(&mut self, id: LineId<'a>, net: Net, rule: Rule, with: impl FnOnce(Step) -> Step) {
        let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
        self.trail.step(|| with(Step::new(format_args!("{prefix}net.{id}"), rule, money(net, currency))));
    }

    /// The lines of a unit, of whose cost lines the first has that place.
    fn unit(&mut self, unit: &UnitCost<'_, 'a>, first: usize) -> Result<(), Overflow> {
        let flat = self.flat(unit)?;
        for (cost, line) in (first..).zip(&unit.lines) {
            let covered = flat && self.order.edition.price.flat_covers.contains(&line.id.item.category());
            if !covered && line.sold != Sold::Never {
                let net = self.line(unit.order, line)?;
                self.push(line.id, Some(cost), net, unit.order.task == Task::Exchange)?;
            }
        }
        Ok(())
    }

    /// The fixed price of a flat family, in place of the lines it covers.
    fn flat(&mut self, unit: &UnitCost<'_, 'a>) -> Result<bool, Overflow> {
        let order = unit.order;
        // What an open warranty excludes is charged for by itself, not as the family's whole service.
        let flat = order.flat.filter(|_| order.family.method == Method::Flat && !order.under_warranty());
        let Some(price) = flat else { return Ok(false) };
        let id = LineId { unit: Some(order.unit), item: Item::Flat(price) };
        let net = price.net;
        let currency = self.order.edition.currency;
        self.told(id, net, Rule::FlatNet, |step| {
            let place = format!("flat_prices.csv {} {}", order.family.code, price.class);
            step.tariff(Role::FixedPrice, money(price.net, currency), place)
        });
        self.push(id, None, net, false)?;
        Ok(true)
    }

    fn line(&mut self, unit: &UnitOrder<'a>, line: &CostLine<'a>) -> Result<Net, Overflow> {
        let edition = self.order.edition;
        let currency = edition.currency;
        let id = line.id;
        if line.sold == Sold::Free {
            self.told(id, Net::ZERO, Rule::UnderWarranty, |step| {
                let until = unit.cover.map_or(Shown::Plain(""), |cover| Shown::OpenUntil(cover.until));
                step.job(Role::Warranty, until, format_args!("units[{}].returned", unit.index))
            });
            return Ok(Net::ZERO);
        }
        match id.item {
            Item::Exchange => {
                let (_, net) = unit.family.exchange.ok_or(Overflow)?;
                self.told(id, net, Rule::ExchangeNet, |step| {
                    let place = format!("families.csv {} exchange_net", unit.family.code);
                    step.tariff(Role::ExchangePrice, money(net, currency), place)
                });
                Ok(net)
            }
            Item::Inspection => {
                let net = edition.inspection.fee;
                self.told(id, net, Rule::InspectionFee, |step| {
                    step.tariff(Role::Fee, money(net, currency), "edition.toml inspection.fee")
                });
                Ok(net)
            }
            item => {
                let markup = edition.markup(item.category());
                let exact = Exact::from_minor(line.carried.minor()).plus_percent(markup)?;
                let net = exact.round()?;
                let prefix = self.order.tariff_prefix();
                let base = if line.carried == line.cost { "cost" } else { "charged" };
                self.told(id, net, Rule::MarkedUp, |step| {
                    step.figure(
                        Role::Cost,
                        money(line.carried, currency),
                        format_args!("{prefix}{base}.{id}"),
                    )
                    .tariff(
                        Role::Markup,
                        format_args!("{markup} %"),
                        format_args!("edition.toml markup.{}", item.category()),
                    )
                    .rounded(exact, currency)
                });
                Ok(net)
            }
        }
    }

    fn surcharges(&mut self, goods: bool) -> Result<(), Overflow> {
        let order = self.order;
        let (prefix, currency) = (order.tariff_prefix(), order.edition.currency);
        let before = self.lines.len();
        for extra in &order.extras {
            let marked = |line: &&EndLine<'_>| extra.categories.contains(&line.id.item.category());
            let base = Net::sum(self.lines.iter().take(before).filter(marked).map(|line| line.net))?;
            let exact = Exact::from_minor(base.minor()).percent(extra.percent)?;
            let net = exact.round()?;
            let id = LineId { unit: None, item: Item::Surcharge(extra) };
            self.trail.step(|| {
                let step = Step::new(format_args!("{prefix}net.{id}"), Rule::Surcharge, money(net, currency))
                    .tariff(
                        Role::Percentage,
                        format_args!("{} %", extra.percent),
                        format_args!("extras.csv {}", extra.code),
                    );
                let marked = self.lines.iter().take(before).filter(marked);
                marked
                    .fold(step, |step, line| {
                        step.figure(
                            Role::MarkedLine,
                            money(line.net, currency),
                            format_args!("{prefix}net.{}", line.id),
                        )
                    })
                    .rounded(exact, currency)
            });
            self.push(id, None, net, goods)?;
        }
        Ok(())
    }

    fn minimum(&mut self, goods: bool) -> Result<(), Overflow> {
        let minimum = self.order.edition.price.minimum_charge;
        if self.sum >= minimum {
            return Ok(());
        }
        let net = minimum.minus(self.sum)?;
        let place = "edition.toml price.minimum_charge";
        self.finish(
            Item::Minimum,
            net,
            goods,
            |step, currency| step.tariff(Role::MinimumCharge, money(minimum, currency), place),
            Rule::MinimumCharge,
        )
    }

    fn ending(&mut self, goods: bool) -> Result<(), Overflow> {
        let price = &self.order.edition.price;
        let net = taken_to(self.sum, price.ending_to, price.ending_direction)?.minus(self.sum)?;
        if net == Net::ZERO {
            return Ok(());
        }
        let place = "edition.toml price.ending_to";
        self.finish(
            Item::Ending,
            net,
            goods,
            |step, currency| {
                step.tariff(Role::Ending, money(price.ending_to, currency), place).by(Rounding::Ending)
            },
            Rule::PriceEnding,
        )
    }

    /// A line that follows from the sum of all before it.
    fn finish(
        &mut self,
        item: Item<'a>,
        net: Net,
        goods: bool,
        with: impl FnOnce(Step, Currency) -> Step,
        rule: Rule,
    ) -> Result<(), Overflow> {
        let id = LineId { unit: None, item };
        let (prefix, currency) = (self.order.tariff_prefix(), self.order.edition.currency);
        self.trail.step(|| {
            let step =
                with(Step::new(format_args!("{prefix}net.{id}"), rule, money(net, currency)), currency);
            self.lines.iter().fold(step, |step, line| {
                step.figure(
                    Role::LineBefore,
                    money(line.net, currency),
                    format_args!("{prefix}net.{}", line.id),
                )
            })
        });
        self.push(id, None, net, goods)
    }
}

/// The sum at the ending: a whole multiple, above, nearest (a half up) or below.
fn taken_to(sum: Net, multiple: Net, direction: EndingDirection) -> Result<Net, Overflow> {
    let multiple = multiple.minor();
    if multiple == 0 {
        return Ok(sum);
    }
    let bias = match direction {
        EndingDirection::Down => 0,
        EndingDirection::Nearest => multiple.checked_div(2).ok_or(Overflow)?,
        EndingDirection::Up => multiple.checked_sub(1).ok_or(Overflow)?,
    };
    Net::from_wide(kernel::multiple_below(&sum.wide(), &bias.into(), &multiple.into())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(sum: i64, multiple: i64, direction: EndingDirection, expect: i64) {
        let net = |minor| Net::from_minor(minor).unwrap_or_default();
        assert_eq!(taken_to(net(sum), net(multiple), direction), Ok(net(expect)));
    }

    #[test]
    fn endings_are_whole_multiples() {
        use EndingDirection::{Down, Nearest, Up};
        check(1_234, 0, Up, 1_234);
        check(1_234, 100, Up, 1_300);
        check(1_200, 100, Up, 1_200);
        check(1_250, 100, Nearest, 1_300);
        check(1_249, 100, Nearest, 1_200);
        check(1_299, 100, Down, 1_200);
        // an odd multiple has no amount at its half
        check(7, 5, Nearest, 5);
        check(8, 5, Nearest, 10);
    }
}
