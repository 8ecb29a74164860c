//! Cells of a sheet, and their names.

/// A cell, its row and its column counted from 0.
#[cfg(feature = "workbook")]
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Cell {
    pub(crate) row: u32,
    pub(crate) column: u16,
}

#[cfg(feature = "workbook")]
impl Cell {
    /// Row and column, counted from 1.
    pub(crate) fn counted_from_one(self) -> (usize, usize) {
        let row = usize::try_from(self.row).unwrap_or(usize::MAX);
        (row.saturating_add(1), usize::from(self.column).saturating_add(1))
    }

    /// Its name: `C17`.
    pub(crate) fn name(self) -> String {
        let (row, column) = self.counted_from_one();
        a1(row, column)
    }
}

/// The name of the cell in that row and that column, both counted from 1: `C17`.
pub(crate) fn a1(row: usize, column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        // There is no digit for zero: Z is followed by AA.
        rest = rest.saturating_sub(1);
        let letter = u8::try_from(rest % 26).unwrap_or_default();
        letters.push(char::from(b'A'.saturating_add(letter)));
        rest /= 26;
    }
    let letters: String = letters.into_iter().rev().collect();
    format!("{letters}{row}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_counted_in_letters() {
        let check = |column, expect: &str| assert_eq!(a1(17, column), expect);
        check(1, "A17");
        check(26, "Z17");
        check(27, "AA17");
        check(52, "AZ17");
        check(702, "ZZ17");
        check(703, "AAA17");
        check(16384, "XFD17");
    }
}
