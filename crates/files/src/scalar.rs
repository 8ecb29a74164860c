//! Single values: yes or no, days, numbers, texts, codes and words.

use chrono::NaiveDate;
use evenfare_engine::category::{Category, PartUnit, Work};
use evenfare_engine::country::{Country, InvalidCountry};
use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::money::{
    Currency, Decimals, InvalidDecimal, Percent, Quantity, ReferenceRate, UnitPrice,
};
use evenfare_engine::tariff::{Adds, Cover, EndingDirection, Method, Trigger, UnderFloor, WearModel};
use evenfare_engine::text::{Code, Text};
use evenfare_reconcile::chart::Role;
use evenfare_reconcile::input::Leg;

use crate::bank::{Bic, Iban};
use crate::hint;
use crate::letterhead::{Colour, Paragraph};
use crate::log::Log;
use crate::node::{Kind, Node};
use crate::translations::Catalogue;
use crate::value::{Value, refuse, wrong_kind};

impl Value for bool {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        match &node.kind {
            Kind::Boolean(boolean) => Some(*boolean),
            Kind::Cell(text) => match &**text {
                "yes" => Some(true),
                "no" => Some(false),
                _ => refuse(node, log, "not_yes_or_no", "yes or no"),
            },
            _ => wrong_kind(node, log, "true or false, without quotes"),
        }
    }

    fn expected() -> String {
        String::from("yes or no; in TOML and JSON true or false")
    }

    fn stand_in() -> Option<Self> {
        Some(false)
    }
}

impl Value for NaiveDate {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        match &node.kind {
            Kind::Date(date) => Some(*date),
            Kind::Cell(text) | Kind::Text(text) => match day(text) {
                Some(date) => Some(date),
                None => {
                    let expected = hint::dotted_day(text).map(|day| format!("{day}: year, month, day"));
                    refuse(node, log, "not_a_date", expected.unwrap_or_else(Self::expected))
                }
            },
            _ => wrong_kind(node, log, Self::expected()),
        }
    }

    fn expected() -> String {
        String::from("a day of the calendar such as 2026-07-01")
    }

    fn in_a_job() -> Option<Self> {
        Some(Self::default())
    }
}

/// Ten characters, year, month and day, and nothing looser.
pub(crate) fn day(text: &str) -> Option<NaiveDate> {
    let is_plain = text.len() == 10
        && text
            .bytes()
            .enumerate()
            .all(|(at, byte)| if at == 4 || at == 7 { byte == b'-' } else { byte.is_ascii_digit() });
    if is_plain { text.parse().ok() } else { None }
}

macro_rules! whole_numbers {
    ($($name:ty),*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                let text = match &node.kind {
                    Kind::Cell(text) | Kind::Integer(text) => text,
                    _ => return wrong_kind(node, log, format!("{}, without quotes", Self::expected())),
                };
                let digits = text.strip_prefix('-').unwrap_or(text);
                if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
                    return refuse(node, log, "not_a_number", hint::number(Self::expected(), text));
                }
                match text.parse() {
                    Ok(number) => Some(number),
                    Err(_) => refuse(node, log, "out_of_range", Self::expected()),
                }
            }

            fn expected() -> String {
                format!("a whole number from {} to {}", <$name>::MIN, <$name>::MAX)
            }

            fn stand_in() -> Option<Self> {
                Some(0)
            }
        }
    )* };
}

whole_numbers!(u32, u64, i32);

fn decimal<T: Decimals>(node: &Node, log: &mut Log) -> Option<T> {
    let text = match &node.kind {
        Kind::Cell(text) | Kind::Text(text) | Kind::Integer(text) => text,
        Kind::Float(_) => {
            let expected = "the number in quotes; without them it is a binary fraction and loses digits";
            return refuse(node, log, "binary_fraction", expected);
        }
        _ => return wrong_kind(node, log, T::EXPECTED),
    };
    match text.parse() {
        Ok(number) => Some(number),
        Err(InvalidDecimal::NotANumber { .. }) => {
            refuse(node, log, "not_a_number", hint::number(String::from(T::EXPECTED), text))
        }
        Err(InvalidDecimal::TooManyDecimals { .. }) => refuse(node, log, "too_many_decimals", T::EXPECTED),
        Err(InvalidDecimal::OutOfRange { .. }) => refuse(node, log, "out_of_range", T::EXPECTED),
    }
}

macro_rules! decimals {
    ($($name:ty),*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                decimal(node, log)
            }

            fn expected() -> String {
                String::from(<$name as Decimals>::EXPECTED)
            }

            fn stand_in() -> Option<Self> {
                Some(Self::ZERO)
            }
        }
    )* };
}

decimals!(Quantity, UnitPrice, Percent, ReferenceRate);

macro_rules! texts {
    ($($name:ty, $code:literal, $expected:literal, $stand_in:expr, $in_a_job:literal;)*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                match &node.kind {
                    Kind::Cell(text) | Kind::Text(text) => match text.parse() {
                        Ok(value) => Some(value),
                        Err(_) => refuse(node, log, $code, $expected),
                    },
                    Kind::List(_) | Kind::Table(_) => wrong_kind(node, log, $expected),
                    _ => wrong_kind(node, log, concat!($expected, ", in quotes")),
                }
            }

            fn expected() -> String {
                String::from($expected)
            }

            fn stand_in() -> Option<Self> {
                $stand_in
            }

            fn in_a_job() -> Option<Self> {
                Self::stand_in().or_else(|| $in_a_job.parse().ok())
            }
        }
    )* };
}

texts! {
    Code, "not_a_code", "a code: 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -", None, "./refused/.";
    Text, "not_a_line", "one line of at most 200 characters, none of them a control character", Some(Self::default()), "";
    Currency, "unknown_currency", "a currency by its three capital letters such as EUR", None, "EUR";
    Language, "unknown_language", "a language: en, de, pl, fr or cs", None, "en";
    Paragraph, "not_a_paragraph", "one paragraph of at most 1000 characters, none of them a control character", None, "";
    Colour, "not_a_colour", "a colour as #rrggbb, two hexadecimal digits each", None, "#000000";
    Iban, "not_an_iban", "an IBAN whose check digits hold: a country, two digits, then 11 to 30 capitals and digits", None, "";
    Bic, "not_a_bic", "a BIC: four capitals or digits, a country, then two or five capitals or digits", None, "";
}

impl Value for Country {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        let (Kind::Cell(text) | Kind::Text(text)) = &node.kind else {
            return wrong_kind(node, log, format!("{}, in quotes", Self::expected()));
        };
        match text.parse() {
            Ok(country) => Some(country),
            Err(
                InvalidCountry::NotUpperCase { expected, .. } | InvalidCountry::OtherList { expected, .. },
            ) => refuse(
                node,
                log,
                "unknown_country",
                format!("{expected}, as ISO 3166-1 writes {}", expected.name()),
            ),
            Err(_) => refuse(node, log, "unknown_country", Self::expected()),
        }
    }

    fn expected() -> String {
        String::from("a country by its two capital letters such as DE")
    }

    fn in_a_job() -> Option<Self> {
        "DE".parse().ok()
    }
}

/// The words of a list, as what is expected.
fn one_of(words: &[&str]) -> String {
    match words {
        [before @ .., last] if !before.is_empty() => format!("{} or {last}", before.join(", ")),
        _ => words.concat(),
    }
}

/// A word of a list, or the nearest of them to what stands there.
fn word<T: Value>(
    node: &Node,
    log: &mut Log,
    words: impl Iterator<Item = (&'static str, T)> + Clone,
) -> Option<T> {
    let (Kind::Cell(text) | Kind::Text(text)) = &node.kind else {
        return wrong_kind(node, log, format!("{}, in quotes", T::expected()));
    };
    let known = words.clone().find(|(word, _)| **word == **text).map(|(_, value)| value);
    if known.is_none() {
        log.refused(node.bytes.clone(), None);
        log.unknown(node.bytes.clone(), "unknown_word", text, &T::expected(), words.map(|(word, _)| word));
    }
    known
}

macro_rules! lists {
    ($($name:ident, $stand_in:expr;)*) => { $(
        impl Value for $name {
            fn read(node: &Node, log: &mut Log) -> Option<Self> {
                word(node, log, Self::ALL.iter().map(|one| (one.word(), *one)))
            }

            fn expected() -> String {
                one_of(&Self::ALL.iter().map(|one| one.word()).collect::<Vec<_>>())
            }

            fn stand_in() -> Option<Self> {
                $stand_in
            }

            fn in_a_job() -> Option<Self> {
                Self::ALL.first().copied()
            }
        }
    )* };
}

lists! {
    Category, None;
    Work, None;
    PartUnit, Some(Self::Piece);
    Role, None;
    Task, None;
    EndingDirection, None;
    Method, None;
    Adds, None;
    Trigger, None;
    UnderFloor, None;
    Cover, None;
    WearModel, None;
    Catalogue, None;
}

impl Value for Leg {
    fn read(node: &Node, log: &mut Log) -> Option<Self> {
        word(node, log, [("in", Self::In), ("out", Self::Out)].into_iter())
    }

    fn expected() -> String {
        String::from("in or out")
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    /// Reads a cell; answers the value as it displays, or the code of the mistake and its column.
    fn check<T: Value + std::fmt::Debug>(cell: &str, expect: &str) {
        let mut log = Log::new(&Arc::new(Source::new("t", cell)));
        let node = Node::new(0..cell.len(), Kind::Cell(cell.into()));
        let value = T::read(&node, &mut log);
        let mut report = Report::default();
        log.move_into(&mut report);
        let got = match value {
            Some(value) => format!("{value:?}"),
            None => report.iter().map(|m| format!("{}@{}", m.code(), m.column().unwrap_or(0))).collect(),
        };
        assert_eq!(got, expect, "{cell:?}");
    }

    #[test]
    fn days_are_written_in_one_way() {
        check::<NaiveDate>("2028-02-29", "2028-02-29");
        for wrong in ["2026-02-29", "2026-7-1", "+2026-07-1", "2026-07-01 ", "20260701", "01.07.2026"] {
            check::<NaiveDate>(wrong, "not_a_date@1");
        }
    }

    #[test]
    fn whole_numbers_are_digits() {
        check::<u32>("007", "7");
        check::<u32>("4294967295", "4294967295");
        check::<i32>("-40", "-40");
        check::<u32>("4294967296", "out_of_range@1");
        check::<u32>("-1", "out_of_range@1");
        for wrong in ["+1", "1.0", "1e3", "-", "0x10", "١"] {
            check::<u32>(wrong, "not_a_number@1");
        }
    }

    #[test]
    fn words_of_a_list_have_their_places() {
        check::<Vec<Category>>("part  labour", "[Part, Labour]");
        check::<Vec<Category>>("part  parts", "unknown_word@7");
        check::<Vec<Category>>("part, labour", "unknown_word@1");
    }

    #[test]
    fn words_are_told_with_the_nearest() {
        let told = |cell: &str| {
            let mut log = Log::new(&Arc::new(Source::new("t", cell)));
            let node = Node::new(0..cell.len(), Kind::Cell(cell.into()));
            assert_eq!(Trigger::read(&node, &mut log), None);
            let mut report = Report::default();
            log.move_into(&mut report);
            report.iter().map(|mistake| mistake.expected().to_owned()).collect::<String>()
        };
        assert_eq!(told("cycle"), "always, cycles, years or wear; the nearest: cycles");
        assert_eq!(told("Yeers"), "always, cycles, years or wear; the nearest: years");
        assert_eq!(told("never"), "always, cycles, years or wear");
        assert_eq!(one_of(&["in", "out"]), "in or out");
        assert_eq!(one_of(&["alone"]), "alone");
    }

    #[test]
    fn words_are_small_letters() {
        check::<Trigger>("wear", "Wear");
        check::<Trigger>("Wear", "unknown_word@1");
        check::<PartUnit>("ml", "Millilitre");
        check::<PartUnit>("pcs", "unknown_word@1");
        check::<PartUnit>("M", "unknown_word@1");
        check::<bool>("yes", "true");
        check::<bool>("true", "not_yes_or_no@1");
        check::<Country>("EL", "unknown_country@1");
        check::<Currency>("XAU", "unknown_currency@1");
    }
}
