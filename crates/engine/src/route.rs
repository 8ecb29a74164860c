//! The route: what each partner keeps of the end price, and what each buyer pays.
//!
//! The end price comes in and is shared out; nothing here can change it.

use compact_str::CompactString;

use crate::convert::convert;
use crate::cost::UnitCost;
use crate::money::{Exact, Net, Overflow, Share, Ties, kernel, split};
use crate::order::{Order, StopOrder};
use crate::price::{EndPrice, with_rates};
use crate::role::Role;
use crate::share::agreed_shares;
use crate::spent::Spent;
use crate::tariff::UnderFloor;
use crate::trail::{Rounding, Rule, Step, Trail, money};

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
    pub offer: CompactString,
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

/// What the workshop has to keep over its cost.
pub(crate) fn minimum_contribution(
    order: &Order<'_>,
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<Net, Overflow> {
    let rules = &order.edition.price;
    let exact = Exact::from_minor(end.net.minor()).percent(rules.minimum_contribution_percent)?;
    let of_price: Net = exact.round()?;
    let amount = convert(order.conversion.as_ref(), rules.minimum_contribution)?;
    let minimum = of_price.max(amount);
    trail.step(|| {
        let shown = money(minimum, order.currency);
        let step = Step::new("minimum_contribution", Rule::MinimumContribution, shown)
            .tariff(
                Role::Amount,
                money(rules.minimum_contribution, order.edition.currency),
                "edition.toml price.minimum_contribution",
            )
            .tariff(
                Role::Percentage,
                format_args!("{} %", rules.minimum_contribution_percent),
                "edition.toml price.minimum_contribution_percent",
            )
            .figure(Role::NetEndPrice, money(end.net, order.currency), "end.net");
        let step = with_rates(step, order.conversion.as_ref());
        // What is shown as exact is what was rounded: the percentage, where that is the larger.
        if of_price > amount { step.rounded(exact, order.currency) } else { step }
    });
    Ok(minimum)
}

/// Shares the end price out over the route.
pub(crate) fn share_out(
    order: &Order<'_>,
    offer: &str,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    costs: &Spent,
    minimum: Net,
    trail: &mut impl Trail,
) -> Result<Shared, RouteError> {
    let agreed = agreed_shares(order, units, end, trail)?;
    // Only held against what there is: it may be more than an amount of a quote can.
    let wanted = agreed.iter().fold(0_i128, |sum, share| sum.saturating_add(share.wide()));
    // What is left for shares once cost and the minimum contribution are met.
    let left = end.net.wide().saturating_sub(costs.carried.wide()).saturating_sub(minimum.wide());
    let available = Net::from_wide(left.max(0))?;
    let scaled = end.charged && wanted > available.wide();
    trail.step(|| {
        Step::new("available", Rule::Available, money(available, order.currency))
            .figure(Role::NetEndPrice, money(end.net, order.currency), "end.net")
            .figure(Role::CostToBeCarried, money(costs.carried, order.currency), "cost.carried")
            .figure(Role::MinimumContribution, money(minimum, order.currency), "minimum_contribution")
    });
    let mut shares = agreed.clone();
    if scaled {
        let refusing = order.stops.iter().find(|stop| stop.agreement.under_floor == UnderFloor::Refuse);
        if let Some(stop) = refusing {
            return Err(RouteError::Refused(UnderTheFloor {
                offer: offer.into(),
                end_net: end.net,
                shares: Share::from_wide(wanted)?,
                available,
                refused_by: stop.partner.party.code.clone(),
            }));
        }
        shares = scale(&shares, available.minor())?;
    }
    told_shares(order, &agreed, &shares, scaled, available, trail);
    let kept: Vec<i128> = shares.iter().map(|share| share.wide()).collect();
    let sales = kernel::walk_back(&end.net.wide(), &kept)?;
    let sales = sales.into_iter().map(Net::from_wide).collect::<Result<Vec<_>, _>>()?;
    let workshop_net = sales.first().copied().unwrap_or(end.net);
    told_sales(order, &shares, &sales, trail);
    trail.step(|| {
        let step = Step::new("workshop.net", Rule::WorkshopNet, money(workshop_net, order.currency)).figure(
            Role::NetEndPrice,
            money(end.net, order.currency),
            "end.net",
        );
        order.stops.iter().zip(&shares).fold(step, |step, (stop, share)| {
            step.figure(
                Role::Share,
                money(*share, order.currency),
                format_args!("share.{}", stop.partner.party.code),
            )
        })
    });
    trail.step(|| {
        let contribution = workshop_net
            .over(costs.workshop)
            .map_or_else(|_| String::new(), |left| money(left, order.currency).to_string());
        Step::new("contribution", Rule::Contribution, contribution)
            .figure(Role::Kept, money(workshop_net, order.currency), "workshop.net")
            .figure(Role::Cost, money(costs.workshop, order.currency), "cost")
    });
    Ok(Shared { shares, workshop_net, sales, scaled })
}

fn told_shares(
    order: &Order<'_>,
    agreed: &[Share],
    shares: &[Share],
    scaled: bool,
    available: Net,
    trail: &mut impl Trail,
) {
    let name = |stop: &StopOrder<'_>| stop.partner.party.code.clone();
    for (stop, share) in order.stops.iter().zip(shares) {
        trail.step(|| {
            let rule = if scaled { Rule::ShareScaled } else { Rule::ShareWhole };
            let step = Step::new(format_args!("share.{}", name(stop)), rule, money(*share, order.currency));
            let all = order.stops.iter().zip(agreed).fold(step, |step, (stop, agreed)| {
                step.figure(
                    Role::AsAgreed,
                    money(*agreed, order.currency),
                    format_args!("agreed.{}", name(stop)),
                )
            });
            let step = all.figure(Role::TheFloorLeaves, money(available, order.currency), "available");
            if scaled { step.by(Rounding::LargestRemainder) } else { step }
        });
    }
}

fn told_sales(order: &Order<'_>, shares: &[Share], sales: &[Net], trail: &mut impl Trail) {
    for (number, &net) in (1_usize..).zip(sales) {
        let between =
            number.checked_sub(1).and_then(|index| Some((order.stops.get(index)?, shares.get(index)?)));
        trail.step(|| {
            let shown = money(net, order.currency);
            let step = Step::new(format_args!("sale.{number}.net"), Rule::SaleNet, shown);
            let (Some((stop, share)), Some(&next)) = (between, sales.get(number)) else {
                return step.figure(Role::TheEndPrice, shown, "end.net");
            };
            let code = &stop.partner.party.code;
            step.figure(
                Role::WhatHeSellsAt,
                money(next, order.currency),
                format_args!("sale.{}.net", number.saturating_add(1)),
            )
            .figure(Role::HisShare, money(*share, order.currency), format_args!("share.{code}"))
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
pub(crate) fn is_under_floor(end: &EndPrice<'_>, costs: &Spent, minimum: Net) -> bool {
    end.charged && end.net.over(costs.carried_direct).is_ok_and(|left| left < minimum)
}
