//! A sheet as lines of text: what a file and a sheet have in common.

use crate::cell::Cell;
use crate::folder::is_csv;
use crate::picture::is_picture;

/// No sheet has more lines; an edition has fewer rows than this in all its tables.
pub(super) const MOST_LINES: usize = 250_000;

/// The end of the name of a file of keys.
const KEYS: &str = ".toml";

/// One row of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Line {
    /// Nothing.
    Blank,
    /// A comment, with its `#`.
    Note(String),
    /// Cells, from the first column on.
    Cells(Vec<String>),
}

/// The sheet of a file: a table goes without the end of its name.
pub(super) fn sheet_of(file: &str) -> &str {
    file.strip_suffix(".csv").unwrap_or(file)
}

/// The file of a sheet.
pub(super) fn file_of(sheet: &str) -> String {
    if is_keys(sheet) || is_csv(sheet) || is_picture(sheet) {
        sheet.to_owned()
    } else {
        format!("{sheet}.csv")
    }
}

/// Is it a file of keys, not a table?
pub(super) fn is_keys(file: &str) -> bool {
    file.ends_with(KEYS)
}

/// Does a row with that text in its first cell, and no other, read as a comment?
pub(super) fn is_note(text: &str) -> bool {
    text.trim_start().starts_with('#')
}

/// A text as it is written, and the cell that each part of it comes from.
#[derive(Debug, Default)]
pub(super) struct Written {
    text: String,
    /// Counted from 0 here, the column in characters.
    line: u32,
    column: u32,
    /// Where something from a cell begins, in the order of the text.
    marks: Vec<(u32, u32, Cell)>,
}

impl Written {
    /// What follows comes from that cell.
    pub(super) fn mark(&mut self, row: usize, column: usize) {
        let row = u32::try_from(row).unwrap_or(u32::MAX);
        let cell = Cell { row, column: u16::try_from(column).unwrap_or(u16::MAX) };
        self.marks.push((self.line, self.column, cell));
    }

    /// Goes on with that text.
    pub(super) fn push(&mut self, text: &str) {
        for c in text.chars() {
            self.column = self.column.saturating_add(1);
            if c == '\n' {
                (self.line, self.column) = (self.line.saturating_add(1), 0);
            }
        }
        self.text.push_str(text);
    }

    /// A comment, each of its lines with a `#`.
    pub(super) fn note(&mut self, text: &str) {
        for line in text.lines() {
            if !is_note(line) {
                self.push("# ");
            }
            self.push(line);
            self.push("\n");
        }
    }

    /// The cell of what stands at that line and column, both counted from 1.
    pub(super) fn cell(&self, line: usize, column: usize) -> Option<Cell> {
        let from_zero = |number: usize| u32::try_from(number.saturating_sub(1)).unwrap_or(u32::MAX);
        let place = (from_zero(line), from_zero(column));
        let after = self.marks.partition_point(|(line, column, _)| (*line, *column) <= place);
        // Before the first mark of a line, that one stands for the line.
        let next = self.marks.get(after).filter(|(line, ..)| *line == place.0);
        let before = after.checked_sub(1).and_then(|before| self.marks.get(before));
        before.filter(|(line, ..)| *line == place.0 || next.is_none()).or(next).map(|(.., cell)| *cell)
    }

    /// The text.
    pub(super) fn text(&self) -> &str {
        &self.text
    }
}

/// Why no cell can hold that text.
pub(super) fn unfit(text: &str) -> Option<&'static str> {
    // What spreadsheets keep in one cell, counted as they count.
    const MOST_UNITS: usize = 32_767;
    let is_odd =
        |c: char| c.is_control() && !matches!(c, '\n' | '\t') || matches!(c, '\u{FFFE}' | '\u{FFFF}');
    if text.contains(is_odd) {
        Some("no control characters")
    } else if text.encode_utf16().count() > MOST_UNITS {
        Some("at most 32767 characters")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_found_again() {
        let mut written = Written::default();
        written.note("# a\nb");
        written.mark(2, 0);
        written.push("ä,");
        written.mark(2, 1);
        written.push("\"x\ny\"\n");
        written.mark(7, 0);
        written.push("z\n");
        assert_eq!(written.text(), "# a\n# b\nä,\"x\ny\"\nz\n");
        let check = |line, column, expect: Option<&str>| {
            assert_eq!(written.cell(line, column).map(Cell::name).as_deref(), expect, "{line}:{column}");
        };
        check(1, 1, None);
        check(3, 1, Some("A3"));
        check(3, 2, Some("A3"));
        check(3, 3, Some("B3"));
        check(4, 1, Some("B3"));
        check(5, 1, Some("A8"));
        check(9, 9, Some("A8"));
    }
}
