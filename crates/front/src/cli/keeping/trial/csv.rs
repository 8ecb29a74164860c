//! The figures of each quote, one a line.

use std::path::Path;

use evenfare_files::push_row;
use evenfare_reconcile::what_if::Tried;
use evenfare_reconcile::what_if::lines::{COLUMNS, line};

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
            self.put(line(one)?.each_ref().map(String::as_str))?;
        }
        Ok(())
    }

    /// All are there.
    pub(super) fn finish(self) -> Result<(), Failure> {
        self.0.finish()
    }

    fn put(&mut self, cells: [&str; COLUMNS.len()]) -> Result<(), Failure> {
        let mut line = String::new();
        push_row(&mut line, &cells);
        self.0.write(line.as_bytes())
    }
}
