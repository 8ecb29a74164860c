//! Figures as languages write them: the published forms, and the same digits in all of them.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use chrono::NaiveDate;
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Gross};
use evenfare_paper::figures;
use evenfare_paper::words::Words;
use proptest::prelude::*;
use proptest::sample::select;

const CURRENCIES: &[&str] = &["EUR", "PLN", "CZK", "JPY", "KWD", "CLF"];

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}

/// Is it one word for whoever breaks lines?
fn is_unbroken(text: &str) -> bool {
    !text.contains([' ', '-', '\u{2009}', '\t', '\n'])
}

proptest! {
    #[test]
    fn digits_do_not_depend_on_the_language(
        minor in -Gross::MAX_MINOR..=Gross::MAX_MINOR,
        currency in select(CURRENCIES),
        day in 0_i32..400_000,
        scaled in 0_i64..1_000_000_000,
        unit in select(&["pc", "set", "m", "cm", "ml", "g", "min", "h"][..]),
    ) {
        let currency: Currency = currency.parse().unwrap();
        let day = NaiveDate::from_ymd_opt(1_600, 1, 1).unwrap() + chrono::Days::new(day.try_into().unwrap());
        let plain = format!("{}.{:03}", scaled / 1_000, scaled % 1_000);
        let exact = Gross::from_minor(minor).unwrap().in_major_units(currency);
        for &language in Language::ALL {
            let amount = figures::amount(language, minor, currency);
            prop_assert_eq!(digits(&amount), digits(&exact), "{} {}", language, amount);
            prop_assert_eq!(amount.starts_with('\u{2212}'), minor < 0);
            let money = figures::money(language, minor, currency);
            prop_assert_eq!(digits(&money), digits(&exact));
            prop_assert!(money.contains(currency.code()));
            let date = figures::date(language, day);
            prop_assert_eq!(digits(&date), day.format("%-d%Y").to_string());
            let percent = figures::percent(language, &plain);
            prop_assert_eq!(digits(&percent), digits(&plain));
            let quantity = Words::of(language).quantity(&format!("{plain} {unit}"));
            prop_assert_eq!(digits(&quantity), digits(&plain));
            for figure in [amount, money, date, percent, quantity] {
                prop_assert!(is_unbroken(&figure), "{:?}", figure);
            }
        }
    }
}

/// Symbols and patterns of Unicode CLDR 48.2, `cldr-numbers-full` and `cldr-dates-full`: decimal and group of
/// `symbols-numberSystem-latn`, `minimumGroupingDigits`, `percentFormats-numberSystem-latn`, and `dateFormats.long`.
/// The minus sign of all five is U+002D there; here it is U+2212, which is as wide as a figure.
#[test]
fn forms_are_those_of_cldr() {
    let (euro, yen, dinar) = ("EUR".parse().unwrap(), "JPY".parse().unwrap(), "KWD".parse().unwrap());
    let day: NaiveDate = "2026-07-09".parse().unwrap();
    let check = |language, expected: [&str; 6]| {
        let written = [
            figures::amount(language, 123_456_789, euro),
            figures::amount(language, -123_450, euro),
            figures::amount(language, 1_234_567, yen),
            figures::money(language, 1_234_567, dinar),
            figures::percent(language, "8.1"),
            figures::date(language, day),
        ];
        assert_eq!(written, expected, "{language}");
    };
    check(
        Language::English,
        [
            "1,234,567.89",
            "\u{2212}1,234.50",
            "1,234,567",
            "KWD\u{a0}1,234.567",
            "8.1%",
            "9\u{a0}July\u{a0}2026",
        ],
    );
    check(
        Language::German,
        [
            "1.234.567,89",
            "\u{2212}1.234,50",
            "1.234.567",
            "1.234,567\u{a0}KWD",
            "8,1\u{a0}%",
            "9.\u{a0}Juli\u{a0}2026",
        ],
    );
    check(
        Language::Polish,
        [
            "1\u{a0}234\u{a0}567,89",
            "\u{2212}1234,50",
            "1\u{a0}234\u{a0}567",
            "1234,567\u{a0}KWD",
            "8,1%",
            "9\u{a0}lipca\u{a0}2026",
        ],
    );
    check(
        Language::French,
        [
            "1\u{202f}234\u{202f}567,89",
            "\u{2212}1\u{202f}234,50",
            "1\u{202f}234\u{202f}567",
            "1\u{202f}234,567\u{a0}KWD",
            "8,1\u{a0}%",
            "9\u{a0}juillet\u{a0}2026",
        ],
    );
    check(
        Language::Czech,
        [
            "1\u{a0}234\u{a0}567,89",
            "\u{2212}1\u{a0}234,50",
            "1\u{a0}234\u{a0}567",
            "1\u{a0}234,567\u{a0}KWD",
            "8,1\u{a0}%",
            "9.\u{a0}července\u{a0}2026",
        ],
    );
}

#[test]
fn nothing_is_rounded_and_nothing_lost() {
    let check = |code: &str, minor, expected| {
        assert_eq!(figures::amount(Language::English, minor, code.parse().unwrap()), expected);
    };
    check("EUR", 0, "0.00");
    check("EUR", 5, "0.05");
    check("CLF", 1, "0.0001");
    check("JPY", 0, "0");
    check("EUR", i64::MIN, "\u{2212}92,233,720,368,547,758.08");
    assert_eq!(figures::decimal(Language::German, "no number"), "no number");
    assert_eq!(figures::decimal(Language::German, "0.0001"), "0,0001");
}
