//! What `FORMAT.md` says of each column and key: its meaning, and what may stand in it.
//!
//! The document is the one description of the format, so a book takes its notes, its lists to choose from
//! and the decimals of its columns from there. What is sound is decided by the reader of the folder alone.

use std::collections::BTreeMap;

use evenfare_engine::money::{Decimals, Percent, Quantity, ReferenceRate, UnitPrice};

const FORMAT: &str = include_str!("../../FORMAT.md");

/// What may stand in a column or at a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A number with at most this many decimals; a whole one where there are none.
    Number(u32),
    /// A day of the calendar.
    Day,
    /// Yes or no.
    YesNo,
    /// Words, separated by spaces.
    List,
    /// Text of any sort: codes, countries, names, one of some words.
    Text,
    /// Nothing is said about it.
    Unknown,
}

/// A column of a table, or a key of a file of keys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Column {
    pub(super) kind: Kind,
    /// What it means.
    pub(super) meaning: String,
    /// How it is written.
    pub(super) written: String,
    /// The words it is one of; empty where it may be anything of its kind.
    pub(super) words: Vec<&'static str>,
    /// The table that it is a code of, without `.csv`.
    pub(super) refers_to: Option<&'static str>,
}

/// What the document says, by file and column; keys go with their section, `edition.id`.
pub(super) struct Guide {
    columns: BTreeMap<(&'static str, String), Column>,
    titles: BTreeMap<&'static str, &'static str>,
    /// The files in the order of the document.
    files: Vec<&'static str>,
}

impl Guide {
    /// Reads the document.
    pub(super) fn new() -> Self {
        let mut guide = Self { columns: BTreeMap::new(), titles: BTreeMap::new(), files: Vec::new() };
        for section in FORMAT.split("\n## `").skip(1) {
            let section = section.split("\n# ").next().unwrap_or_default();
            let Some((file, rest)) = section.split_once('`') else { continue };
            let title = rest.lines().next().unwrap_or_default();
            guide.files.push(file);
            guide.titles.insert(file, title.strip_prefix(": ").unwrap_or(title));
            let mut prefix = String::new();
            for line in rest.lines().filter(|line| line.starts_with("| ")) {
                guide.take(file, &mut prefix, line);
            }
        }
        guide
    }

    /// A row of the document: names, meaning, notation.
    fn take(&mut self, file: &'static str, prefix: &mut String, line: &'static str) {
        let mut cells = line.trim_matches('|').split('|').map(str::trim);
        let (Some(names), Some(meaning), Some(written)) = (cells.next(), cells.next(), cells.next()) else {
            return;
        };
        for name in quoted(names) {
            match name.strip_prefix('[').and_then(|name| name.strip_suffix(']')) {
                Some(section) => *prefix = format!("{section}."),
                None => {
                    let column = Column::of(meaning, written);
                    self.columns.insert((file, format!("{prefix}{name}")), column);
                }
            }
        }
    }

    /// What is said of that column of that file.
    pub(super) fn column(&self, file: &str, name: &str) -> Option<&Column> {
        let file = self.titles.get_key_value(file).map(|(file, _)| *file)?;
        self.columns.get(&(file, name.to_owned()))
    }

    /// What may stand in that column of that file.
    pub(super) fn kind(&self, file: &str, name: &str) -> Kind {
        self.column(file, name).map_or(Kind::Unknown, |column| column.kind)
    }

    /// How many files go before that one; those that nothing is said about are the last.
    pub(super) fn order(&self, file: &str) -> usize {
        self.files.iter().position(|known| *known == file).unwrap_or(self.files.len())
    }

    /// What the file is about, in a few words; empty where nothing is said.
    pub(super) fn title(&self, file: &str) -> &'static str {
        self.titles.get(file).copied().unwrap_or_default()
    }
}

impl Column {
    fn of(meaning: &'static str, written: &'static str) -> Self {
        let kind = match written {
            _ if written.starts_with("amount") => Kind::Number(UnitPrice::DECIMALS),
            _ if written.starts_with("quantity") => Kind::Number(Quantity::DECIMALS),
            _ if written.starts_with("percent") => Kind::Number(Percent::DECIMALS),
            _ if written.starts_with("reference rate") => Kind::Number(ReferenceRate::DECIMALS),
            _ if written.starts_with("whole number") => Kind::Number(0),
            _ if written.starts_with("day") => Kind::Day,
            "`yes` or `no`" => Kind::YesNo,
            _ if written.starts_with("list") || written.contains("separated by spaces") => Kind::List,
            _ => Kind::Text,
        };
        let words = match written {
            "category" => words_of("Categories"),
            "work" => words_of("Works"),
            _ if kind == Kind::List => Vec::new(),
            _ => quoted(written).collect(),
        };
        let refers_to = quoted(meaning)
            .filter_map(|file| file.strip_suffix(".csv"))
            .find(|_| meaning.contains("a code of"));
        let plain = |text: &str| text.replace(['`', '*'], "");
        Self { kind, meaning: plain(meaning), written: plain(written), words, refers_to }
    }
}

/// The words of the rule that begins so.
fn words_of(name: &str) -> Vec<&'static str> {
    let rule =
        FORMAT.lines().find(|line| line.strip_prefix("* **").is_some_and(|rest| rest.starts_with(name)));
    quoted(rule.unwrap_or_default()).collect()
}

/// What stands between backticks.
fn quoted(text: &'static str) -> impl Iterator<Item = &'static str> {
    text.split('`').skip(1).step_by(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(file: &str, name: &str, kind: Kind, words: &[&str], refers_to: Option<&str>) {
        let guide = Guide::new();
        let column = guide.column(file, name);
        assert_eq!(column.map(|column| column.kind), Some(kind), "{file} {name}");
        assert_eq!(column.map(|column| &*column.words), Some(words), "{file} {name}");
        assert_eq!(column.and_then(|column| column.refers_to), refers_to, "{file} {name}");
    }

    #[test]
    fn the_document_says_what_may_stand_where() {
        check("edition.toml", "edition.from", Kind::Day, &[], None);
        check("edition.toml", "workshop.city", Kind::Text, &[], None);
        check("edition.toml", "price.ending_direction", Kind::Text, &["up", "nearest", "down"], None);
        check("edition.toml", "price.flat_covers", Kind::List, &[], None);
        check("edition.toml", "terms.warranty_cycles", Kind::Number(0), &[], None);
        check("edition.toml", "markup.labour", Kind::Number(4), &[], None);
        check("parts.csv", "unit", Kind::Text, &["pc", "set", "m", "cm", "ml", "g"], None);
        check("parts.csv", "unit_cost", Kind::Number(4), &[], None);
        check("parts.csv", "fit_grade", Kind::Text, &[], Some("grades"));
        check("operations.csv", "once", Kind::YesNo, &["yes", "no"], None);
        check("tests.csv", "bench_hours", Kind::Number(3), &[], None);
        check("wear.csv", "service_celsius", Kind::Number(0), &[], None);
        check("extras.csv", "categories", Kind::List, &[], None);
        let works = ["removal", "refitting", "diagnosis", "leg_in", "leg_out"];
        check("credits.csv", "work", Kind::Text, &works, None);
        check("agreements.csv", "until", Kind::Day, &[], None);
        check("currency_rates.csv", "units_per_eur", Kind::Number(6), &[], None);
        assert_eq!(Guide::new().title("parts.csv"), "parts");
        // Keys of jobs are no columns of the last table.
        assert_eq!(Guide::new().column("currency_rates.csv", "reference"), None);
    }
}
