//! The figures of each quote, one a line.

use std::path::Path;

use evenfare_reconcile::what_if::Tried;
use evenfare_reconcile::what_if::lines::{COLUMNS, line};

use super::too_large;
use crate::cli::outcome::Failure;
use crate::cli::output::Unfinished;

/// A file of lines, under way.
pub(super) struct Lines<'p>(Unfinished<'p>);

impl<'p> Lines<'p> {
    /// Begins with the names of the columns.
    pub(super) fn begin(path: &'p Path) -> Result<Self, Failure> {
        let mut lines = Self(Unfinished::new(path)?);
        lines.put(COLUMNS.map(|(name, _)| name))?;
        Ok(lines)
    }

    /// Some more.
    pub(super) fn add(&mut self, tried: &[Tried]) -> Result<(), Failure> {
        for one in tried {
            let cells = line(one).map_err(too_large)?;
            self.put(cells.each_ref().map(String::as_str))?;
        }
        Ok(())
    }

    /// All are there.
    pub(super) fn finish(self) -> Result<(), Failure> {
        self.0.finish()
    }

    fn put(&mut self, cells: [&str; COLUMNS.len()]) -> Result<(), Failure> {
        let line = cells.map(quoted).join(",");
        self.0.write(format!("{line}\n").as_bytes())
    }
}

/// In double quotes where a reader would take it for something else (RFC 4180).
fn quoted(cell: &str) -> String {
    match cell.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", cell.replace('"', "\"\"")),
        false => cell.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_divides_cells_is_quoted() {
        let check = |cell: &str, expect: &str| assert_eq!(quoted(cell), expect);
        check("A-1", "A-1");
        check("", "");
        check("one, two", "\"one, two\"");
        check("a \"word\"", "\"a \"\"word\"\"\"");
    }
}
