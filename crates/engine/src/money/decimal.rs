//! Decimal inputs with a fixed number of decimals, kept as integers.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;

use super::{Currency, Fixed};

/// Why a text is not the decimal that was expected.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InvalidDecimal {
    /// Not written as a plain decimal number.
    #[error("`{found}` is not a decimal number; expected {expected}")]
    NotANumber {
        /// What stood there, cut to forty characters.
        found: String,
        /// What was expected.
        expected: &'static str,
    },
    /// More decimals than are kept; nothing is rounded on the way in.
    #[error("`{found}` has too many decimals; expected {expected}")]
    TooManyDecimals {
        /// What stood there.
        found: String,
        /// What was expected.
        expected: &'static str,
    },
    /// Below or above the bounds within which every sum is exact.
    #[error("`{found}` is out of range; expected {expected}")]
    OutOfRange {
        /// What stood there.
        found: String,
        /// What was expected.
        expected: &'static str,
    },
}

/// A decimal number with a fixed number of decimals: [`Quantity`], [`UnitPrice`], [`Percent`].
pub trait Decimals: Copy + FromStr<Err = InvalidDecimal> + fmt::Display {
    /// How many decimals are kept.
    const DECIMALS: u32;
    /// What an input has to be, for messages.
    const EXPECTED: &'static str;

    /// The number times ten to the power of [`DECIMALS`](Self::DECIMALS).
    fn scaled(self) -> i64;

    /// From a decimal.
    ///
    /// # Errors
    /// [`InvalidDecimal`] where it has too many decimals or is out of range.
    fn from_decimal(decimal: Decimal) -> Result<Self, InvalidDecimal>;

    /// As a decimal, without trailing zeros.
    fn to_decimal(self) -> Decimal {
        Decimal::new(self.scaled(), Self::DECIMALS).normalize()
    }
}

fn shortened(text: &str) -> String {
    let mut found: String = text.chars().take(40).collect();
    if found.len() < text.len() {
        found.push('…');
    }
    found
}

/// The decimal as an integer of `decimals` decimals within `0..=max`.
fn scale(decimal: Decimal, decimals: u32, max: i64, expected: &'static str) -> Result<i64, InvalidDecimal> {
    let out_of_range = || InvalidDecimal::OutOfRange { found: shortened(&decimal.to_string()), expected };
    let normal = decimal.normalize();
    if normal.scale() > decimals {
        return Err(InvalidDecimal::TooManyDecimals { found: shortened(&decimal.to_string()), expected });
    }
    let factor = 10_i128.checked_pow(decimals.saturating_sub(normal.scale())).ok_or_else(out_of_range)?;
    let scaled = normal.mantissa().checked_mul(factor).ok_or_else(out_of_range)?;
    if scaled < 0 || scaled > i128::from(max) {
        return Err(out_of_range());
    }
    i64::try_from(scaled).map_err(|_| out_of_range())
}

/// Plain notation only: digits with at most one point, no exponent, no separators, no plus sign. The number as an
/// integer of `decimals` decimals within `0..=max`.
fn parse(text: &str, decimals: u32, max: i64, expected: &'static str) -> Result<i64, InvalidDecimal> {
    let found = || shortened(text);
    let (minus, unsigned) = text.strip_prefix('-').map_or((false, text), |unsigned| (true, unsigned));
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
    let is_number = |digits: &str| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    if !is_number(whole) || !is_number(fraction) {
        return Err(InvalidDecimal::NotANumber { found: found(), expected });
    }
    // Zeros at the end are no decimals.
    let fraction = fraction.trim_end_matches('0');
    let Some(missing) = (decimals as usize).checked_sub(fraction.len()) else {
        return Err(InvalidDecimal::TooManyDecimals { found: found(), expected });
    };
    let mut digits = whole.bytes().chain(fraction.bytes()).chain(std::iter::repeat_n(b'0', missing));
    let behind = |scaled: i64, digit: u8| scaled.checked_mul(10)?.checked_add(i64::from(digit & 0x0f));
    let scaled = digits.try_fold(0, behind).filter(|scaled| *scaled <= max && !(minus && *scaled > 0));
    scaled.ok_or_else(|| InvalidDecimal::OutOfRange { found: found(), expected })
}

macro_rules! decimals {
    ($(#[$doc:meta])* $name:ident, $decimals:literal, $max:literal, $expected:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(i64);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);
            /// The largest that is taken.
            pub const MAX: Self = Self($max);

            /// From the scaled integer.
            ///
            /// # Errors
            /// [`InvalidDecimal::OutOfRange`] below zero or above [`MAX`](Self::MAX).
            pub fn from_scaled(scaled: i64) -> Result<Self, InvalidDecimal> {
                if (0..=$max).contains(&scaled) {
                    Ok(Self(scaled))
                } else {
                    Err(InvalidDecimal::OutOfRange {
                        found: Decimal::new(scaled, $decimals).to_string(),
                        expected: $expected,
                    })
                }
            }

            /// The number times ten to the power of its decimals.
            pub const fn scaled(self) -> i64 {
                self.0
            }

            /// Is it zero?
            pub const fn is_zero(self) -> bool {
                self.0 == 0
            }
        }

        impl Decimals for $name {
            const DECIMALS: u32 = $decimals;
            const EXPECTED: &'static str = $expected;

            fn scaled(self) -> i64 {
                self.0
            }

            fn from_decimal(decimal: Decimal) -> Result<Self, InvalidDecimal> {
                scale(decimal, $decimals, $max, $expected).map(Self)
            }
        }

        impl FromStr for $name {
            type Err = InvalidDecimal;

            fn from_str(text: &str) -> Result<Self, InvalidDecimal> {
                parse(text, $decimals, $max, $expected).map(Self)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&Fixed::new(self.0, $decimals).trimmed(0), f)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        crate::text::serde_as_text!($name);
    };
}

decimals! {
    /// How many or how much: pieces, hours, kilograms; at most 3 decimals.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::money::Quantity;
    /// assert_eq!("2.5".parse::<Quantity>().map(|q| q.scaled()), Ok(2_500));
    /// assert!("2.5001".parse::<Quantity>().is_err());
    /// ```
    Quantity, 3, 1_000_000_000, "a number from 0 to 1000000 with at most 3 decimals"
}

decimals! {
    /// Money per unit in major units of the tariff's currency; at most 4 decimals.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::money::UnitPrice;
    /// assert_eq!("0.0345".parse::<UnitPrice>().map(|p| p.scaled()), Ok(345));
    /// assert!("-1".parse::<UnitPrice>().is_err());
    /// ```
    UnitPrice, 4, 10_000_000_000_000, "a price from 0 to 1000000000 with at most 4 decimals"
}

decimals! {
    /// A percentage; at most 4 decimals. `19` means 19 %.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::money::Percent;
    /// assert_eq!("25.5".parse::<Percent>().map(|p| p.scaled()), Ok(255_000));
    /// ```
    Percent, 4, 10_000_000, "a percentage from 0 to 1000 with at most 4 decimals"
}

decimals! {
    /// Units of a currency for one euro; at most 6 decimals, as the ECB publishes its reference rates.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::money::ReferenceRate;
    /// assert_eq!("0.83380".parse::<ReferenceRate>().map(|r| r.scaled()), Ok(833_800));
    /// ```
    ReferenceRate, 6, 1_000_000_000_000, "a rate from 0 to 1000000 with at most 6 decimals"
}

impl UnitPrice {
    /// For people to read: with all decimals of the currency, and more where there are more.
    pub fn in_major_units(self, currency: Currency) -> String {
        self.shown(currency).to_string()
    }

    pub(crate) fn shown(self, currency: Currency) -> Fixed {
        Fixed::new(self.0, Self::DECIMALS).trimmed(u32::from(currency.exponent()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: Result<i64, &str>) {
        let got = text.parse::<UnitPrice>().map(UnitPrice::scaled).map_err(|e| match e {
            InvalidDecimal::NotANumber { .. } => "not a number",
            InvalidDecimal::TooManyDecimals { .. } => "decimals",
            InvalidDecimal::OutOfRange { .. } => "range",
        });
        assert_eq!(got, expect, "{text}");
    }

    #[test]
    fn plain_notation_is_read_exactly() {
        check("0", Ok(0));
        check("12.3400", Ok(123_400));
        check("1000000000", Ok(10_000_000_000_000));
        check("12.34000000000000000000", Ok(123_400));
        check("-0.000", Ok(0));
        check(&format!("{}1.5", "0".repeat(100)), Ok(15_000));
    }

    #[test]
    fn prices_are_shown_with_the_decimals_of_the_currency_or_more() {
        let show =
            |text: &str, code: &str| Some(text.parse::<UnitPrice>().ok()?.in_major_units(code.parse().ok()?));
        assert_eq!(show("70", "EUR").as_deref(), Some("70.00"));
        assert_eq!(show("0.0345", "EUR").as_deref(), Some("0.0345"));
        assert_eq!(show("70", "JPY").as_deref(), Some("70"));
        assert_eq!("70.50".parse::<UnitPrice>().map(UnitPrice::to_decimal), Ok(Decimal::new(705, 1)));
    }

    #[test]
    fn a_refusal_shows_forty_characters_of_what_it_found() {
        let found = |text: &str| match text.parse::<Quantity>() {
            Err(InvalidDecimal::NotANumber { found, .. }) => Some(found),
            _ => None,
        };
        let forty = "é".repeat(40);
        assert_eq!(found(&forty).as_ref(), Some(&forty));
        assert_eq!(found(&format!("{forty}x")), Some(format!("{forty}…")));
    }

    #[test]
    fn a_refusal_shows_a_number_as_it_stood_there() {
        let found = |text: &str| match text.parse::<Quantity>() {
            Err(InvalidDecimal::TooManyDecimals { found, .. } | InvalidDecimal::OutOfRange { found, .. }) => {
                found
            }
            other => format!("{other:?}"),
        };
        for text in ["0.0001", "007.12340", "-2.5", "1000000.001", &"9".repeat(40)] {
            assert_eq!(found(text), text);
        }
    }

    #[test]
    fn everything_else_is_refused_and_nothing_is_rounded() {
        check("", Err("not a number"));
        check("1e3", Err("not a number"));
        check("1,5", Err("not a number"));
        check("+1", Err("not a number"));
        check(".5", Err("not a number"));
        check("5.", Err("not a number"));
        check("NaN", Err("not a number"));
        check("1_000", Err("not a number"));
        check("--1", Err("not a number"));
        check("1.2.3", Err("not a number"));
        check("0.00001", Err("decimals"));
        check("-0.01", Err("range"));
        check("1000000000.0001", Err("range"));
        check(&"9".repeat(10_000), Err("range"));
        check(&format!("0.{}", "1".repeat(10_000)), Err("decimals"));
    }
}
