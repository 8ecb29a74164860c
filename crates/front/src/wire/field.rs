//! Fields that are text on the wire.

use std::borrow::Cow;
use std::str::FromStr;

use evenfare_engine::country::{Country, InvalidCountry};
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Decimals, InvalidDecimal, Percent, Quantity, UnitPrice};
use evenfare_engine::text::{Code, Text};
use evenfare_engine::trail::Rule;
use evenfare_engine::why::Why;
#[cfg(feature = "serve")]
use evenfare_reconcile::month::Month;
#[cfg(feature = "serve")]
use evenfare_store::{digest::Digest, number::Number, number::Series};

use super::mistakes::Objection;

/// How much of what was found is quoted.
const QUOTED: usize = 40;

/// A field that is text on the wire.
pub(crate) trait Field: FromStr {
    /// What is expected, in words.
    const EXPECTED: &'static str;

    /// What is wrong with a text that cannot be read, by its stable name; and what would be right,
    /// where that is known better.
    fn wrong(error: Self::Err) -> (&'static str, Option<String>);

    /// What stands for a field that cannot be read while the rest is looked at.
    const STAND_IN: &'static str;

    /// Reads what stands for it.
    fn stand_in() -> Option<Self> {
        Self::STAND_IN.parse().ok()
    }

    /// Reads it.
    fn read(text: &str) -> Result<Self, Objection> {
        text.parse().map_err(|error| {
            if text.is_empty() {
                return Objection::missing(Self::EXPECTED);
            }
            let (code, better) = Self::wrong(error);
            Objection::new(code, quoted(text), better.map_or(Cow::Borrowed(Self::EXPECTED), Cow::Owned))
        })
    }
}

macro_rules! fields {
    ($($name:ty, $expected:expr, $stand_in:literal, $error:pat => $wrong:expr;)*) => { $(
        impl Field for $name {
            const EXPECTED: &'static str = $expected;
            const STAND_IN: &'static str = $stand_in;

            fn wrong($error: Self::Err) -> (&'static str, Option<String>) {
                $wrong
            }
        }
    )* };
}

fields! {
    Code, "a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -", "X", _ => ("not_a_code", None);
    Text, "one line of at most 200 characters, none of them a control character", "", _ => ("not_a_line", None);
    Currency, "a currency by its three capital letters such as EUR", "EUR", _ => ("unknown_currency", None);
    Country, "a country by its two capital letters such as DE", "DE", error => ("unknown_country", meant(&error));
    Quantity, <Self as Decimals>::EXPECTED, "1", error => (decimal(&error), None);
    UnitPrice, <Self as Decimals>::EXPECTED, "0", error => (decimal(&error), None);
    Percent, <Self as Decimals>::EXPECTED, "0", error => (decimal(&error), None);
    Language, "a language: en, de, pl, fr or cs", "en", _ => ("unknown_language", None);
    Why, Why::EXPECTED, "test of the family", _ => ("unknown_reason", None);
    Rule, "the name of a rule such as marked_up", "marked_up", _ => ("unknown_rule", None);
}

#[cfg(feature = "serve")]
fields! {
    Series, "a series: 1 to 8 capital letters and digits, a letter first", "Q", _ => ("not_a_series", None);
    Number, "the number of a quote such as Q-2026-00017", "Q-2026-00001", _ => ("not_a_number_of_a_quote", None);
    Month, "a year and a month such as 2026-07", "2026-07", _ => ("not_a_month", None);
    Digest, "the etag that the quote was read with",
        "0000000000000000000000000000000000000000000000000000000000000000", _ => ("not_an_etag", None);
}

fn meant(error: &InvalidCountry) -> Option<String> {
    match error {
        InvalidCountry::NotUpperCase { expected, .. } | InvalidCountry::OtherList { expected, .. } => {
            Some(format!("{expected}, as ISO 3166-1 writes {}", expected.name()))
        }
        _ => None,
    }
}

fn decimal(error: &InvalidDecimal) -> &'static str {
    match error {
        InvalidDecimal::NotANumber { .. } => "not_a_number",
        InvalidDecimal::TooManyDecimals { .. } => "too_many_decimals",
        InvalidDecimal::OutOfRange { .. } => "out_of_range",
    }
}

/// The beginning of a text, with control characters spelt out.
pub(super) fn quoted(text: &str) -> String {
    let mut chars = text.chars();
    let mut quoted = String::new();
    for c in chars.by_ref().take(QUOTED) {
        if c.is_control() {
            quoted.extend(c.escape_default());
        } else {
            quoted.push(c);
        }
    }
    if chars.next().is_some() {
        quoted.push('…');
    }
    quoted
}
