//! What is wrong with an input, where, and what was expected there.

use std::fmt;

use crate::category::words;

words! {
    /// Does it stop the work, or is it only worth a look?
    Severity {
        /// Nothing is priced until it is mended.
        Error = "error",
        /// Prices are computed; somebody should look.
        Warning = "warning",
    }
}

/// Where in an input: `parts[3].unit_cost`, `units[0].findings[2].code`.
///
/// Rows count from zero, in the order they were given. Whoever read the input from a file knows
/// which line that was.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(transparent))]
pub struct Place(String);

impl Place {
    /// A field at the top.
    pub fn field(name: &str) -> Self {
        Self(name.to_owned())
    }

    /// A row of a table.
    pub fn row(table: &str, row: usize) -> Self {
        Self(format!("{table}[{row}]"))
    }

    /// A field of this place.
    #[must_use]
    pub fn at(&self, name: &str) -> Self {
        if self.0.is_empty() { Self::field(name) } else { Self(format!("{}.{name}", self.0)) }
    }

    /// An entry of this list.
    #[must_use]
    pub fn nth(&self, index: usize) -> Self {
        Self(format!("{}[{index}]", self.0))
    }

    /// As text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One mistake in a tariff or a job. All of them are reported at once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// Does it stop the work?
    pub severity: Severity,
    /// A stable name for programs: `unknown_part`.
    pub code: &'static str,
    /// What stood there; empty where something is missing.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

impl Problem {
    /// A mistake that stops the work.
    pub fn error(
        place: Place,
        code: &'static str,
        found: impl fmt::Display,
        expected: impl fmt::Display,
    ) -> Self {
        Self {
            place,
            severity: Severity::Error,
            code,
            found: found.to_string(),
            expected: expected.to_string(),
        }
    }

    /// Something worth a look.
    pub fn warning(
        place: Place,
        code: &'static str,
        found: impl fmt::Display,
        expected: impl fmt::Display,
    ) -> Self {
        Self { severity: Severity::Warning, ..Self::error(place, code, found, expected) }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let found = if self.found.is_empty() { "nothing" } else { &self.found };
        write!(f, "{}: found `{found}`, expected {}", self.place, self.expected)
    }
}

impl std::error::Error for Problem {}

/// Mistakes one after the other, the first few in full.
pub(crate) fn listed(problems: &[Problem]) -> String {
    const MOST: usize = 5;
    let mut text: Vec<String> = problems.iter().take(MOST).map(Problem::to_string).collect();
    let left = problems.len().saturating_sub(MOST);
    if left > 0 {
        text.push(format!("and {left} more"));
    }
    text.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_few_mistakes_are_told_in_full() {
        let problem = |row: usize| {
            let found = if row == 0 { String::new() } else { row.to_string() };
            Problem::error(Place::row("parts", row).at("fit_minutes"), "too_long", found, "less")
        };
        let told = |count: usize| listed(&(0..count).map(problem).collect::<Vec<_>>());
        assert_eq!(told(0), "");
        assert_eq!(told(1), "parts[0].fit_minutes: found `nothing`, expected less");
        let five = told(5);
        assert_eq!(five.matches("; ").count(), 4, "{five}");
        assert!(five.ends_with("parts[4].fit_minutes: found `4`, expected less"), "{five}");
        assert_eq!(told(6), format!("{five}; and 1 more"));
    }
}
