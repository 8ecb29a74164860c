//! Decimals kept as integers, written out.

use std::fmt;

/// Enough for the digits of 64 bits or ten decimals, sign, point and unit.
const LONGEST: usize = 32;

/// An integer that stands for a number with so many decimals, and perhaps a unit, for people to
/// read: `1011.50 EUR`.
///
/// Most of a quote's working is such numbers, so they are written in one piece and without a
/// division by anything but ten.
#[derive(Clone, Copy)]
pub(crate) struct Fixed {
    scaled: i64,
    decimals: u32,
    unit: Option<&'static str>,
}

impl Fixed {
    /// With all its decimals.
    pub(crate) const fn new(scaled: i64, decimals: u32) -> Self {
        Self { scaled, decimals, unit: None }
    }

    /// Without trailing zeros, but with so many decimals at least.
    pub(crate) const fn trimmed(self, least: u32) -> Self {
        let Self { mut scaled, mut decimals, unit } = self;
        while decimals > least && scaled % 10 == 0 {
            scaled /= 10;
            decimals = decimals.saturating_sub(1);
        }
        Self { scaled, decimals, unit }
    }

    /// And its unit, or its currency.
    pub(crate) const fn of(self, unit: &'static str) -> Self {
        Self { unit: Some(unit), ..self }
    }

    /// Something made of its text.
    pub(crate) fn spelt<T>(self, make: impl FnOnce(&str) -> T) -> T {
        let mut text = [b' '; LONGEST];
        let mut start = LONGEST;
        // From the end to the beginning.
        let mut places = text.iter_mut().rev();
        let mut put = |byte: u8| {
            if let Some(place) = places.next() {
                *place = byte;
                start = start.saturating_sub(1);
            }
        };
        if let Some(unit) = self.unit {
            unit.bytes().rev().for_each(&mut put);
            put(b' ');
        }
        let mut left = self.scaled.unsigned_abs();
        let mut decimals = self.decimals;
        loop {
            put(b"0123456789".get(usize::try_from(left % 10).unwrap_or_default()).copied().unwrap_or(b'0'));
            left /= 10;
            if decimals > 0 {
                decimals = decimals.saturating_sub(1);
                if decimals == 0 {
                    put(b'.');
                }
            } else if left == 0 {
                break;
            }
        }
        if self.scaled < 0 {
            put(b'-');
        }
        make(std::str::from_utf8(text.get(start..).unwrap_or_default()).unwrap_or_default())
    }
}

impl fmt::Display for Fixed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.spelt(|text| f.pad(text))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rust_decimal::Decimal;

    #[test]
    fn it_is_written_as_decimals_are() {
        let numbers = [0, 1, -1, 5, 10, -10, 99, 100, 1_234_500, -1_000_000, 101_010_101, i64::MAX, i64::MIN];
        for scaled in numbers {
            for decimals in 0..=6 {
                let decimal = Decimal::new(scaled, decimals);
                let fixed = Fixed::new(scaled, decimals);
                assert_eq!(fixed.to_string(), decimal.to_string());
                assert_eq!(fixed.trimmed(0).to_string(), decimal.normalize().to_string());
                for least in 0..=decimals {
                    let mut least_of_it = decimal.normalize();
                    least_of_it.rescale(least_of_it.scale().max(least));
                    assert_eq!(fixed.trimmed(least).to_string(), least_of_it.to_string());
                }
            }
        }
    }

    #[test]
    fn a_unit_stands_behind_and_width_counts_it() {
        assert_eq!(Fixed::new(-5, 2).of("EUR").to_string(), "-0.05 EUR");
        assert_eq!(format!("{:>10}|", Fixed::new(150, 2).of("EUR")), "  1.50 EUR|");
    }
}
