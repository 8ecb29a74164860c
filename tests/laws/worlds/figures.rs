//! Prices, quantities and percentages of every size, and codes in no order.

use evenfare_engine::money::{Currency, Percent, Quantity, UnitPrice};
use evenfare_engine::text::{Code, Text};

use super::code;
use crate::tape::Draw;

/// How large the prices of a world are.
#[derive(Clone, Copy)]
pub struct Coins {
    pub currency: Currency,
    /// The largest price, times ten thousand.
    pub most: i64,
}

impl Coins {
    /// With as many as four decimals.
    pub fn unit_price(self, draw: &mut Draw<'_>) -> UnitPrice {
        let scaled = match draw.below(8) {
            // The plain choice is small and round.
            0 => draw.within(0, 9) * 10_000,
            1 => draw.within(0, 20_000),
            2..=4 => draw.within(0, self.most / 10_000) * 10_000,
            _ => draw.within(0, self.most),
        };
        UnitPrice::from_scaled(scaled).unwrap()
    }

    /// In whole minor units, as amounts that are charged as they stand.
    pub fn whole_minor(self, draw: &mut Draw<'_>) -> UnitPrice {
        let step = 10_000 / self.currency.minor_per_major();
        let price = self.unit_price(draw).scaled();
        UnitPrice::from_scaled(price - price % step).unwrap()
    }
}

pub fn percent(draw: &mut Draw<'_>, most: i64) -> Percent {
    let scaled = match draw.below(4) {
        0 => 0,
        1 => draw.within(0, most.min(30)) * 10_000,
        2 => draw.within(0, most.min(60)) * 5_000,
        _ => draw.within(0, most * 10_000),
    };
    Percent::from_scaled(scaled).unwrap()
}

/// From `least` thousandths up; mostly whole.
pub fn quantity(draw: &mut Draw<'_>, least: i64, most: i64) -> Quantity {
    let scaled = if draw.chance(25) {
        draw.within(least, most)
    } else {
        (draw.within(least, most) / 1_000 * 1_000).max(least)
    };
    Quantity::from_scaled(scaled).unwrap()
}

/// A code whose place in the order of codes has nothing to do with its number.
pub fn named(draw: &mut Draw<'_>, what: &str, number: usize) -> Code {
    let letters = ["A", "b", "K", "m", "Z", "7"];
    code(&format!("{}{what}-{number}", draw.pick(&letters)))
}

pub fn text(words: &str) -> Text {
    words.parse().unwrap()
}

pub fn numbered(words: &str, number: usize) -> Text {
    text(&format!("{words} {number}"))
}
