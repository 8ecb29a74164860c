//! The route: what each partner keeps of the end price, and what each buyer pays.
//!
//! The end price comes in and is shared out; nothing here can change it.

use crate::category::{Category, Work};
use crate::convert::{convert, exactly};
use crate::cost::{Sold, UnitCost, money};
use crate::line::Item;
use crate::money::{Cost, Exact, Net, Overflow, Share, Ties, split};
use crate::order::{Order, StopOrder};
use crate::price::{EndPrice, by_category, with_rates};
use crate::tariff::UnderFloor;
use crate::trail::{Rounding, Rule, Step, Trail};

/// The cost side of an offer, in the quote's currency.
pub(crate) struct Costs {
    /// Of each cost line, in their order.
    pub(crate) lines: Vec<Cost>,
    /// What the workshop spends by this route: without legs that a partner carries.
    pub(crate) workshop: Cost,
    /// What of it the end price has to carry.
    pub(crate) carried: Cost,
    /// The same sold directly, with both legs.
    pub(crate) carried_direct: Cost,
}

/// Who keeps what.
pub(crate) struct Shared {
    /// In the order of the route.
    pub(crate) shares: Vec<Share>,
    pub(crate) workshop_net: Net,
    /// What each party sells at, from the workshop outward; the last is the end price.
    pub(crate) sales: Vec<Net>,
    pub(crate) scaled: bool,
}

/// A route that is refused because its shares would push the workshop under its floor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnderTheFloor {
    /// Which way to do the job: `main`, or an alternative.
    pub offer: String,
    /// The end price, which no route changes.
    pub end_net: Net,
    /// What the shares as agreed come to.
    pub shares: Share,
    /// What the workshop's floor leaves for shares.
    pub available: Net,
    /// The partner whose agreement refuses.
    pub refused_by: crate::text::Code,
}

/// What went wrong on a route.
pub(crate) enum RouteError {
    Overflow(Overflow),
    Refused(UnderTheFloor),
}

impl From<Overflow> for RouteError {
    fn from(overflow: Overflow) -> Self {
        Self::Overflow(overflow)
    }
}

/// Converts the cost lines, each once, and adds them up as this route has them.
pub(crate) fn costs(
    order: &Order<'_>,
    units: &[UnitCost<'_, '_>],
    charged: bool,
    trail: &mut impl Trail,
) -> Result<Costs, Overflow> {
    let conversion = order.conversion.as_ref();
    let takes_over = |work: Work| charged && order.stops.iter().any(|stop| stop.takes_over.contains(&work));
    let (in_elsewhere, out_elsewhere) = (takes_over(Work::LegIn), takes_over(Work::LegOut));
    let count = units.iter().map(|unit| unit.lines.len()).sum();
    let mut costs = Costs {
        lines: Vec::with_capacity(count),
        workshop: Cost::ZERO,
        carried: Cost::ZERO,
        carried_direct: Cost::ZERO,
    };
    for line in units.iter().flat_map(|unit| &unit.lines) {
        let cost = convert(conversion, line.cost)?;
        let carried = if line.carried == line.cost { cost } else { convert(conversion, line.carried)? };
        if let Some(conversion) = conversion {
            let exact = conversion.exact(Exact::from_minor(line.cost.minor()))?;
            trail.step(|| {
                let step =
                    Step::new(format_args!("cost.{}", line.id), Rule::Converted, money(cost, order.currency))
                        .figure(
                            "cost",
                            money(line.cost, conversion.from),
                            format_args!("tariff.cost.{}", line.id),
                        );
                with_rates(step, conversion).rounded(exact, Rounding::HalfUp)
            });
        }
        let elsewhere = match line.id.item {
            Item::LegIn => in_elsewhere,
            Item::LegOut => out_elsewhere,
            _ => false,
        };
        costs.lines.push(cost);
        costs.carried_direct = costs.carried_direct.plus(carried)?;
        if !elsewhere {
            costs.workshop = costs.workshop.plus(cost)?;
            costs.carried = costs.carried.plus(carried)?;
        }
    }
    trail.step(|| {
        let lines = units.iter().flat_map(|unit| &unit.lines);
        let step = Step::new("cost", Rule::WorkshopCost, money(costs.workshop, order.currency));
        lines.zip(&costs.lines).fold(step, |step, (line, cost)| {
            let carried_by_partner = matches!(line.id.item, Item::LegIn if in_elsewhere)
                || matches!(line.id.item, Item::LegOut if out_elsewhere);
            let name = if carried_by_partner { "left out, a partner carries it" } else { "line" };
            step.figure(name, money(*cost, order.currency), format_args!("cost.{}", line.id))
        })
    });
    trail.step(|| {
        Step::new("cost.carried", Rule::ChargedSum, money(costs.carried, order.currency)).figure(
            "cost",
            money(costs.workshop, order.currency),
            "cost",
        )
    });
    Ok(costs)
}

/// What the workshop has to keep over its cost.
pub(crate) fn minimum_contribution(
    order: &Order<'_>,
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Net, Overflow> {
    let rules = &order.edition.price;
    let exact = Exact::from_minor(end.net.minor()).percent(rules.minimum_contribution_percent)?;
    let amount = convert(order.conversion.as_ref(), rules.minimum_contribution)?;
    let minimum = exact.round()?.max(amount);
    trail.step(|| {
        let step =
            Step::new("minimum_contribution", Rule::MinimumContribution, money(minimum, order.currency))
                .tariff(
                    "amount",
                    money(rules.minimum_contribution, order.edition.currency),
                    "edition.toml price.minimum_contribution",
                )
                .tariff(
                    "percentage",
                    format_args!("{} %", rules.minimum_contribution_percent),
                    "edition.toml price.minimum_contribution_percent",
                )
                .figure("net end price", money(end.net, order.currency), "end.net")
                .rounded(exact, Rounding::HalfUp);
        order.conversion.as_ref().map_or(step.clone(), |conversion| with_rates(step, conversion))
    });
    Ok(minimum)
}

/// Shares the end price out over the route.
pub(crate) fn share_out(
    order: &Order<'_>,
    offer: &str,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    costs: &Costs,
    minimum: Net,
    trail: &mut impl Trail,
) -> Result<Shared, RouteError> {
    let agreed = agreed_shares(order, units, end, trail)?;
    let wanted = Share::sum(agreed.iter().copied())?;
    // What is left for shares once cost and the minimum contribution are met.
    let available = end.net.over(costs.carried)?.minus(minimum)?.max(Net::ZERO);
    let scaled = end.charged && wanted.minor() > available.minor();
    let mut shares = agreed.clone();
    if scaled {
        let refusing = order.stops.iter().find(|stop| stop.agreement.under_floor == UnderFloor::Refuse);
        if let Some(stop) = refusing {
            return Err(RouteError::Refused(UnderTheFloor {
                offer: offer.to_owned(),
                end_net: end.net,
                shares: wanted,
                available,
                refused_by: stop.partner.party.code.clone(),
            }));
        }
        shares = scale(&shares, available.minor())?;
    }
    for ((stop, agreed), share) in order.stops.iter().zip(&agreed).zip(&shares) {
        trail.step(|| {
            let code = &stop.partner.party.code;
            let rule = if scaled { Rule::ShareScaled } else { Rule::ShareWhole };
            let step = Step::new(format_args!("share.{code}"), rule, money(*share, order.currency))
                .figure("as agreed", money(*agreed, order.currency), format_args!("agreed.{code}"))
                .figure("net end price", money(end.net, order.currency), "end.net")
                .figure("cost to be carried", money(costs.carried, order.currency), "cost.carried")
                .figure("minimum contribution", money(minimum, order.currency), "minimum_contribution");
            if scaled { step.by(Rounding::LargestRemainder) } else { step }
        });
    }
    let mut sales = Vec::with_capacity(shares.len().saturating_add(1));
    let mut sold_at = end.net;
    sales.push(sold_at);
    for (index, share) in shares.iter().enumerate().rev() {
        let bought_at = sold_at.less(*share)?;
        trail.step(|| {
            let partner = order.stops.get(index).map_or("", |stop| stop.partner.party.code.as_str());
            Step::new(
                format_args!("sale.{}.net", index.saturating_add(1)),
                Rule::SaleNet,
                money(bought_at, order.currency),
            )
            .figure(
                "he sells at",
                money(sold_at, order.currency),
                format_args!("sale.{}.net", index.saturating_add(2)),
            )
            .figure("his share", money(*share, order.currency), format_args!("share.{partner}"))
        });
        sold_at = bought_at;
        sales.push(sold_at);
    }
    sales.reverse();
    trail.step(|| {
        Step::new(format_args!("sale.{}.net", sales.len()), Rule::SaleNet, money(end.net, order.currency))
            .figure("the end price", money(end.net, order.currency), "end.net")
    });
    trail.step(|| {
        let step = Step::new("workshop.net", Rule::WorkshopNet, money(sold_at, order.currency)).figure(
            "net end price",
            money(end.net, order.currency),
            "end.net",
        );
        order.stops.iter().zip(&shares).fold(step, |step, (stop, share)| {
            step.figure(
                "share",
                money(*share, order.currency),
                format_args!("share.{}", stop.partner.party.code),
            )
        })
    });
    trail.step(|| {
        let contribution =
            sold_at.over(costs.workshop).map_or_else(|_| String::new(), |left| money(left, order.currency));
        Step::new("contribution", Rule::Contribution, contribution)
            .figure("kept", money(sold_at, order.currency), "workshop.net")
            .figure("cost", money(costs.workshop, order.currency), "cost")
    });
    Ok(Shared { shares, workshop_net: sold_at, sales, scaled })
}

fn agreed_shares(
    order: &Order<'_>,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Vec<Share>, Overflow> {
    if order.stops.is_empty() {
        return Ok(Vec::new());
    }
    let nets = by_category(&end.lines)?;
    order.stops.iter().map(|stop| agreed_share(order, stop, units, end, &nets, trail)).collect()
}

/// The share of one partner: percent of the end price by category, rounded once, and his credits.
fn agreed_share(
    order: &Order<'_>,
    stop: &StopOrder<'_>,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    nets: &[i64; Category::ALL.len()],
    trail: &mut impl Trail,
) -> Result<Share, Overflow> {
    let code = &stop.partner.party.code;
    let agreement = stop.agreement;
    if !end.charged {
        // Nothing is sold, so there is nothing to share.
        trail.step(|| {
            Step::new(format_args!("agreed.{code}"), Rule::ShareAsAgreed, money(Share::ZERO, order.currency))
                .figure("net end price", money(end.net, order.currency), "end.net")
        });
        return Ok(Share::ZERO);
    }
    let mut hundredths = 0_i128;
    for &(category, percent) in &agreement.discounts {
        let net = nets.get(category as usize).copied().unwrap_or(0);
        let product = i128::from(net).checked_mul(i128::from(percent.scaled())).ok_or(Overflow)?;
        hundredths = hundredths.checked_add(product).ok_or(Overflow)?;
    }
    let exact = Exact::ratio(hundredths, 1_000_000)?;
    let discount: Share = exact.round()?;
    trail.step(|| {
        let step =
            Step::new(format_args!("discount.{code}"), Rule::Discount, money(discount, order.currency));
        let lines =
            agreement.discounts.iter().filter(|(category, _)| nets.get(*category as usize) != Some(&0));
        lines
            .fold(step, |step, (category, percent)| {
                let net =
                    Net::from_minor(nets.get(*category as usize).copied().unwrap_or(0)).unwrap_or_default();
                let shown = format!("{percent} % of {}", money(net, order.currency));
                step.tariff(
                    category.word(),
                    shown,
                    format_args!("discounts.csv {} {category}", agreement.code),
                )
            })
            .rounded(exact, Rounding::HalfUp)
    });
    let mut credits = Share::ZERO;
    for &work in &stop.takes_over {
        let credit = credit(order, stop, work, units, end, trail)?;
        credits = credits.plus(credit)?;
    }
    let share = discount.plus(credits)?.max(Share::ZERO);
    trail.step(|| {
        let step =
            Step::new(format_args!("agreed.{code}"), Rule::ShareAsAgreed, money(share, order.currency))
                .figure("discount", money(discount, order.currency), format_args!("discount.{code}"));
        stop.takes_over
            .iter()
            .fold(step, |step, work| step.figure("credit", "", format_args!("credit.{code}.{work}")))
    });
    Ok(share)
}

fn credit(
    order: &Order<'_>,
    stop: &StopOrder<'_>,
    work: Work,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Share, Overflow> {
    let each = stop
        .agreement
        .credits
        .iter()
        .find(|(credited, _)| *credited == work)
        .map_or(Net::ZERO, |&(_, net)| net);
    let leg = match work {
        Work::LegIn => Some(Item::LegIn),
        Work::LegOut => Some(Item::LegOut),
        Work::Removal | Work::Refitting | Work::Diagnosis => None,
    };
    // Work on site is done unit by unit; a leg is one for the whole consignment.
    let times = match leg {
        Some(_) => 1,
        None => i64::try_from(units.iter().filter(|unit| unit.charged).count()).map_err(|_| Overflow)?,
    };
    let exact = exactly(order.conversion.as_ref(), each)?.times_ratio(times, 1)?;
    let mut credit: Share = exact.round()?;
    let mut cap = None;
    if let Some(leg) = leg {
        let is_leg = |item: &Item<'_>| std::mem::discriminant(item) == std::mem::discriminant(&leg);
        let sold = Net::sum(end.lines.iter().filter(|line| is_leg(&line.id.item)).map(|line| line.net))?;
        cap = Some(sold);
        credit = credit.min(Share::from_minor(sold.minor())?);
    }
    trail.step(|| {
        let code = &stop.partner.party.code;
        let step =
            Step::new(format_args!("credit.{code}.{work}"), Rule::Credit, money(credit, order.currency))
                .tariff(
                    "credit",
                    money(each, order.edition.currency),
                    format_args!("credits.csv {} {work}", stop.agreement.code),
                )
                .rounded(exact, Rounding::HalfUp);
        let step = match cap {
            Some(cap) => step.job("at most the leg's sale amount", money(cap, order.currency), "net lines"),
            None => step.job("units", times, "units"),
        };
        match &order.conversion {
            Some(conversion) => with_rates(step, conversion),
            None => step,
        }
    });
    Ok(credit)
}

/// Scales all shares down to what the floor leaves; ties go to the partner nearer the customer.
fn scale(agreed: &[Share], available: i64) -> Result<Vec<Share>, Overflow> {
    let weights: Vec<i64> = agreed.iter().map(|share| share.minor()).collect();
    let scaled = split(available, &weights, Ties::Last).map_err(|_| Overflow)?;
    scaled.into_iter().map(Share::from_minor).collect()
}

/// Does the end price less the cost of a direct sale stay below the minimum contribution?
pub(crate) fn is_under_floor(end: &EndPrice<'_>, costs: &Costs, minimum: Net) -> bool {
    end.charged && end.net.over(costs.carried_direct).is_ok_and(|left| left < minimum)
}

/// Some line of these units is not charged for because a warranty is open.
pub(crate) fn covers_something(units: &[UnitCost<'_, '_>]) -> bool {
    units.iter().flat_map(|unit| &unit.lines).any(|line| line.sold == Sold::Free || line.carried != line.cost)
}
