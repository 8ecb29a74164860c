//! Families and their fixed prices.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::tools::Check;
use crate::money::Net;
use crate::problem::Place;
use crate::tariff::entries::{Family, FlatPrice, RefreshList, Table, Test};
use crate::tariff::rows::{Method, Tariff};
use crate::text::Code;

pub(super) fn families(
    tariff: &Tariff,
    tests: &Table<Test>,
    refresh: &Table<RefreshList>,
    check: &mut Check,
) -> Table<Family> {
    let mut flat_prices: BTreeMap<&Code, Vec<Arc<FlatPrice>>> = BTreeMap::new();
    for (index, row) in tariff.flat_prices.iter().enumerate() {
        let place = Place::row("flat_prices", index);
        let net = check.minor(place.at("net"), row.net);
        match tariff.families.iter().find(|family| family.code == row.family) {
            None => {
                let known = tariff.families.iter().map(|family| &family.code);
                check.unknown(place.at("family"), "unknown_family", &row.family, known, "families.csv");
            }
            Some(family) if family.method != Method::Flat => {
                check.error(
                    place.at("family"),
                    "flat_price_of_built_up_family",
                    &row.family,
                    "a family whose method is flat",
                );
            }
            Some(_) => {}
        }
        let classes = flat_prices.entry(&row.family).or_default();
        if classes.iter().any(|price| price.class == row.class) {
            check.error(place.at("class"), "given_twice", &row.class, "each class once for a family");
        } else {
            classes.push(Arc::new(FlatPrice { class: row.class.clone(), text: row.text.clone(), net }));
        }
    }
    let sorted = check.sorted("families", &tariff.families, |row| &row.code);
    let mut families = Vec::with_capacity(sorted.len());
    for (place, row) in sorted {
        let test = check.reference(place.at("test"), "unknown_test", &row.test, tests, "tests.csv");
        let refresh = row.refresh.as_ref().and_then(|code| {
            check.reference(place.at("refresh"), "unknown_refresh_list", code, refresh, "refresh.csv")
        });
        let exchange = match (row.exchange_cost, row.exchange_net) {
            (Some(cost), Some(net)) => Some((cost, check.minor(place.at("exchange_net"), net))),
            (None, None) => None,
            (Some(_), None) => {
                check.error(
                    place.at("exchange_net"),
                    "half_an_exchange",
                    "",
                    "what an exchange unit is sold at, beside its cost",
                );
                None
            }
            (None, Some(_)) => {
                check.error(
                    place.at("exchange_cost"),
                    "half_an_exchange",
                    "",
                    "what an exchange unit costs, beside its price",
                );
                None
            }
        };
        if let Some(months) = row.warranty_months {
            check.months(place.at("warranty_months"), months);
        }
        if row.duty_hours_per_day > 24 {
            check.error(
                place.at("duty_hours_per_day"),
                "long_day",
                row.duty_hours_per_day,
                "at most 24 hours",
            );
        }
        let mut prices = flat_prices.remove(&row.code).unwrap_or_default();
        prices.sort_by(|a, b| a.class.cmp(&b.class));
        if row.method == Method::Flat && !prices.iter().any(|price| price.class.as_str() == "standard") {
            check.error(
                place.at("method"),
                "no_standard_price",
                "flat",
                "a row of class `standard` in flat_prices.csv",
            );
        }
        let replacement_value = check.minor(place.at("replacement_value"), row.replacement_value);
        if replacement_value == Net::ZERO {
            check.warning(
                place.at("replacement_value"),
                "no_replacement_value",
                row.replacement_value,
                "what a new one costs; every repair counts as uneconomic",
            );
        }
        let rank = families.len();
        if let Some(test) = test {
            families.push(Family {
                rank,
                code: row.code.clone(),
                text: row.text.clone(),
                method: row.method,
                test,
                refresh,
                replacement_value,
                exchange,
                warranty_months: row.warranty_months.unwrap_or(tariff.terms.warranty_months),
                duty_hours_per_day: row.duty_hours_per_day,
                flat_prices: prices,
            });
        }
    }
    Table::from_sorted(families)
}
