//! The pieces that a sheet is made of.

use serde::Serialize;

/// A piece of a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Block {
    /// A heading; what comes next stands on the same page.
    Heading {
        /// In words.
        text: String,
    },
    /// A heading of a part of that.
    Subheading {
        /// In words.
        text: String,
    },
    /// A paragraph.
    Text {
        /// In words.
        text: String,
        /// How loud it is.
        tone: Tone,
    },
    /// Names and what they stand for, in two columns.
    Facts {
        /// One a line.
        facts: Vec<Fact>,
    },
    /// The same of amounts, their decimals below each other.
    Amounts {
        /// One a line.
        facts: Vec<Fact>,
    },
    /// Firms side by side, each under what it is here.
    Parties {
        /// What each is, and its lines.
        parties: Vec<(String, Vec<String>)>,
    },
    /// A table; its head stands on each page that it reaches.
    Table {
        /// What stands in each column.
        columns: Vec<Column>,
        /// Its rows in groups.
        groups: Vec<Rows>,
        /// What they come to; stands with the last row.
        totals: Vec<Row>,
    },
    /// How figures came about, in small type.
    Working {
        /// Rule by rule.
        rules: Vec<Followed>,
    },
    /// A bar for each part of a whole, or for each of several amounts.
    Bars {
        /// What the bars show, where they do not say it themselves.
        caption: Option<String>,
        /// From left to right and from top to bottom.
        bars: Vec<Bar>,
        /// Where nothing is, in thousandths of the width: not at the left where bars are below nothing.
        zero: u16,
    },
    /// A chart over time: for each month a column for each series.
    Months {
        /// What is left out, where anything is.
        caption: Option<String>,
        /// What the columns of a month stand for, from left to right.
        series: Vec<String>,
        /// From the first to the last.
        months: Vec<Upright>,
        /// Where nothing is, in thousandths of the height, from below.
        zero: u16,
    },
    /// Sentences, one after the other.
    List {
        /// In words.
        items: Vec<String>,
        /// Is it a caution, in a frame that is seen?
        caution: bool,
    },
    /// Room for what is written by hand, each place under its name.
    Places {
        /// What belongs there.
        labels: Vec<String>,
    },
}

/// How loud a paragraph is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// As any text.
    Plain,
    /// Smaller, for what only some read.
    Quiet,
    /// What must not be missed.
    Strong,
}

/// A name and what it stands for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// `Valid until`
    pub name: String,
    /// `31 July 2026`
    pub value: String,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Its head; may be empty.
    pub head: String,
    /// How wide it is, and which way it is set.
    pub width: Width,
}

/// How wide a column is, and which way it is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Width {
    /// Words; shares what is left with the other columns of words, half as wide again as [`Narrow`](Self::Narrow).
    Wide,
    /// Words; shares what is left.
    Narrow,
    /// As wide as what stands in it, which is short; where it is not, as [`Narrow`](Self::Narrow).
    Short,
    /// An amount: never broken, decimals below each other.
    Amount,
    /// A box to tick, wider where its head says what for; the cells are empty.
    Tick,
    /// Room to write in by hand; the cells are empty.
    Room,
}

/// Rows under a heading of their own, where they have one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Rows {
    /// Stands above them, on each page that they reach.
    pub head: Option<String>,
    /// One below the other.
    pub rows: Vec<Row>,
}

/// A row of a table, a cell for each column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// What stands in each column.
    pub cells: Vec<String>,
    /// Is it what the others come to?
    pub strong: bool,
    /// Smaller words beneath it.
    pub note: Option<String>,
}

/// A rule, and the figures that follow it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Followed {
    /// In words, with how its figures are rounded and what went into all of them.
    pub rule: String,
    /// In the order in which they came about.
    pub figures: Vec<Worked>,
}

/// A figure that follows a rule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Worked {
    /// `net.U1/part/CAP-470`
    pub figure: String,
    /// What it comes to; before that, where it was rounded, the exact value.
    pub result: String,
    /// What went into it alone, each with where it is from.
    pub inputs: String,
}

/// A part of a whole, or one of several amounts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Bar {
    /// Whose part it is.
    pub name: String,
    /// How much it is.
    pub amount: String,
    /// Where it begins, in thousandths of the whole.
    pub from: u16,
    /// How long it is, in thousandths of the whole.
    pub length: u16,
    /// Is it what the whole chart is about?
    pub strong: bool,
}

/// A month of a chart over time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Upright {
    /// `07`
    pub name: String,
    /// Its year, where it is the first that is shown of it.
    pub year: Option<String>,
    /// One for each series: where it begins, from below, and how high it is, in thousandths of the height.
    pub columns: Vec<(u16, u16)>,
}

impl Row {
    /// A plain row.
    pub fn of<const N: usize>(cells: [String; N]) -> Self {
        Self { cells: cells.into(), strong: false, note: None }
    }

    /// What the rows above it come to.
    pub fn strong<const N: usize>(cells: [String; N]) -> Self {
        Self { strong: true, ..Self::of(cells) }
    }
}
