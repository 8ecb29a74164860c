//! One way to do the job, priced from end to end. This is the flow to read first.

use crate::convert::exactly;
use crate::cost::{UnitCost, unit_cost};
use crate::courier::consignment;
use crate::flag::Flag;
use crate::money::{Cost, Exact, Gross, Net, Overflow, Share, Ties, Vat, split};
use crate::order::{OfferOrder, Order};
use crate::price::{EndPrice, end_price, with_rates};
use crate::role::Role;
use crate::route::{self, RouteError, Shared, share_out};
use crate::shown::Shown;
use crate::spent::{Spent, covers_something, spent};
use crate::supply::{self, Supply, Taxable, VatCategory, VatGroup};
use crate::trail::{Rounding, Rule, Step, Trail, Unrounded, money};

/// Everything computed about one way to do the job.
pub(crate) struct Priced<'o, 'a> {
    pub(crate) offer: &'o OfferOrder<'a>,
    pub(crate) units: Vec<UnitCost<'o, 'a>>,
    pub(crate) end: EndPrice<'a>,
    pub(crate) vat_due: Option<Vat>,
    pub(crate) spent: Spent,
    pub(crate) shared: Shared,
    pub(crate) sales: Vec<SaleFigures>,
    pub(crate) flags: Vec<Flag>,
}

/// Plan, cost, end price; then route and VAT, which take the end price as given.
pub(crate) fn priced<'o, 'a>(
    order: &'o Order<'a>,
    offer: &'o OfferOrder<'a>,
    trail: &mut impl Trail,
) -> Result<Priced<'o, 'a>, RouteError> {
    let consignment = consignment(order, trail)?;
    let units = offer
        .units
        .iter()
        .map(|unit| unit_cost(order, unit, &consignment, trail))
        .collect::<Result<Vec<_>, _>>()?;
    let end = end_price(order, &units, trail)?;
    let vat_due = vat_due(order, end.net, trail)?;

    let spent = spent(order, &units, end.charged, trail)?;
    let minimum = route::minimum_contribution(order, &end, trail)?;
    let shared = share_out(order, offer.id, &units, &end, &spent, minimum, trail)?;
    let sales = sales(order, &end, &shared, trail)?;

    let mut flags = Vec::new();
    let mut raise = |flag: Flag, is: bool| {
        if is {
            flags.push(flag);
        }
    };
    raise(Flag::Uneconomic, is_uneconomic(order, &units, &end, trail)?);
    raise(Flag::UnderFloor, route::is_under_floor(&end, &spent, minimum));
    raise(Flag::SharesScaled, shared.scaled);
    raise(Flag::WearUnknown, units.iter().any(|unit| unit.plan.wear_unknown));
    raise(Flag::UnderWarranty, covers_something(&units));
    raise(Flag::VatNotKnown, vat_due.is_none());
    raise(Flag::GoodsInChain, is_goods_in_chain(order, &end));
    raise(Flag::SeveralInvoices, sales.iter().any(SaleFigures::needs_two_invoices));
    Ok(Priced { offer, units, end, vat_due, spent, shared, sales, flags })
}

/// What VAT comes to in the end customer's country, whoever declares it there.
fn vat_due(order: &Order<'_>, net: Net, trail: &mut impl Trail) -> Result<Option<Vat>, Overflow> {
    let Some(rate) = order.customer_vat_rate else { return Ok(None) };
    let due = supply::vat(net, rate)?;
    let exact = Exact::from_minor(net.minor()).percent(rate)?;
    let gross = net.with_vat(due)?;
    let country = order.job.customer.country;
    trail.step(|| {
        Step::new("end.vat_due", Rule::VatDue, money(due, order.currency))
            .figure(Role::NetEndPrice, money(net, order.currency), "end.net")
            .tariff(
                Role::Rate,
                format_args!("{rate} %"),
                format_args!("vat_rates.csv {country} on {}", order.tax_date),
            )
            .rounded(exact, order.currency)
    });
    trail.step(|| {
        Step::new("end.gross", Rule::EndGross, money(gross, order.currency))
            .figure(Role::Net, money(net, order.currency), "end.net")
            .figure(Role::VatDue, money(due, order.currency), "end.vat_due")
    });
    Ok(Some(due))
}

/// From the workshop outward: what each buyer pays, by line, and the VAT of each sale.
fn sales(
    order: &Order<'_>,
    end: &EndPrice<'_>,
    shared: &Shared,
    trail: &mut impl Trail,
) -> Result<Vec<SaleFigures>, Overflow> {
    let weights: Vec<i64> = end.lines.iter().map(|line| line.net.minor()).collect();
    let mut sales = Vec::with_capacity(shared.sales.len());
    for (index, &net) in shared.sales.iter().enumerate() {
        let number = index.saturating_add(1);
        let lines: Vec<Net> = if net == end.net {
            end.lines.iter().map(|line| line.net).collect()
        } else {
            let parts = split(net.minor(), &weights, Ties::First).map_err(|_| Overflow)?;
            parts.into_iter().map(Net::from_minor).collect::<Result<_, _>>()?
        };
        let services = services(order, index);
        let with_goods = lines.iter().zip(&end.lines).map(|(net, line)| (*net, line.goods));
        let vat = supply::groups(services, goods(order, services), with_goods)?;
        let gross = supply::gross(net, &vat)?;
        for (line, amount) in end.lines.iter().zip(&lines) {
            trail.step(|| {
                Step::new(
                    format_args!("sale.{number}.line.{}", line.id),
                    Rule::SaleLine,
                    money(*amount, order.currency),
                )
                .figure(
                    Role::WhatTheBuyerPaysInAll,
                    money(net, order.currency),
                    format_args!("sale.{number}.net"),
                )
                .figure(
                    Role::LineOfTheEndPrice,
                    money(line.net, order.currency),
                    format_args!("net.{}", line.id),
                )
                .figure(Role::NetEndPrice, money(end.net, order.currency), "end.net")
                // The last sale is the end price itself.
                .by(if net == end.net { Rounding::None } else { Rounding::LargestRemainder })
            });
        }
        let sale = SaleFigures { net, lines, vat, gross };
        told_vat(order, number, end, &sale, services, trail);
        sales.push(sale);
    }
    Ok(sales)
}

fn told_vat(
    order: &Order<'_>,
    number: usize,
    end: &EndPrice<'_>,
    sale: &SaleFigures,
    services: Supply,
    trail: &mut impl Trail,
) {
    let currency = order.currency;
    for group in &sale.vat {
        trail.step(|| {
            let step = Step::new(vat_name(number, sale, group), Rule::SaleVat, money(group.tax, currency));
            let of_line = |goods_line: bool| if goods_line { goods(order, services) } else { services };
            let lines = || {
                let own = |is_goods: bool| of_line(is_goods).group(is_goods) == (group.category, group.rate);
                sale.lines.iter().zip(&end.lines).filter(move |(_, line)| own(line.goods))
            };
            let step = match sale.vat.as_slice() {
                [_] => {
                    step.figure(Role::Base, money(group.base, currency), format_args!("sale.{number}.net"))
                }
                _ => lines().fold(step, |step, (net, line)| {
                    step.figure(
                        Role::Base,
                        money(*net, currency),
                        format_args!("sale.{number}.line.{}", line.id),
                    )
                }),
            };
            let supply = of_line(lines().next().is_some_and(|(_, line)| line.goods));
            let (seller, buyer) = (supply.seller.country, supply.buyer.country);
            let shown = Shown::Supply { seller, buyer, category: group.category.code() };
            let step = step.job(Role::PlaceOfSupply, shown, "route, customer.country");
            match group.rate {
                Some(rate) if group.category == VatCategory::S => {
                    let exact = Exact::from_minor(group.base.minor()).percent(rate).unwrap_or(Exact::ZERO);
                    let place = format!("vat_rates.csv {buyer} on {}", order.tax_date);
                    step.tariff(Role::Rate, format_args!("{rate} %"), place).rounded(exact, currency)
                }
                _ => step,
            }
        });
    }
    trail.step(|| {
        let step =
            Step::new(format_args!("sale.{number}.gross"), Rule::SaleGross, money(sale.gross, currency))
                .figure(Role::Net, money(sale.net, currency), format_args!("sale.{number}.net"));
        sale.vat.iter().fold(step, |step, group| {
            step.figure(Role::Vat, money(group.tax, currency), vat_name(number, sale, group))
        })
    });
}

/// The figure of a VAT group; with its rate where one category stands there at two.
fn vat_name(number: usize, sale: &SaleFigures, group: &VatGroup) -> String {
    let code = group.category.code();
    let alone = sale.vat.iter().filter(|other| other.category == group.category).count() == 1;
    match group.rate {
        Some(rate) if !alone => format!("sale.{number}.vat.{code}-{rate}"),
        _ => format!("sale.{number}.vat.{code}"),
    }
}

/// Services are supplied between seller and buyer of the sale.
fn services(order: &Order<'_>, index: usize) -> Supply {
    let before = index.checked_sub(1).and_then(|before| order.stops.get(before));
    let seller = Taxable::party(before.map_or(&order.edition.workshop, |stop| &stop.partner.party));
    let buyer =
        order.stops.get(index).map_or_else(|| customer(order), |stop| Taxable::party(&stop.partner.party));
    let within = seller.country == buyer.country;
    let rate = if within { order.edition.vat_rate(seller.country, order.tax_date) } else { None };
    Supply { seller, buyer, rate }
}

/// Goods that stay in one country are supplied there, whoever sells them.
fn goods(order: &Order<'_>, services: Supply) -> Supply {
    let there = customer(order);
    match order.edition.workshop.country == there.country {
        true => Supply { seller: there, buyer: there, rate: order.customer_vat_rate },
        false => services,
    }
}

fn customer(order: &Order<'_>) -> Taxable {
    Taxable {
        country: order.job.customer.country,
        covers_goods_only: order.customer_vat_id.as_ref().is_some_and(|id| id.covers_goods_only()),
    }
}

/// Does the net end price, or what one of several units comes to, pass the tariff's share of the
/// replacement value?
fn is_uneconomic(
    order: &Order<'_>,
    units: &[UnitCost<'_, '_>],
    end: &EndPrice<'_>,
    trail: &mut impl Trail,
) -> Result<bool, Overflow> {
    let conversion = order.conversion.as_ref();
    let share = order.edition.price.uneconomic_percent;
    let most = |value: Net| exactly(conversion, value)?.percent(share);
    let passes = |net: Net, most: Exact| {
        Ok::<_, Overflow>(Exact::from_minor(net.minor()).compare(most)? == std::cmp::Ordering::Greater)
    };
    let whole = most(Net::sum(units.iter().map(|unit| unit.order.family.replacement_value))?)?;
    trail.step(|| {
        let shown = Unrounded(whole, order.currency);
        let step = Step::new("uneconomic.threshold", Rule::Threshold, shown).tariff(
            Role::Percentage,
            format_args!("{share} %"),
            "edition.toml price.uneconomic_percent",
        );
        let step = units.iter().fold(step, |step, unit| {
            let family = unit.order.family;
            let shown = money(family.replacement_value, order.edition.currency);
            step.tariff(Role::ReplacementValue, shown, format_args!("families.csv {}", family.code))
        });
        with_rates(step, conversion)
    });
    let as_a_whole = passes(end.net, whole)?;
    if as_a_whole || units.len() == 1 {
        return Ok(as_a_whole);
    }
    for unit in units {
        let own = end.lines.iter().filter(|line| line.id.unit.is_some_and(|u| u.id == unit.order.unit.id));
        if passes(Net::sum(own.map(|line| line.net))?, most(unit.order.family.replacement_value)?)? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Goods sold through a chain that is not all in one country: which sale carries the transport, and
/// who declares the VAT where, is not decided here.
fn is_goods_in_chain(order: &Order<'_>, end: &EndPrice<'_>) -> bool {
    let home = order.edition.workshop.country;
    let mut others = order.stops.iter().map(|stop| stop.partner.party.country);
    let abroad = others.any(|country| country != home) || order.job.customer.country != home;
    abroad && !order.stops.is_empty() && end.lines.iter().any(|line| line.goods)
}

/// The figures of one way to do the job, without texts and working.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figures {
    /// Which way to do the job: 0 is the job itself, 1 its first alternative.
    pub index: usize,
    /// What the end customer pays, before VAT.
    pub end_net: Net,
    /// Its lines, in the order of the quote.
    pub lines: Vec<Net>,
    /// VAT in the end customer's country; none where no rate is known for it.
    pub vat_due: Option<Vat>,
    /// What the workshop spends.
    pub cost: Cost,
    /// What each partner keeps, nearest to the workshop first.
    pub shares: Vec<Share>,
    /// What the workshop keeps.
    pub workshop_net: Net,
    /// Each sale from the workshop outward: net, by line, VAT, gross.
    pub sales: Vec<SaleFigures>,
    /// What somebody should know.
    pub flags: Vec<Flag>,
}

/// The figures of one sale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SaleFigures {
    /// What the buyer pays, before VAT.
    pub net: Net,
    /// By the lines of the end price.
    pub lines: Vec<Net>,
    /// VAT by category and rate.
    pub vat: Vec<VatGroup>,
    /// With VAT.
    pub gross: Gross,
}

impl SaleFigures {
    fn needs_two_invoices(&self) -> bool {
        supply::needs_two_invoices(self.vat.iter().map(|group| group.category))
    }
}

impl Priced<'_, '_> {
    pub(crate) fn figures(self, index: usize) -> Figures {
        Figures {
            index,
            end_net: self.end.net,
            lines: self.end.lines.iter().map(|line| line.net).collect(),
            vat_due: self.vat_due,
            cost: self.spent.workshop,
            shares: self.shared.shares,
            workshop_net: self.shared.workshop_net,
            sales: self.sales,
            flags: self.flags,
        }
    }
}
