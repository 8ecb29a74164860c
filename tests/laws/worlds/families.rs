//! The families: how their price comes about, their refresh lists, and how parts age.

use evenfare_engine::money::Quantity;
use evenfare_engine::tariff::{FamilyRow, FlatPriceRow, Method, RefreshRow, Trigger, WearModel, WearRow};
use evenfare_engine::text::Code;

use super::bench::{Bench, step};
use super::figures::{Coins, named, numbered, quantity, text};
use super::{code, kind};
use crate::tape::Tape;

pub fn wear(tape: &Tape) -> Vec<WearRow> {
    let model = |number: usize| {
        let mut draw = tape.draw(kind::WEAR, number);
        let code = named(&mut draw, "W", number);
        let none = WearRow {
            code,
            model: WearModel::Contacts,
            rated_hours: None,
            rated_celsius: None,
            service_celsius: None,
            b10d: None,
            operations_per_cycle: None,
        };
        if draw.chance(50) {
            WearRow {
                model: WearModel::Capacitor,
                rated_hours: Some(draw.within(1, 20_000) as u32),
                rated_celsius: Some(draw.within(-8, 30) as i32 * 5),
                service_celsius: Some(if draw.chance(70) {
                    draw.within(-8, 30) as i32 * 5
                } else {
                    draw.within(-40, 150) as i32
                }),
                ..none
            }
        } else {
            let b10d = if draw.chance(20) {
                draw.within(1, 1_000_000_000) * 1_000
            } else {
                draw.within(1, 9_000) * 1_000
            };
            WearRow {
                b10d: Some(b10d as u64),
                operations_per_cycle: Some(quantity(&mut draw, 0, 20_000)),
                ..none
            }
        }
    };
    (0..tape.draw(kind::WEAR, 15).below(4) as usize).map(model).collect()
}

/// Rows of one or two lists.
pub fn refresh(tape: &Tape, bench: &Bench, wear: &[WearRow]) -> Vec<RefreshRow> {
    let mut triggers = vec![Trigger::Always, Trigger::Always, Trigger::Cycles, Trigger::Years];
    if !wear.is_empty() {
        triggers.extend([Trigger::Wear, Trigger::Wear]);
    }
    let row = |number: usize| {
        let mut draw = tape.draw(kind::REFRESH, number);
        let list = code(*draw.pick(&["LIST-B", "LIST-A"]));
        let (adds, step, quantity, position) = step(&mut draw, bench, false);
        let trigger = *draw.pick(&triggers);
        let whole = |number: i64| Some(Quantity::from_scaled(number * 1_000).unwrap());
        let threshold = match trigger {
            Trigger::Always => None,
            Trigger::Cycles => whole(draw.within(0, 900_000)),
            Trigger::Years => whole(draw.within(0, 20)),
            Trigger::Wear if draw.chance(60) => whole(draw.within(0, 150)),
            Trigger::Wear => Some(Quantity::from_scaled(draw.within(0, 150_000)).unwrap()),
        };
        let wear = (trigger == Trigger::Wear).then(|| draw.pick(wear).code.clone());
        RefreshRow { list, adds, code: step, quantity, position, trigger, threshold, wear }
    };
    (0..tape.draw(kind::REFRESH, 15).below(9) as usize).map(row).collect()
}

pub fn families(
    tape: &Tape,
    coins: Coins,
    bench: &Bench,
    refresh: &[RefreshRow],
) -> (Vec<FamilyRow>, Vec<FlatPriceRow>) {
    let lists: Vec<Code> = refresh.iter().map(|row| row.list.clone()).collect();
    let mut families = Vec::new();
    let mut flat_prices = Vec::new();
    for number in 0..1 + tape.draw(kind::FAMILIES, 15).below(4) as usize {
        let mut draw = tape.draw(kind::FAMILIES, number);
        let family = named(&mut draw, "FAM", number);
        let flat = draw.chance(35);
        let exchange = draw.chance(60);
        families.push(FamilyRow {
            code: family.clone(),
            text: numbered("Family", number),
            method: if flat { Method::Flat } else { Method::BuiltUp },
            test: draw.pick(&bench.tests).code.clone(),
            refresh: (!lists.is_empty() && draw.chance(80)).then(|| draw.pick(&lists).clone()),
            replacement_value: coins.whole_minor(&mut draw),
            exchange_cost: exchange.then(|| coins.unit_price(&mut draw)),
            exchange_net: exchange.then(|| coins.whole_minor(&mut draw)),
            warranty_months: draw.chance(40).then(|| draw.within(0, 60) as u32),
            duty_hours_per_day: draw.within(0, 24) as u32,
        });
        if flat {
            let mut draw = tape.draw(kind::FLAT, number);
            for class in ["standard", "overhaul", "Quick"] {
                if class == "standard" || draw.chance(50) {
                    let net = coins.whole_minor(&mut draw);
                    flat_prices.push(FlatPriceRow {
                        family: family.clone(),
                        class: code(class),
                        text: text(class),
                        net,
                    });
                }
            }
        }
    }
    (families, flat_prices)
}
