//! Wear models.

use super::tools::Check;
use crate::tariff::entries::{Table, Wear};
use crate::tariff::rows::{WearModel, WearRow};

pub(super) fn wear(rows: &[WearRow], check: &mut Check) -> Table<Wear> {
    let sorted = check.sorted("wear", rows, |row| &row.code);
    let mut models = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        let capacitor = row.model == WearModel::Capacitor;
        let mut needed = |field: &str, given: bool, of_this_model: bool| match (given, of_this_model) {
            (false, true) => {
                check.error(place.at(field), "missing_wear_value", "", "a value for this wear model")
            }
            (true, false) => check.error(
                place.at(field),
                "wear_value_of_the_other_model",
                "a value",
                "nothing for this wear model",
            ),
            _ => {}
        };
        needed("rated_hours", row.rated_hours.is_some(), capacitor);
        needed("rated_celsius", row.rated_celsius.is_some(), capacitor);
        needed("service_celsius", row.service_celsius.is_some(), capacitor);
        needed("b10d", row.b10d.is_some(), !capacitor);
        needed("operations_per_cycle", row.operations_per_cycle.is_some(), !capacitor);
        if row.rated_hours == Some(0) {
            check.error(place.at("rated_hours"), "no_life", row.rated_hours, "hours above zero");
        }
        if row.b10d.is_some_and(|b10d| b10d == 0 || b10d > 1_000_000_000_000) {
            check.error(place.at("b10d"), "no_life", row.b10d, "1 to 1000000000000 operations");
        }
        for (field, celsius) in
            [("rated_celsius", row.rated_celsius), ("service_celsius", row.service_celsius)]
        {
            if celsius.is_some_and(|c| !(-100..=300).contains(&c)) {
                check.error(
                    place.at(field),
                    "no_such_temperature",
                    celsius.map(|c| c.to_string()),
                    "-100 to 300 degrees Celsius",
                );
            }
        }
        let kelvin = row.rated_celsius.unwrap_or(0).saturating_sub(row.service_celsius.unwrap_or(0));
        models.push(Wear {
            code: row.code.clone(),
            model: row.model,
            rated_hours: row.rated_hours.unwrap_or(1),
            kelvin_below_rating: kelvin.clamp(-400, 400),
            b10d: row.b10d.unwrap_or(1).max(1),
            operations_per_cycle: row.operations_per_cycle.unwrap_or_default(),
        });
    }
    Table::from_sorted(models)
}
