//! Why a step of the plan is there.

use std::fmt;
use std::str::FromStr;

use crate::money::Percent;
use crate::text::Code;

/// All who asked for a step of the plan.
///
/// Its text is the same in every answer, and is read back from there (`every_why_is_read_back`).
///
/// # Examples
/// ```
/// use evenfare_engine::why::{Because, Why};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let text = "finding F-PSU at K1; refresh, from 8 years; not known, so taken for due";
/// let why: Why = text.parse()?;
/// assert_eq!(why.reasons().len(), 2);
/// assert!(matches!(why.reasons(), [Because::Finding { .. }, Because::Refresh { is_known: false, .. }]));
/// assert_eq!(why.to_string(), text);
/// assert!("because".parse::<Why>().is_err());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Why(Vec<Because>);

/// One of those who asked for a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Because {
    /// Something that was found.
    Finding {
        /// What, by the catalogue.
        code: Code,
        /// Where on the board.
        position: Option<Code>,
    },
    /// The family's refresh list.
    Refresh {
        /// When it asks.
        when: When,
        /// Was the figure known that this goes by? It counts as due where it was not.
        is_known: bool,
    },
    /// The test that every unit of the family gets.
    Family,
}

/// When a refresh list asks for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum When {
    /// In any case.
    Always,
    /// From this many duty cycles.
    Cycles(u64),
    /// From this many full years.
    Years(u32),
    /// From that used share of its life.
    Wear {
        /// The share.
        share: Percent,
        /// How it wears, by the tariff.
        wear: Code,
    },
}

/// The text is none that the engine says.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is no reason for a step of the plan; expected {}", Why::EXPECTED)]
pub struct UnknownWhy {
    /// What stood there, cut to sixty characters.
    pub found: String,
}

const BETWEEN: &str = "; ";
const FINDING: &str = "finding ";
const AT: &str = " at ";
const REFRESH: &str = "refresh, ";
const UNKNOWN: &str = "not known, so taken for due";
const FAMILY: &str = "test of the family";

impl Why {
    /// What its text is made of, in words.
    pub const EXPECTED: &'static str =
        "findings, rows of the refresh list, or the test of the family, in order and between semicolons";

    /// In the order of their texts, each once.
    pub(crate) fn new(mut reasons: Vec<Because>) -> Self {
        if reasons.len() > 1 {
            reasons.sort_by_cached_key(ToString::to_string);
            reasons.dedup();
        }
        Self(reasons)
    }

    /// Who asked, in the order of their texts.
    pub fn reasons(&self) -> &[Because] {
        &self.0
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, because) in self.0.iter().enumerate() {
            let between = if index == 0 { "" } else { BETWEEN };
            write!(f, "{between}{because}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Because {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Finding { code, position: Some(position) } => write!(f, "{FINDING}{code}{AT}{position}"),
            Self::Finding { code, position: None } => write!(f, "{FINDING}{code}"),
            Self::Refresh { when, is_known } => write!(f, "{REFRESH}{}", Row { when, is_known: *is_known }),
            Self::Family => f.write_str(FAMILY),
        }
    }
}

/// A row of a refresh list, and whether the figure was known that it goes by.
pub(crate) struct Row<'a> {
    pub(crate) when: &'a When,
    pub(crate) is_known: bool,
}

impl Row<'_> {
    /// When a row applies, and whether what it goes by was known.
    pub(crate) fn read(text: &str) -> Option<(When, bool)> {
        let unknown = text.strip_suffix(UNKNOWN).and_then(|row| row.strip_suffix(BETWEEN));
        Some((when(unknown.unwrap_or(text))?, unknown.is_none()))
    }
}

impl fmt::Display for Row<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { when, is_known } = self;
        if *is_known { write!(f, "{when}") } else { write!(f, "{when}{BETWEEN}{UNKNOWN}") }
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Always => f.write_str("always"),
            Self::Cycles(from) => write!(f, "from {from} cycles"),
            Self::Years(from) => write!(f, "from {from} years"),
            Self::Wear { share, wear } => write!(f, "from {share} % of its life used ({wear})"),
        }
    }
}

impl FromStr for Why {
    type Err = UnknownWhy;

    fn from_str(text: &str) -> Result<Self, UnknownWhy> {
        let unknown = || UnknownWhy { found: text.chars().take(60).collect() };
        let mut reasons: Vec<Because> = Vec::new();
        for part in text.split(BETWEEN) {
            match (part, reasons.last_mut()) {
                (UNKNOWN, Some(Because::Refresh { is_known, .. })) => *is_known = false,
                _ => reasons.push(because(part).ok_or_else(unknown)?),
            }
        }
        // There is one way to say it: in order, each once, numbers without zeros in front.
        let why = Self::new(reasons);
        if why.to_string() == text { Ok(why) } else { Err(unknown()) }
    }
}

fn because(text: &str) -> Option<Because> {
    if let Some(finding) = text.strip_prefix(FINDING) {
        return Some(match finding.split_once(AT) {
            Some((code, position)) => {
                Because::Finding { code: code.parse().ok()?, position: Some(position.parse().ok()?) }
            }
            None => Because::Finding { code: finding.parse().ok()?, position: None },
        });
    }
    match text.strip_prefix(REFRESH) {
        Some(row) => Some(Because::Refresh { when: when(row)?, is_known: true }),
        None => (text == FAMILY).then_some(Because::Family),
    }
}

fn when(text: &str) -> Option<When> {
    if text == "always" {
        return Some(When::Always);
    }
    let (from, rest) = text.strip_prefix("from ")?.split_once(' ')?;
    match rest {
        "cycles" => from.parse().ok().map(When::Cycles),
        "years" => from.parse().ok().map(When::Years),
        _ => {
            let wear = rest.strip_prefix("% of its life used (")?.strip_suffix(')')?;
            Some(When::Wear { share: from.parse().ok()?, wear: wear.parse().ok()? })
        }
    }
}

crate::text::serde_as_text!(Why);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_is_one_way_to_say_it() {
        let check = |text: &str, holds| assert_eq!(text.parse::<Why>().is_ok(), holds, "{text}");
        check("test of the family", true);
        check("finding F-1 at K1", true);
        check("finding F-1 at K1; finding F-1 at K2", true);
        check("refresh, from 400000 cycles; not known, so taken for due", true);
        check("refresh, from 12.5 % of its life used (W-CAP)", true);
        check("", false);
        check("finding F-1 at K2; finding F-1 at K1", false);
        check("finding F-1; finding F-1", false);
        check("refresh, from 007 years", false);
        check("refresh, from 12.50 % of its life used (W-CAP)", false);
        check("refresh, always; not known, so taken for due; not known, so taken for due", false);
        check("not known, so taken for due", false);
        check("finding F-1 at K1 at K2", false);
        check("finding F-1;", false);
    }
}
