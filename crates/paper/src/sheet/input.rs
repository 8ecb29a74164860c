//! What went into a figure, in the reader's language. Quotes are kept in English, and the engine reads back what it
//! says of an input: [`Shown`]. Names of figures, tables and places are the same in every language.

use std::borrow::Cow;

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::role::Role;
use evenfare_engine::shown::Shown;
use evenfare_engine::trail::{From as Origin, Input};

use crate::figures::{self, NO_BREAK};
use crate::phrases::Phrases;
use crate::words::Words;

/// An input with its name, how much it is, and where it is from.
pub(super) fn told(phrases: &Phrases<'_>, input: &Input) -> String {
    let words = phrases.words;
    let from = match &input.from {
        Origin::Figure(figure) => figure.to_string(),
        Origin::Tariff(place) | Origin::Job(place) => place_of(words, place),
    };
    let (name, shown) = match input.name.parse().map(|role| Shown::of(role, &input.shown)) {
        Ok(Shown::Due { amount, when, is_known }) => {
            (Some(phrases.refresh(&when, is_known)), said(words, Shown::of(Role::Finding, amount)))
        }
        Ok(shown) => (None, said(words, shown)),
        Err(_) => (None, amount(words, &input.shown)),
    };
    let named = name.map_or_else(|| [&words.role(&input.name), " "].concat(), |name| [&name, ", "].concat());
    // A number stays with its unit.
    let shown = if shown.matches(' ').count() == 1 { shown.replace(' ', NO_BREAK) } else { shown };
    [&*named, &shown, " (", &from, ")"].concat()
}

/// How much it is: `OP-CLEAN 2 x 12 min, once for the unit`, `3 pc at C12`.
fn said(words: &Words, shown: Shown<'_, &str>) -> String {
    match shown {
        Shown::Plain(shown) | Shown::Due { amount: shown, .. } => amount(words, shown),
        Shown::At(shown, position) => [&amount(words, shown), ", ", position].concat(),
        Shown::Once(each) => [&amount(words, each), ", ", &words.say("working-once")].concat(),
        Shown::ForOneEuro(rate) => ["1 EUR = ", &amount(words, rate)].concat(),
        Shown::OpenUntil(day) => {
            let day = figures::date(words.language(), day);
            words.say_with("working-open-until", &[("date", (&day).into())])
        }
        Shown::Supply { seller, buyer, category } => [seller, " → ", buyer, ": ", category].concat(),
    }
}

/// `courier_rates.csv Z2 up to 5 kg`
fn place_of(words: &Words, place: &str) -> String {
    if let Some(findings) = place.strip_suffix(" that the warranty excludes") {
        return words.say_with("working-excluded", &[("findings", findings.into())]);
    }
    place.replace(" up to ", " ≤ ").replace(" or ", " / ").replace(" at ", " ").replace(" on ", " ")
}

/// Numbers, days and units as the language writes them, whatever stands between them.
pub(super) fn amount(words: &Words, shown: &str) -> String {
    let mut written = Vec::new();
    let mut parts = shown.split(' ').peekable();
    while let Some(part) = parts.next() {
        let next = parts.peek().copied().unwrap_or_default();
        // A number before another is a code.
        if !is_number(part) || is_number(next) {
            written.push(word(words, part));
        } else if let Some(unit) = UNITS.iter().find(|unit| next.strip_suffix(',').unwrap_or(next) == **unit)
        {
            parts.next();
            let comma = if next.ends_with(',') { "," } else { "" };
            let quantity = match *unit {
                "%" => figures::percent(words.language(), part),
                unit => words.quantity(&[part, " ", unit].concat()),
            };
            written.push([&quantity, comma].concat());
        } else {
            written.push(number(words, &in_full(part, next)));
        }
    }
    written.join(" ")
}

/// An amount has all decimals of its currency, and more where it is not rounded yet: `10.40`.
fn in_full<'p>(part: &'p str, next: &str) -> Cow<'p, str> {
    let Ok(currency) = next.strip_suffix([',', ';']).unwrap_or(next).parse::<Currency>() else {
        return Cow::Borrowed(part);
    };
    let (whole, decimals) = part.split_once('.').unwrap_or((part, ""));
    let wanted = usize::from(currency.exponent());
    if decimals.len() >= wanted || part.ends_with('…') {
        return Cow::Borrowed(part);
    }
    Cow::Owned(format!("{whole}.{decimals:0<wanted$}"))
}

/// Units that languages have words for, and the percent sign.
const UNITS: [&str; 9] = ["pc", "set", "m", "cm", "ml", "g", "min", "h", "%"];

/// `0.333…` is the beginning of a number.
fn is_number(part: &str) -> bool {
    let digits = part.strip_suffix('…').unwrap_or(part);
    let digits = digits.strip_prefix('-').unwrap_or(digits);
    digits.starts_with(|c: char| c.is_ascii_digit()) && digits.chars().all(|c| c.is_ascii_digit() || c == '.')
}

fn number(words: &Words, part: &str) -> String {
    match part.strip_suffix('…') {
        Some(begun) => [&figures::decimal(words.language(), begun), "…"].concat(),
        None => figures::decimal(words.language(), part),
    }
}

fn word(words: &Words, part: &str) -> String {
    match part.parse::<NaiveDate>() {
        Ok(day) => figures::date(words.language(), day),
        Err(_) if part == "x" => "×".to_owned(),
        Err(_) if part == "cm3/kg" => "cm³/kg".to_owned(),
        Err(_) => part.to_owned(),
    }
}
