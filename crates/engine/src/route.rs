//! The route: what each partner keeps of the end price, and what each buyer pays.
//!
//! The end price comes in and is shared out; nothing here can change it.

use crate::category::Work;
use crate::convert::convert;
use crate::cost::{Sold, UnitCost};
use crate::line::Item;
use crate::money::{Cost, Exact, Net, Overflow, Share, Ties, split};
use crate::order::Order;
use crate::price::{EndPrice, with_rates};
use crate::share::agreed_shares;
use crate::tariff::UnderFloor;
use crate::trail::{Rounding, Rule, Step, Trail, money};

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
                with_rates(step, conversion).rounded(exact, order.currency)
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
                .rounded(exact, order.currency);
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
    let mut sold_at = end.net;
    let mut sales = vec![sold_at];
    for share in shares.iter().rev() {
        sold_at = sold_at.less(*share)?;
        sales.push(sold_at);
    }
    sales.reverse();
    told_sales(order, &shares, &sales, trail);
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

fn told_sales(order: &Order<'_>, shares: &[Share], sales: &[Net], trail: &mut impl Trail) {
    for (number, &net) in (1_usize..).zip(sales) {
        let between =
            number.checked_sub(1).and_then(|index| Some((order.stops.get(index)?, shares.get(index)?)));
        trail.step(|| {
            let shown = money(net, order.currency);
            let step = Step::new(format_args!("sale.{number}.net"), Rule::SaleNet, &shown);
            let (Some((stop, share)), Some(&next)) = (between, sales.get(number)) else {
                return step.figure("the end price", shown, "end.net");
            };
            let code = &stop.partner.party.code;
            step.figure(
                "what he sells at",
                money(next, order.currency),
                format_args!("sale.{}.net", number.saturating_add(1)),
            )
            .figure("his share", money(*share, order.currency), format_args!("share.{code}"))
        });
    }
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
