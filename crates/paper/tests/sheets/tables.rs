//! Tables of a sheet, and the amounts in them.

use evenfare_paper::sheet::{Block, Column, Row, Rows, Sheet};

/// A table.
pub struct Table<'a> {
    pub columns: &'a [Column],
    pub groups: &'a [Rows],
    pub totals: &'a [Row],
}

pub fn tables(sheet: &Sheet) -> impl Iterator<Item = Table<'_>> {
    sheet.blocks.iter().filter_map(|block| match block {
        Block::Table { columns, groups, totals } => Some(Table { columns, groups, totals }),
        _ => None,
    })
}

impl<'a> Table<'a> {
    pub fn rows(&self) -> impl Iterator<Item = &'a Row> + use<'a> {
        self.groups.iter().flat_map(|group| &group.rows)
    }

    /// The column of those words, whatever its currency.
    pub fn headed(&self, words: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.head.split('\u{a0}').next() == Some(words))
    }

    /// Columns that come to something.
    pub fn added(&self) -> Vec<usize> {
        let Some(first) = self.totals.first() else { return Vec::new() };
        (1..first.cells.len()).filter(|place| !first.cells[*place].is_empty()).collect()
    }
}

/// An amount of English, in minor units: it has all decimals of its currency.
pub fn minor(cell: &str) -> i64 {
    let plain = cell.replace([',', '.'], "").replace('\u{2212}', "-");
    plain.parse().unwrap_or_else(|_| panic!("`{cell}` is no amount"))
}
