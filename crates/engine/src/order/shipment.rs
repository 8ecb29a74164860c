//! The parcels of a job and the courier rate that applies to them.

use super::{MOST_PARCELS, MOST_UNITS, Shipment, too_many};
use crate::job::{Job, Parcel, Unit};
use crate::money::Quantity;
use crate::problem::{Place, Problem};
use crate::tariff::Edition;
use crate::weight::{chargeable_grams, kilograms};

/// By the end customer's address, whatever the route.
pub(super) fn shipment<'a>(
    job: &Job,
    edition: &'a Edition,
    problems: &mut Vec<Problem>,
) -> Option<Shipment<'a>> {
    let customer = &job.customer;
    let rule = edition.zone(customer.country, customer.postcode.as_str());
    if rule.is_none() {
        let found = format!("{} {}", customer.country, customer.postcode);
        let place = Place::field("customer").at("country");
        problems.push(Problem::error(
            place,
            "no_courier_zone",
            found.trim_end(),
            "an address with a row in zones.csv",
        ));
    }
    let before = problems.len();
    for (index, unit) in job.units.iter().enumerate().take(MOST_UNITS) {
        parcels(|| Place::field("units").nth(index), unit, problems);
    }
    let first = || Place::field("units").nth(0).at("parcels");
    if !job.units.is_empty() && job.units.iter().all(|unit| unit.parcels.is_empty()) {
        problems.push(Problem::error(first(), "no_parcels", "", "at least one parcel in the job"));
    }
    if problems.len() > before || job.units.len() > MOST_UNITS {
        return None;
    }
    let zone = rule?.zone.as_ref();
    let grams_of = |parcels: &[Parcel]| {
        chargeable_grams(parcels, edition.courier.volumetric_divisor, edition.courier.weight_step_kg)
    };
    let weights = job.units.iter().map(|unit| grams_of(&unit.parcels)).collect::<Result<Vec<_>, _>>();
    let grams = match job.units.as_slice() {
        [one] => grams_of(&one.parcels),
        units => grams_of(&units.iter().flat_map(|unit| unit.parcels.iter().cloned()).collect::<Vec<_>>()),
    };
    let (weights, grams) = (weights.ok()?, grams.ok()?);
    let Some(&(up_to, leg_cost)) = zone.rates.iter().find(|(up_to, _)| up_to.scaled() >= grams) else {
        let heaviest = zone.rates.last().map_or(Quantity::ZERO, |&(up_to, _)| up_to);
        let expected = format!("at most {heaviest} kg, the heaviest rate of zone {}", zone.code);
        problems.push(Problem::error(
            first(),
            "too_heavy",
            format_args!("{} kg chargeable", kilograms(grams)),
            expected,
        ));
        return None;
    };
    Some(Shipment { zone, grams, weights, up_to, leg_cost })
}

fn parcels(at: impl Fn() -> Place, unit: &Unit, problems: &mut Vec<Problem>) {
    too_many(|| at().at("parcels"), unit.parcels.len(), MOST_PARCELS, problems);
    for (index, parcel) in unit.parcels.iter().enumerate() {
        let at = || at().at("parcels").nth(index);
        for (field, length) in
            [("length_cm", parcel.length_cm), ("width_cm", parcel.width_cm), ("height_cm", parcel.height_cm)]
        {
            // Two decimals of a centimetre keep a volume exact; no courier measures finer.
            if length.is_zero() || length.scaled() > 1_000_000 {
                problems.push(Problem::error(
                    at().at(field),
                    "no_such_parcel",
                    length,
                    "more than 0 and at most 1000 cm",
                ));
            }
        }
        if parcel.weight_kg.is_zero() || parcel.weight_kg.scaled() > 10_000_000 {
            problems.push(Problem::error(
                at().at("weight_kg"),
                "no_such_parcel",
                parcel.weight_kg,
                "more than 0 and at most 10000 kg",
            ));
        }
    }
}
