//! The share of each partner, as his agreement has it: discount by category, and credits.

use crate::category::{Category, Work};
use crate::convert::exactly;
use crate::cost::UnitCost;
use crate::line::Item;
use crate::money::{Exact, Net, Overflow, Share, kernel};
use crate::order::{Order, StopOrder};
use crate::price::{EndLine, EndPrice, with_rates};
use crate::role::Role;
use crate::trail::{Rule, Step, Trail, money};

/// The end price by category, in the order of [`Category::ALL`].
type ByCategory = [Net; Category::ALL.len()];

pub(crate) fn agreed_shares(
    order: &Order<'_>,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Vec<Share>, Overflow> {
    if order.stops.is_empty() {
        return Ok(Vec::new());
    }
    let nets = by_category(order, end, trail)?;
    order.stops.iter().map(|stop| agreed_share(order, stop, units, end, &nets, trail)).collect()
}

fn by_category(
    order: &Order<'_>,
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<ByCategory, Overflow> {
    let mut nets = [Net::ZERO; Category::ALL.len()];
    for line in &end.lines {
        if let Some(net) = nets.get_mut(line.id.item.category() as usize) {
            *net = net.plus(line.net)?;
        }
    }
    for (&category, net) in Category::ALL.iter().zip(&nets).filter(|(_, net)| **net != Net::ZERO) {
        trail.step(|| {
            let shown = money(*net, order.currency);
            let step = Step::new(format_args!("end.category.{category}"), Rule::CategoryNet, shown);
            with_lines(step, order, end.lines.iter().filter(|line| line.id.item.category() == category))
        });
    }
    Ok(nets)
}

/// Lines of the end price, as inputs of a figure.
fn with_lines<'e, 'a: 'e>(
    step: Step,
    order: &Order<'_>,
    lines: impl Iterator<Item = &'e EndLine<'a>>,
) -> Step {
    lines.fold(step, |step, line| {
        step.figure(Role::Line, money(line.net, order.currency), format_args!("net.{}", line.id))
    })
}

/// The share of one partner: percent of the end price by category, rounded once, and his credits.
fn agreed_share(
    order: &Order<'_>,
    stop: &StopOrder<'_>,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    nets: &ByCategory,
    trail: &mut impl Trail,
) -> Result<Share, Overflow> {
    let code = &stop.partner.party.code;
    if !end.charged {
        // Nothing is sold, so there is nothing to share.
        trail.step(|| {
            Step::new(format_args!("agreed.{code}"), Rule::ShareAsAgreed, money(Share::ZERO, order.currency))
                .figure(Role::NetEndPrice, money(end.net, order.currency), "end.net")
        });
        return Ok(Share::ZERO);
    }
    let discount = discount(order, stop, nets, trail)?;
    let credits = stop
        .takes_over
        .iter()
        .map(|&work| Ok((work, credit(order, stop, work, units, end, trail)?)))
        .collect::<Result<Vec<_>, Overflow>>()?;
    let credited = Share::sum(credits.iter().map(|&(_, credit)| credit))?;
    let share = Share::from_wide(kernel::share(&discount.wide(), &credited.wide())?)?;
    trail.step(|| {
        let step =
            Step::new(format_args!("agreed.{code}"), Rule::ShareAsAgreed, money(share, order.currency))
                .figure(Role::Discount, money(discount, order.currency), format_args!("discount.{code}"));
        credits.iter().fold(step, |step, (work, credit)| {
            step.figure(Role::Credit, money(*credit, order.currency), format_args!("credit.{code}.{work}"))
        })
    });
    Ok(share)
}

fn discount(
    order: &Order<'_>,
    stop: &StopOrder<'_>,
    nets: &ByCategory,
    trail: &mut impl Trail,
) -> Result<Share, Overflow> {
    let agreement = stop.agreement;
    let net_of = |category: Category| nets.get(category as usize).copied().unwrap_or(Net::ZERO);
    let discounts = agreement.discounts.iter();
    let products = discounts.map(|&(of, percent)| (net_of(of).wide(), i128::from(percent.scaled())));
    let millionths = kernel::millionths(products)?;
    let exact = Exact::ratio(millionths, 1_000_000)?;
    let discount: Share = exact.round()?;
    trail.step(|| {
        let name = format!("discount.{}", stop.partner.party.code);
        let step = Step::new(name, Rule::Discount, money(discount, order.currency));
        let charged = agreement.discounts.iter().filter(|(category, _)| net_of(*category) != Net::ZERO);
        charged
            .fold(step, |step, &(category, percent)| {
                let place = format!("discounts.csv {} {category}", agreement.code);
                step.tariff(Role::Percentage, format_args!("{percent} %"), place).figure(
                    category.into(),
                    money(net_of(category), order.currency),
                    format_args!("end.category.{category}"),
                )
            })
            .rounded(exact, order.currency)
    });
    Ok(discount)
}

fn credit(
    order: &Order<'_>,
    stop: &StopOrder<'_>,
    work: Work,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Share, Overflow> {
    let credits = &stop.agreement.credits;
    let each = credits.iter().find(|(credited, _)| *credited == work).map_or(Net::ZERO, |&(_, net)| net);
    let is_leg =
        |item: &Item<'_>| matches!((work, item), (Work::LegIn, Item::LegIn) | (Work::LegOut, Item::LegOut));
    let legs = || end.lines.iter().filter(|line| is_leg(&line.id.item));
    // Work on site is done unit by unit; a leg is one for the whole consignment.
    let (times, cap) = match work {
        Work::LegIn | Work::LegOut => {
            (1, Some(Share::from_minor(Net::sum(legs().map(|line| line.net))?.minor())?))
        }
        Work::Removal | Work::Refitting | Work::Diagnosis => {
            let charged = units.iter().filter(|unit| unit.charged).count();
            (i64::try_from(charged).map_err(|_| Overflow)?, None)
        }
    };
    let exact = exactly(order.conversion.as_ref(), each)?.times_ratio(times, 1)?;
    let whole: Share = exact.round()?;
    let credit = cap.map_or(whole, |cap| whole.min(cap));
    trail.step(|| {
        let name = format!("credit.{}.{work}", stop.partner.party.code);
        let place = format!("credits.csv {} {work}", stop.agreement.code);
        let step = Step::new(name, Rule::Credit, money(credit, order.currency)).tariff(
            Role::Credit,
            money(each, order.edition.currency),
            place,
        );
        let step = match cap {
            Some(_) => with_lines(step, order, legs()),
            None => step.job(Role::UnitsChargedFor, times, "units"),
        };
        let step = with_rates(step, order.conversion.as_ref());
        if credit == whole { step.rounded(exact, order.currency) } else { step }
    });
    Ok(credit)
}
