//! What is taken of a cell, what it changes, and what is refused.

use std::fmt;

use rust_decimal::{Decimal, RoundingStrategy};

use crate::book::guide::Kind;
use crate::book::raw::{Found, Raw};
use crate::says::Says;

/// Why something else is taken than stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// A number has more decimals than its column; it is rounded, half up.
    Rounded,
    /// A formula gives way to the value that it came to when the book was saved.
    Formula,
    /// A number stands where text belongs; zeros in front of it are lost already.
    NumberForText,
    /// A truth value stands for yes or no.
    Truth,
}

impl Why {
    /// A stable word for programs: `number_for_text`.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Rounded => "rounded",
            Self::Formula => "formula",
            Self::NumberForText => "number_for_text",
            Self::Truth => "truth",
        }
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rounded => "rounded to the decimals of its column",
            Self::Formula => "a formula, taken as it came out last",
            Self::NumberForText => "a number where text belongs; see that it lacks no zeros in front",
            Self::Truth => "a truth value, taken for yes or no",
        })
    }
}

/// Stands in a file for what was refused: no code and no number, so that its reader holds back whatever
/// may only follow from it.
const REFUSED: &str = "\u{FFFD}";

/// What is taken of a cell.
pub(super) struct Taken {
    pub(super) text: String,
    /// What stood there, where something else was taken, and why.
    pub(super) changes: Vec<(String, Why)>,
    pub(super) mistake: Option<Says>,
}

/// Takes what stands in a cell for a column of that kind.
pub(super) fn taken(raw: &Raw, kind: Kind) -> Taken {
    let mut changes = Vec::new();
    let text = text_of(&raw.found, kind, &mut changes);
    let formula = raw.formula.as_ref().map(|formula| format!("={formula}"));
    let (text, mistake) = match text {
        Ok(text) => (text, None),
        Err(_) if raw.found == Found::Nothing => {
            let expected = "a value; open the book in a spreadsheet and save it, so that it is worked out";
            let found = formula.as_deref().unwrap_or_default();
            (String::from(REFUSED), Some(Says::error("formula_without_value", found, expected)))
        }
        Err(says) => (String::from(REFUSED), Some(says)),
    };
    if let (Some(formula), None) = (formula, &mistake) {
        changes.insert(0, (formula, Why::Formula));
    }
    Taken { text, changes, mistake }
}

fn text_of(found: &Found, kind: Kind, changes: &mut Vec<(String, Why)>) -> Result<String, Says> {
    let refused = |text: &str, code, expected: &str| Err(Says::error(code, text, expected));
    match (found, kind) {
        (Found::Text(text), Kind::Text | Kind::Unknown) => Ok(text.clone()),
        // Spaces around a cell do not count, as in a file.
        (Found::Text(text), _) => Ok(text.trim().to_owned()),
        (Found::Number(number), Kind::Number(decimals)) => {
            let rounded = rounded(number, decimals);
            if rounded != *number {
                changes.push((number.clone(), Why::Rounded));
            }
            Ok(rounded)
        }
        (Found::Number(number), Kind::Day) => {
            refused(number, "not_a_date", "a day such as 2026-07-01, or a cell formatted as a date")
        }
        (Found::Number(number), Kind::Text) => {
            changes.push((number.clone(), Why::NumberForText));
            Ok(number.clone())
        }
        (Found::Number(number), Kind::YesNo | Kind::List | Kind::Unknown) => Ok(number.clone()),
        (Found::Percentage(number), _) => refused(
            number,
            "percent_cell",
            "the number without %, such as 19 for 19 %, in a cell that is not formatted as a percentage",
        ),
        (Found::Day(day), Kind::Day | Kind::Unknown) => Ok(day.to_string()),
        (Found::Day(day), _) => refused(
            &day.to_string(),
            "date_cell",
            "no date; a spreadsheet makes dates of what looks like one, unless the cell is formatted as text",
        ),
        (Found::Moment(moment), _) => refused(moment, "date_cell", "a day of the calendar without a time"),
        (Found::Truth(truth), Kind::YesNo) => {
            changes.push((truth_text(*truth), Why::Truth));
            Ok(String::from(if *truth { "yes" } else { "no" }))
        }
        (Found::Truth(truth), Kind::Unknown) => Ok(truth.to_string()),
        (Found::Truth(truth), _) => {
            refused(&truth_text(*truth), "truth_cell", "a text or a number, no truth value")
        }
        (Found::Failed(error), _) => refused(error, "error_cell", "a value, no error"),
        (Found::Nothing, _) => refused("=", "formula_without_value", "a value"),
    }
}

fn truth_text(truth: bool) -> String {
    truth.to_string().to_uppercase()
}

/// A decimal with at most this many decimals, half up on its magnitude. What no decimal holds is left as
/// it is, to be refused where it is read.
fn rounded(number: &str, decimals: u32) -> String {
    let Ok(exact) = number.parse::<Decimal>() else { return number.to_owned() };
    let rounded = exact.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero).normalize();
    if rounded.is_zero() { String::from("0") } else { rounded.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell::Cell;

    /// A number as a cell stores it, and what a column of this many decimals takes of it.
    fn check(number: f64, decimals: u32, text: &str, changed: bool) {
        let raw =
            Raw { cell: Cell { row: 0, column: 0 }, found: Found::Number(number.to_string()), formula: None };
        let taken = taken(&raw, Kind::Number(decimals));
        assert_eq!(taken.text, text, "{number} to {decimals}");
        assert_eq!(!taken.changes.is_empty(), changed, "{number} to {decimals}");
        assert!(taken.mistake.is_none());
    }

    #[test]
    fn numbers_are_taken_by_their_shortest_decimal() {
        check(0.1 + 0.2, 4, "0.3", true);
        check(12.30, 4, "12.3", false);
        check(1e-7, 4, "0", true);
        check(1e-7, 6, "0", true);
        check(5e-7, 6, "0.000001", true);
        check(1.00005, 4, "1.0001", true);
        check(1.00004999, 4, "1", true);
        // Below the tie as a binary fraction, on it as it was typed.
        check(2.675, 2, "2.68", true);
        check(1.0005, 3, "1.001", true);
        check(29.999_999_999_999_996, 0, "30", true);
        check(-40.0, 0, "-40", false);
        check(-0.00005, 4, "-0.0001", true);
        check(1e9, 4, "1000000000", false);
        check(0.0, 4, "0", false);
        check(5e-324, 4, "0", true);
        // More than a decimal holds: refused by its reader.
        check(1e40, 4, &format!("1{}", "0".repeat(40)), false);
    }
}
