//! Tables whose columns line up, within the width of a page.

use anstyle::Style;

use super::wrap::{plain, width, wrap};
use super::{WIDTH, style};

/// Between two columns.
const GAP: usize = 2;

/// No column is made narrower than this.
const LEAST: usize = 8;

/// A column.
#[derive(Debug, Clone, Copy)]
pub(in crate::cli) struct Column {
    right: bool,
    /// Gives way where the page is too narrow.
    yields: bool,
    least: usize,
    most: usize,
}

impl Column {
    /// Flush left.
    pub(in crate::cli) const LEFT: Self = Self { right: false, yields: false, least: 0, most: WIDTH };
    /// Flush right: amounts.
    pub(in crate::cli) const RIGHT: Self = Self { right: true, yields: false, least: 0, most: WIDTH };
    /// Flush left, wrapped where the page is too narrow.
    pub(in crate::cli) const TEXT: Self = Self { right: false, yields: true, least: 0, most: WIDTH };

    /// At most this many columns wide, and wrapped within them.
    pub(in crate::cli) const fn most(self, most: usize) -> Self {
        Self { most, ..self }
    }

    /// At least this many columns wide.
    pub(in crate::cli) const fn least(self, least: usize) -> Self {
        Self { least, ..self }
    }
}

/// One field of a table.
#[derive(Debug, Clone)]
pub(in crate::cli) struct Cell {
    text: String,
    style: Style,
}

impl Cell {
    /// In a style.
    pub(in crate::cli) fn styled(text: impl AsRef<str>, style: Style) -> Self {
        Self { text: plain(text.as_ref()), style }
    }

    /// Its text.
    pub(in crate::cli) fn text(&self) -> &str {
        &self.text
    }
}

impl<T: AsRef<str>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::styled(text, style::PLAIN)
    }
}

/// Rows of cells.
#[derive(Debug)]
pub(in crate::cli) struct Table {
    columns: Vec<Column>,
    rows: Vec<Row>,
    indent: usize,
}

#[derive(Debug)]
enum Row {
    Cells(Vec<Cell>),
    /// A text across all columns.
    Across(usize, Cell),
    Rule,
}

impl Table {
    /// With these columns.
    pub(in crate::cli) fn new(indent: usize, columns: impl Into<Vec<Column>>) -> Self {
        Self { columns: columns.into(), rows: Vec::new(), indent }
    }

    /// One more row.
    pub(in crate::cli) fn row<const N: usize>(&mut self, cells: [Cell; N]) {
        self.cells(cells.into());
    }

    /// One more row, of as many cells as there are columns.
    pub(in crate::cli) fn cells(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row::Cells(cells));
    }

    /// One more row in one style.
    pub(in crate::cli) fn all<const N: usize>(&mut self, style: Style, texts: [&str; N]) {
        self.row(texts.map(|text| Cell::styled(text, style)));
    }

    /// A text across all columns, so much further in.
    pub(in crate::cli) fn across(&mut self, indent: usize, cell: impl Into<Cell>) {
        self.rows.push(Row::Across(indent, cell.into()));
    }

    /// Leaves out rows in which nothing stands but a label.
    pub(in crate::cli) fn without_empty_rows(mut self) -> Self {
        self.rows.retain(|row| match row {
            Row::Cells(cells) => cells.iter().skip(1).any(|cell| !cell.text.is_empty()),
            Row::Across(..) | Row::Rule => true,
        });
        self
    }

    /// A line across all columns.
    pub(in crate::cli) fn rule(&mut self) {
        self.rows.push(Row::Rule);
    }

    fn room(&self) -> usize {
        WIDTH.saturating_sub(self.indent)
    }

    /// How wide each column is: as its widest cell, or less where the page is too narrow.
    fn widths(&self) -> Vec<usize> {
        let mut widths: Vec<usize> = self.columns.iter().map(|column| column.least).collect();
        for row in &self.rows {
            let Row::Cells(cells) = row else { continue };
            for ((widest, column), cell) in widths.iter_mut().zip(&self.columns).zip(cells) {
                *widest = (*widest).max(width(&cell.text)).min(column.most);
            }
        }
        let gaps = widths.len().saturating_sub(1).saturating_mul(GAP);
        let room = self.room().saturating_sub(gaps);
        // The widest gives way first: those that may, then any.
        for any in [false, true] {
            while widths.iter().sum::<usize>() > room {
                let may = widths.iter_mut().zip(&self.columns).filter(|(_, column)| any || column.yields);
                let Some((widest, _)) =
                    may.max_by_key(|(width, _)| **width).filter(|(width, _)| **width > LEAST)
                else {
                    break;
                };
                *widest = widest.saturating_sub(1);
            }
        }
        widths
    }

    /// Its lines, one after the other.
    pub(in crate::cli) fn lines(&self) -> Vec<String> {
        let widths = self.widths();
        let gaps = widths.len().saturating_sub(1).saturating_mul(GAP);
        let whole = widths.iter().sum::<usize>().saturating_add(gaps).min(self.room());
        let mut lines = Vec::new();
        for row in &self.rows {
            match row {
                Row::Rule => lines.push(self.line(&styled(&"─".repeat(whole), style::FAINT))),
                Row::Across(indent, cell) => {
                    let room = self.room().saturating_sub(*indent);
                    for text in wrap(&cell.text, room) {
                        lines.push(self.line(&format!("{:indent$}{}", "", styled(&text, cell.style))));
                    }
                }
                Row::Cells(cells) => lines.extend(self.row_lines(cells, &widths)),
            }
        }
        lines
    }

    fn line(&self, text: &str) -> String {
        format!("{:1$}{text}", "", self.indent)
    }

    fn row_lines(&self, cells: &[Cell], widths: &[usize]) -> Vec<String> {
        let wrapped: Vec<Vec<String>> =
            cells.iter().zip(widths).map(|(cell, width)| wrap(&cell.text, *width)).collect();
        let height = wrapped.iter().map(Vec::len).max().unwrap_or(0);
        let mut lines = Vec::with_capacity(height);
        for level in 0..height {
            let mut line = String::new();
            // Spaces are written when something follows them.
            let mut owed = self.indent;
            for (((column, cell), width_of), texts) in
                self.columns.iter().zip(cells).zip(widths).zip(&wrapped)
            {
                let text = texts.get(level).map_or("", String::as_str);
                let left = width_of.saturating_sub(width(text));
                let (before, after) = if column.right { (left, 0) } else { (0, left) };
                if text.is_empty() {
                    owed = owed.saturating_add(*width_of);
                } else {
                    line.push_str(&" ".repeat(owed.saturating_add(before)));
                    line.push_str(&styled(text, cell.style));
                    owed = after;
                }
                owed = owed.saturating_add(GAP);
            }
            lines.push(line);
        }
        lines
    }
}

/// The text in that style.
pub(in crate::cli) fn styled(text: &str, style: Style) -> String {
    if style == style::PLAIN { text.to_owned() } else { format!("{style}{text}{style:#}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let mut table = Table::new(2, [Column::LEFT, Column::RIGHT]);
        table.row(["日本".into(), "1.00".into()]);
        table.row(["a".into(), "1 000.00".into()]);
        table.rule();
        table.row(["".into(), "7".into()]);
        let rule = "─".repeat(14);
        assert_eq!(
            table.lines(),
            [
                "  日本      1.00",
                "  a     1 000.00",
                &*format!("  \u{1b}[2m{rule}\u{1b}[0m"),
                "               7"
            ]
        );
    }

    #[test]
    fn a_page_is_never_too_narrow() {
        let mut table = Table::new(0, [Column::TEXT, Column::LEFT, Column::RIGHT]);
        table.row(["word ".repeat(40).into(), "x".repeat(90).into(), "1 234.56".into()]);
        table.across(4, "many words ".repeat(30));
        let lines = table.lines();
        assert!(lines.len() > 5);
        assert!(lines.iter().all(|line| width(line) <= WIDTH && !line.ends_with(' ')));
    }
}
