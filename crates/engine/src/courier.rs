//! The courier: what a leg costs, and each unit's share of a consignment.

use crate::money::{Cost, Exact, Overflow, Ties, split};
use crate::order::Order;
use crate::role::Role;
use crate::trail::{Rule, Step, Trail, Unrounded, money, price};
use crate::weight::kilograms;

/// A consignment's courier cost, and each unit's share of it, in the tariff's currency.
pub(crate) struct Consignment {
    /// One leg of the whole consignment.
    pub(crate) leg: Cost,
    /// Packaging of the whole consignment.
    pub(crate) parcels: Cost,
    /// Each unit's share of a leg, and of the packaging.
    pub(crate) legs: Vec<Cost>,
    pub(crate) packaging: Vec<Cost>,
}

/// Computes one leg and the packaging once for all units and shares them out by chargeable weight.
/// Both legs cost the same: the courier's rates go by the end customer's zone.
pub(crate) fn consignment(order: &Order<'_>, trail: &mut impl Trail) -> Result<Consignment, Overflow> {
    let rules = &order.edition.courier;
    let currency = order.edition.currency;
    let units = &order.job.units;
    let shipment = &order.shipment;

    let declared = units
        .iter()
        .try_fold(Exact::ZERO, |sum, unit| sum.plus(Exact::from_unit_price(unit.declared_value, currency)))?;
    let insurance = declared
        .percent(rules.insurance_percent)?
        .max(Exact::from_unit_price(rules.insurance_minimum, currency))?;
    let leg_exact = Exact::from_unit_price(shipment.leg_cost, currency)
        .plus_percent(rules.fuel_percent)?
        .plus(insurance)?;
    let leg: Cost = leg_exact.round()?;
    let count =
        i64::try_from(units.iter().map(|unit| unit.parcels.len()).sum::<usize>()).map_err(|_| Overflow)?;
    let packaging_exact =
        Exact::from_unit_price(rules.packaging_per_parcel, currency).times_ratio(count, 1)?;
    let packaging: Cost = packaging_exact.round()?;

    trail.step(|| {
        let shown = format!("{} kg", kilograms(shipment.grams));
        let step = Step::new("consignment.chargeable_weight", Rule::ChargeableWeight, shown);
        let parcels = units
            .iter()
            .enumerate()
            .flat_map(|(unit, of)| of.parcels.iter().enumerate().map(move |(parcel, of)| (unit, parcel, of)));
        parcels
            .fold(step, |step, (unit, parcel, of)| {
                let size = format!("{} x {} x {} cm", of.length_cm, of.width_cm, of.height_cm);
                step.job(
                    Role::Parcel,
                    format_args!("{size}, {} kg", of.weight_kg),
                    format_args!("units[{unit}].parcels[{parcel}]"),
                )
            })
            .tariff(
                Role::Divisor,
                format_args!("{} cm3/kg", rules.volumetric_divisor),
                "edition.toml courier.volumetric_divisor",
            )
            .tariff(
                Role::Step,
                format_args!("{} kg", rules.weight_step_kg),
                "edition.toml courier.weight_step_kg",
            )
    });
    trail.step(|| {
        Step::new("consignment.insurance", Rule::Insurance, Unrounded(insurance, currency))
            .job(Role::DeclaredValue, Unrounded(declared, currency), "units[].declared_value")
            .tariff(
                Role::Percentage,
                format_args!("{} %", rules.insurance_percent),
                "edition.toml courier.insurance_percent",
            )
            .tariff(
                Role::Minimum,
                price(rules.insurance_minimum, currency),
                "edition.toml courier.insurance_minimum",
            )
    });
    trail.step(|| leg_step(order, insurance).rounded(leg_exact, currency).result(money(leg, currency)));
    trail.step(|| {
        Step::new("consignment.packaging", Rule::PackagingOfConsignment, "")
            .job(Role::Parcels, count, "units[].parcels")
            .tariff(
                Role::Each,
                price(rules.packaging_per_parcel, currency),
                "edition.toml courier.packaging_per_parcel",
            )
            .rounded(packaging_exact, currency)
            .result(money(packaging, currency))
    });
    Ok(Consignment {
        leg,
        parcels: packaging,
        legs: shares(leg, &shipment.weights)?,
        packaging: shares(packaging, &shipment.weights)?,
    })
}

fn leg_step(order: &Order<'_>, insurance: Exact) -> Step {
    let rules = &order.edition.courier;
    let currency = order.edition.currency;
    Step::new("consignment.leg", Rule::LegOfConsignment, "")
        .tariff(
            Role::RateOfTheLeg,
            price(order.shipment.leg_cost, currency),
            format_args!("courier_rates.csv {} up to {} kg", order.shipment.zone.code, order.shipment.up_to),
        )
        .figure(
            Role::ChargeableWeight,
            format_args!("{} kg", kilograms(order.shipment.grams)),
            "consignment.chargeable_weight",
        )
        .tariff(Role::Fuel, format_args!("{} %", rules.fuel_percent), "edition.toml courier.fuel_percent")
        .figure(Role::Insurance, Unrounded(insurance, currency), "consignment.insurance")
}

fn shares(cost: Cost, weights: &[i64]) -> Result<Vec<Cost>, Overflow> {
    if let [_] = weights {
        return Ok(vec![cost]);
    }
    let parts = split(cost.minor(), weights, Ties::First).map_err(|_| Overflow)?;
    parts.into_iter().map(Cost::from_minor).collect()
}
