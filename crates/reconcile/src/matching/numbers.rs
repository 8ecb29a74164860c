//! Numbers that papers and payments go by, to be found in what people write.

use std::collections::HashMap;

use crate::reference::{Words, normal, number_of_creditor_reference};

/// Numbers in their normal form, and what each stands for; one that stands for two things stands for neither.
#[derive(Debug, Default)]
pub(crate) struct Numbers {
    known: HashMap<Box<str>, Option<u32>>,
    /// A bit for each length that there is: most of what stands in a text is no number for that alone.
    lengths: u64,
}

/// The bit of a length; the longest share the last.
fn bit(length: usize) -> u64 {
    1_u64.rotate_left(u32::try_from(length).unwrap_or(u32::MAX).min(63))
}

impl Numbers {
    pub(crate) fn with_capacity(numbers: usize) -> Self {
        Self { known: HashMap::with_capacity(numbers), lengths: 0 }
    }

    /// Notes what a number in its normal form stands for.
    pub(crate) fn insert(&mut self, normal: String, place: u32) {
        if normal.is_empty() {
            return;
        }
        self.lengths |= bit(normal.len());
        let same = |known: &mut Option<u32>| *known = known.filter(|known| *known == place);
        self.known.entry(normal.into()).and_modify(same).or_insert(Some(place));
    }

    /// What a number in its normal form stands for.
    pub(crate) fn get(&self, normal: &str) -> Option<u32> {
        if self.lengths & bit(normal.len()) == 0 {
            return None;
        }
        self.known.get(normal).copied().flatten()
    }

    /// What a text is the number of, or the only thing that it names.
    pub(crate) fn named(&self, text: &str, words: &mut Words) -> Option<u32> {
        if let Some(place) = self.get(&normal(text)) {
            return Some(place);
        }
        if let Some(place) = number_of_creditor_reference(text).and_then(|number| self.get(&number)) {
            return Some(place);
        }
        let mut only = None;
        let mut several = false;
        words.read(text);
        words.names(
            |run| self.get(run),
            |place| {
                several |= only.is_some_and(|known| known != place);
                only = Some(place);
            },
        );
        only.filter(|_| !several)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: Option<u32>) {
        let mut numbers = Numbers::default();
        for (place, number) in (0..).zip(["Q20260001", "Q20260002", "TWICE01", "TWICE01"]) {
            numbers.insert(number.into(), place);
        }
        assert_eq!(numbers.named(text, &mut Words::default()), expect, "{text}");
    }

    #[test]
    fn one_number_is_found_and_two_are_not_chosen_from() {
        check("Q-2026-0001", Some(0));
        check("your order of May, q 2026 0002", Some(1));
        check("Q-2026-0001 and Q-2026-0001", Some(0));
        check("Q-2026-0001 and Q-2026-0002", None);
        check("TWICE-01", None);
        check("", None);
    }
}
