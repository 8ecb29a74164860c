//! A catalogue's texts in other languages.

use std::collections::BTreeMap;
use std::fmt;

use evenfare_engine::language::Language;
use evenfare_engine::text::Text;

/// The texts of a workshop's catalogue in other languages than its own: `texts.csv` in the folder of an
/// edition. What is not translated is said in the workshop's own words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Translations {
    /// By language and table, then by code.
    texts: BTreeMap<(Language, Catalogue), BTreeMap<Box<str>, Text>>,
}

/// A table of the catalogue whose rows have a text for people, and what jobs name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Catalogue {
    /// `parts.csv`, by code.
    Parts,
    /// `findings.csv`, by code.
    Findings,
    /// `operations.csv`, by code.
    Operations,
    /// `tests.csv`, by code.
    Tests,
    /// `families.csv`, by code.
    Families,
    /// `extras.csv`, by code.
    Extras,
    /// `grades.csv`, by code.
    Grades,
    /// `flat_prices.csv`, by family and class: `PROOF-C6/minor`.
    FlatPrices,
    /// Other ways to do a job, by the name that jobs give them: they are of no table.
    Alternatives,
}

impl Catalogue {
    /// All of them.
    pub const ALL: &'static [Self] = &[
        Self::Parts,
        Self::Findings,
        Self::Operations,
        Self::Tests,
        Self::Families,
        Self::Extras,
        Self::Grades,
        Self::FlatPrices,
        Self::Alternatives,
    ];

    /// The table's name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Parts => "parts",
            Self::Findings => "findings",
            Self::Operations => "operations",
            Self::Tests => "tests",
            Self::Families => "families",
            Self::Extras => "extras",
            Self::Grades => "grades",
            Self::FlatPrices => "flat_prices",
            Self::Alternatives => "alternatives",
        }
    }

    /// What names one of its rows, in words.
    pub(crate) fn of_its_rows(self) -> String {
        match self {
            Self::FlatPrices => String::from("family and class of a row of flat_prices.csv, a slash between"),
            Self::Alternatives => String::from("the name of an alternative of jobs"),
            _ => format!("a code of {}.csv", self.word()),
        }
    }
}

impl fmt::Display for Catalogue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl Translations {
    /// The text in that language; nothing where it is not translated.
    pub fn text(&self, language: Language, table: Catalogue, code: &str) -> Option<&str> {
        self.texts.get(&(language, table))?.get(code).map(Text::as_str)
    }

    /// Takes a text in; answers whether there was none of it before.
    pub(crate) fn add(&mut self, language: Language, table: Catalogue, code: &str, text: Text) -> bool {
        self.texts.entry((language, table)).or_default().insert(code.into(), text).is_none()
    }
}
