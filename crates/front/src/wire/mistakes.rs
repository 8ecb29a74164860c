//! What is wrong with one message.

use std::borrow::Cow;

use evenfare_engine::problem::{Place, Problem};

/// How many mistakes of one message are kept; the rest is counted.
const KEPT: usize = 1_000;

/// What is wrong with one message, in the order it is found.
#[derive(Default)]
pub(crate) struct Mistakes {
    kept: Vec<Problem>,
    dropped: usize,
}

impl Mistakes {
    pub(crate) fn push(&mut self, place: Place, objection: Objection) {
        if self.kept.len() < KEPT {
            self.kept.push(Problem::error(place, objection.code, objection.found, objection.expected));
        } else {
            self.dropped = self.dropped.saturating_add(1);
        }
    }

    /// All of them, and how many more there were.
    pub(crate) fn into_problems(mut self) -> Vec<Problem> {
        if self.dropped > 0 {
            let found = format_args!("{} more mistakes", self.dropped);
            let expected = format_args!("no more than {KEPT} in one message");
            self.kept.push(Problem::error(Place::default(), "too_many_mistakes", found, expected));
        }
        self.kept
    }
}

/// What there is against a field as it stands.
pub(crate) struct Objection {
    code: &'static str,
    found: String,
    expected: Cow<'static, str>,
}

impl Objection {
    pub(crate) fn new(
        code: &'static str,
        found: impl Into<String>,
        expected: impl Into<Cow<'static, str>>,
    ) -> Self {
        Self { code, found: found.into(), expected: expected.into() }
    }

    pub(crate) fn missing(expected: &'static str) -> Self {
        Self::new("missing_field", "", expected)
    }
}
