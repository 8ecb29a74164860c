//! What went into a figure, in the reader's language. The engine writes it in English, and quotes are kept so:
//! `3 pc at C12`, `16.5 CZK for 1 EUR`. Names of figures, tables and places are the same in every language.

use chrono::NaiveDate;
use evenfare_engine::role::Role;
use evenfare_engine::trail::{From as Origin, Input};
use evenfare_engine::why::{Because, Why};

use crate::figures::{self, NO_BREAK};
use crate::phrases::Phrases;
use crate::words::Words;

/// An input with its name, how much it is, and where it is from.
pub(super) fn told(phrases: &Phrases<'_>, input: &Input) -> String {
    let words = phrases.words;
    let from = match &input.from {
        Origin::Figure(figure) => figure.clone(),
        Origin::Tariff(place) | Origin::Job(place) => place_of(words, place),
    };
    let (name, shown) = match input.name.parse() {
        Ok(Role::RefreshList) => due(phrases, &input.shown),
        Ok(Role::PlaceOfSupply) => (None, input.shown.replace(" to ", " → ")),
        _ => (None, asked(words, &input.shown)),
    };
    let named = name.map_or_else(|| [&words.role(&input.name), " "].concat(), |name| [&name, ", "].concat());
    // A number stays with its unit.
    let shown = if shown.matches(' ').count() == 1 { shown.replace(' ', NO_BREAK) } else { shown };
    [&*named, &shown, " (", &from, ")"].concat()
}

/// `2 pc, from 5 years`: when a row of a refresh list is due, and how much it asks for.
fn due(phrases: &Phrases<'_>, shown: &str) -> (Option<String>, String) {
    let row = shown.match_indices(", ").find_map(|(at, _)| {
        let (amount, row) = (shown.get(..at)?, shown.get(at.checked_add(2)?..)?);
        let why: Why = ["refresh, ", row].concat().parse().ok()?;
        match why.reasons() {
            [Because::Refresh { when, is_known }] => Some((phrases.refresh(when, *is_known), amount)),
            _ => None,
        }
    });
    match row {
        Some((row, amount)) => (Some(row), asked(phrases.words, amount)),
        None => (None, asked(phrases.words, shown)),
    }
}

/// `OP-CLEAN 2 x 12 min, once for the unit`, `3 pc at C12`.
fn asked(words: &Words, shown: &str) -> String {
    if let Some(rate) = shown.strip_suffix(" for 1 EUR") {
        return ["1 EUR = ", &amount(words, rate)].concat();
    }
    if let Some(each) = shown.strip_suffix(", once for the unit") {
        return [&amount(words, each), ", ", &words.say("working-once")].concat();
    }
    match shown.split_once(" at ") {
        Some((shown, position)) => [&amount(words, shown), ", ", position].concat(),
        None => amount(words, shown),
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
            written.push(number(words, part));
        }
    }
    written.join(" ")
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
