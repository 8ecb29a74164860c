//! The mistakes of one file while it is read.

use std::sync::Arc;

use evenfare_engine::nearest::{LOOKED_FOR, or_nearest};

use crate::report::{Mistake, Report, Says};
use crate::source::{Bytes, Source};

/// How many mistakes of one file are kept; the rest is counted.
const KEPT: usize = 1_000;

/// What goes wrong in one file, in the order it is found.
pub(crate) struct Log {
    source: Arc<Source>,
    /// What is read here is said to be of a file of that name.
    file: Arc<str>,
    mistakes: Vec<Mistake>,
    dropped: usize,
    /// Is an error among those dropped?
    has_dropped_errors: bool,
    errors: usize,
    looked_for: usize,
    /// The text could not be parsed whole: what is missing may only be out of sight.
    pub(crate) partial: bool,
    /// Something that other rows may refer to could not be read.
    pub(crate) incomplete: bool,
    /// Where values were refused, where somebody wants to know.
    refusals: Option<Vec<Refusal>>,
}

/// A value that was refused, or a key that is not there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Refusal {
    /// The value, or the table that lacks the key.
    pub(crate) bytes: Bytes,
    /// The key that it lacks.
    pub(crate) key: Option<&'static str>,
}

impl Log {
    pub(crate) fn new(source: &Arc<Source>) -> Self {
        Self {
            source: Arc::clone(source),
            file: source.name().into(),
            mistakes: Vec::new(),
            dropped: 0,
            has_dropped_errors: false,
            errors: 0,
            looked_for: 0,
            partial: false,
            incomplete: false,
            refusals: None,
        }
    }

    /// What is read here is said to be of a file of that name, whatever name mistakes give it.
    pub(crate) fn read_as(&mut self, file: &str) {
        self.file = file.into();
    }

    /// The name of the file that what is read is said to be of.
    pub(crate) fn file(&self) -> &Arc<str> {
        &self.file
    }

    /// A mistake that stops the work.
    pub(crate) fn error(
        &mut self,
        bytes: Bytes,
        code: &'static str,
        found: &str,
        expected: impl Into<String>,
    ) {
        self.errors = self.errors.saturating_add(1);
        self.add(bytes, Says::error(code, found, expected));
    }

    /// A name that is none of these, with the nearest of them.
    pub(crate) fn unknown<'k>(
        &mut self,
        bytes: Bytes,
        code: &'static str,
        found: &str,
        expected: &str,
        known: impl IntoIterator<Item = &'k str>,
    ) {
        let room = self.looked_for < LOOKED_FOR;
        self.looked_for = self.looked_for.saturating_add(1);
        let expected = if room { or_nearest(expected, found, known) } else { expected.to_owned() };
        self.error(bytes, code, found, expected);
    }

    /// A mistake, or something worth a look.
    pub(crate) fn add(&mut self, bytes: Bytes, says: Says) {
        if self.mistakes.len() < KEPT {
            self.mistakes.push(Mistake::in_text(&self.source, bytes, says));
        } else {
            self.dropped = self.dropped.saturating_add(1);
            self.has_dropped_errors |= says.is_error();
        }
    }

    /// From now on it is kept where values are refused, and something stands for each of them.
    pub(crate) fn keep_refusals(&mut self) {
        self.refusals = Some(Vec::new());
    }

    pub(crate) fn keeps_refusals(&self) -> bool {
        self.refusals.is_some()
    }

    /// A value was refused, or that key of a table is missing.
    pub(crate) fn refused(&mut self, bytes: Bytes, key: Option<&'static str>) {
        if let Some(refusals) = &mut self.refusals {
            refusals.push(Refusal { bytes, key });
        }
    }

    /// Where values were refused.
    pub(crate) fn refusals(&self) -> &[Refusal] {
        self.refusals.as_deref().unwrap_or_default()
    }

    /// How many errors so far.
    pub(crate) fn errors(&self) -> usize {
        self.errors
    }

    /// Has an error been reported at that byte?
    pub(crate) fn has_error_at(&self, at: usize) -> bool {
        self.mistakes.iter().any(|mistake| mistake.begins_at(at))
    }

    /// The file these mistakes are in.
    pub(crate) fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// The line, counted from 1.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.source.line(at)
    }

    /// Hands the mistakes over.
    pub(crate) fn move_into(&mut self, report: &mut Report) {
        let mut mistakes = std::mem::take(&mut self.mistakes);
        if self.dropped > 0 {
            let found = format!("{} more mistakes", self.dropped);
            let says = if self.has_dropped_errors { Says::error } else { Says::warning };
            let says = says("too_many_mistakes", &found, format!("no more than {KEPT} in one file"));
            mistakes.push(Mistake::in_folder(self.source.name().to_owned(), says));
            self.dropped = 0;
        }
        report.extend(mistakes);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_names_are_looked_for_so_often_and_no_more() {
        let mut log = Log::new(&Arc::new(Source::new("f", "x")));
        for _ in 0..=LOOKED_FOR {
            log.unknown(0..1, "unknown_key", "nane", "one of name", ["name"]);
        }
        let mut report = Report::default();
        log.move_into(&mut report);
        let near = report.iter().filter(|mistake| mistake.expected().ends_with("; the nearest: name"));
        assert_eq!((near.count(), report.len()), (LOOKED_FOR, LOOKED_FOR + 1));
    }
}
