//! What a mistake says.

use evenfare_engine::problem::{Problem, Severity};

use crate::source::is_invisible;

/// How much of what was found is quoted in a message.
const QUOTED: usize = 48;

/// The code of what cannot be read at all.
pub(crate) const UNREADABLE: &str = "unreadable";

/// What a mistake says, before it has a place.
#[derive(Debug, Clone)]
pub(crate) struct Says {
    pub(crate) severity: Severity,
    pub(crate) code: &'static str,
    pub(crate) found: String,
    pub(crate) expected: String,
}

impl Says {
    pub(crate) fn error(code: &'static str, found: &str, expected: impl Into<String>) -> Self {
        let expected = quote(&expected.into(), usize::MAX);
        Self { severity: Severity::Error, code, found: quote(found, QUOTED), expected }
    }

    /// That a file or folder cannot be read, and why.
    pub(crate) fn unreadable(why: &str) -> Self {
        let says = Self::error(UNREADABLE, "", "a file or folder that can be read");
        Self { found: quote(why, usize::MAX), ..says }
    }

    pub(crate) fn warning(code: &'static str, found: &str, expected: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(code, found, expected) }
    }

    pub(crate) fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

impl From<Problem> for Says {
    fn from(problem: Problem) -> Self {
        Self {
            severity: problem.severity,
            code: problem.code,
            found: quote(&problem.found, QUOTED),
            expected: quote(&problem.expected, usize::MAX),
        }
    }
}

/// Cut to this many characters, with everything invisible written out as an escape.
pub(crate) fn quote(text: &str, characters: usize) -> String {
    let mut chars = text.chars();
    let mut quoted = String::new();
    for c in chars.by_ref().take(characters) {
        if is_invisible(c) {
            quoted.extend(c.escape_default());
        } else {
            quoted.push(c);
        }
    }
    if chars.next().is_some() {
        quoted.push('…');
    }
    quoted
}
