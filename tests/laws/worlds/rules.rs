//! The rules of a tariff, and the tariff as a whole.

use evenfare_engine::category::Category;
use evenfare_engine::money::{Currency, Quantity, UnitPrice};
use evenfare_engine::period::Span;
use evenfare_engine::tariff::{
    CourierRow, EndingDirection, InspectionRow, MarkupRow, PriceRow, Tariff, TermsRow, WorkshopRow,
};
use evenfare_engine::text::Code;

use super::bench::{bench, findings};
use super::families::{families, refresh, wear};
use super::figures::{Coins, percent, quantity, text};
use super::trade::{agreements, currency_rates, extras, partners, vat_id, vat_rates, zones};
use super::{code, day, kind};
use crate::tape::{Draw, Tape};

pub const CURRENCIES: [&str; 6] = ["EUR", "CHF", "JPY", "KWD", "GBP", "CLF"];

pub fn currency(draw: &mut Draw<'_>) -> Currency {
    // The one with four decimals is rare.
    let count = if draw.chance(10) { 6 } else { 5 };
    let index = draw.below(count);
    CURRENCIES[usize::try_from(index).unwrap()].parse().unwrap()
}

pub fn tariff(tape: &Tape) -> Tariff {
    let mut draw = tape.draw(kind::WORLD, 0);
    let currency = currency(&mut draw);
    let most = match draw.below(100) {
        0..55 => 40_000_000,
        55..70 => 90_000,
        70..85 => 20_0000,
        85..97 => 3_000_000_000,
        // Near the bounds: a unit price may be a thousand million.
        _ => 10_000_000_000_000,
    };
    let coins = Coins { currency, most };
    let country = draw.pick(&["DE", "AT", "CH", "GB", "FR"]).parse().unwrap();
    let until = draw.chance(50).then(|| day(2026, 12, 31));
    let turnaround_days = draw.within(0, 60) as u32;

    let bench = bench(tape, coins);
    let (findings, finding_steps) = findings(tape, &bench);
    let wear = wear(tape);
    let refresh = refresh(tape, &bench, &wear);
    let (families, flat_prices) = families(tape, coins, &bench, &refresh);
    let (zones, courier_rates) = zones(tape, coins);
    let partners = partners(tape);
    let (agreements, discounts, credits) = agreements(tape, coins, &partners);
    let grade = draw.pick(&bench.grades).code.clone();
    Tariff {
        edition: code("2026-A"),
        span: Span { from: day(2026, 1, 1), until },
        currency,
        workshop: WorkshopRow {
            name: text("Rennick Drives"),
            street: text("4 Tallow Yard"),
            postcode: text("10000"),
            city: text("Oldmere"),
            country,
            vat_id: vat_id(country, draw.chance(50)),
        },
        price: price(tape, coins),
        courier: courier(tape, coins),
        inspection: InspectionRow {
            fee: coins.whole_minor(&mut draw),
            minutes: draw.within(0, 300) as u32,
            grade,
        },
        terms: TermsRow {
            validity_days: draw.within(0, 120) as u32,
            turnaround_days,
            warranty_months: draw.within(0, 36) as u32,
            warranty_cycles: draw.chance(30).then(|| draw.within(0, 1_000_000) as u64),
        },
        markups: markups(tape),
        grades: bench.grades,
        parts: bench.parts,
        price_breaks: bench.breaks,
        operations: bench.operations,
        tests: bench.tests,
        findings,
        finding_steps,
        families,
        flat_prices,
        refresh,
        wear,
        zones,
        courier_rates,
        extras: extras(tape),
        partners,
        agreements,
        discounts,
        credits,
        vat_rates: vat_rates(tape),
        currency_rates: currency_rates(tape),
    }
}

fn price(tape: &Tape, coins: Coins) -> PriceRow {
    let mut draw = tape.draw(kind::PRICE, 0);
    let nothing = UnitPrice::ZERO;
    let ending = |draw: &mut Draw<'_>| {
        let step = 10_000 / coins.currency.minor_per_major();
        let minor = *draw.pick(&[100, 1, 5, 10, 50, 500, 1_000, 99, 7, 100_000]);
        UnitPrice::from_scaled(minor * step).unwrap()
    };
    let some =
        |draw: &mut Draw<'_>, often: u64| if draw.chance(often) { coins.whole_minor(draw) } else { nothing };
    let covers = [Category::Part, Category::Labour, Category::Test, Category::Courier];
    PriceRow {
        minimum_charge: some(&mut draw, 40),
        ending_to: if draw.chance(60) { ending(&mut draw) } else { nothing },
        ending_direction: *draw.pick(&[EndingDirection::Up, EndingDirection::Nearest, EndingDirection::Down]),
        // From no floor at all to one that nothing reaches.
        minimum_contribution: if draw.chance(5) {
            UnitPrice::from_scaled(10_000_000_000_000).unwrap()
        } else {
            some(&mut draw, 40)
        },
        minimum_contribution_percent: if draw.chance(40) {
            percent(&mut draw, 100)
        } else {
            percent(&mut draw, 10)
        },
        uneconomic_percent: percent(&mut draw, 100),
        flat_covers: draw.some_of(&covers, 60),
        energy_per_kwh: UnitPrice::from_scaled(draw.within(0, 9_999)).unwrap(),
    }
}

fn courier(tape: &Tape, coins: Coins) -> CourierRow {
    let mut draw = tape.draw(kind::COURIER, 0);
    CourierRow {
        volumetric_divisor: *draw.pick(&[5_000, 6_000, 4_000, 7_500, 333, 1_000_000]),
        weight_step_kg: *draw
            .pick(&[500, 1_000, 1, 100, 10_000].map(|grams| Quantity::from_scaled(grams).unwrap())),
        fuel_percent: percent(&mut draw, 60),
        insurance_percent: percent(&mut draw, 5),
        insurance_minimum: if draw.chance(50) { coins.unit_price(&mut draw) } else { UnitPrice::ZERO },
        packaging_per_parcel: coins.unit_price(&mut draw),
    }
}

fn markups(tape: &Tape) -> Vec<MarkupRow> {
    let mut draw = tape.draw(kind::PRICE, 1);
    [Category::Part, Category::Labour, Category::Test, Category::Courier]
        .into_iter()
        .map(|category| MarkupRow {
            category,
            percent: if draw.chance(90) { percent(&mut draw, 150) } else { percent(&mut draw, 1_000) },
        })
        .collect()
}

/// How much, above zero and up to this many thousandths.
pub fn some_quantity(draw: &mut Draw<'_>, most: i64) -> Quantity {
    quantity(draw, 1, most)
}

pub fn codes<R>(rows: &[R], code: impl Fn(&R) -> &Code) -> Vec<Code> {
    rows.iter().map(|row| code(row).clone()).collect()
}
