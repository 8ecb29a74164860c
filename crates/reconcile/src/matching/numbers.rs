//! Numbers that papers and payments go by, to be found in what people write.

use std::collections::HashMap;

use crate::reference::{Words, letters_and_digits, normal, number_of_creditor_reference};

/// Numbers as letters and digits, and what each stands for; one that stands for two things stands for neither.
#[derive(Debug, Default)]
pub(crate) struct Numbers {
    /// Those that can be packed, which are nearly all: a look-up then meets no text.
    packed: HashMap<u128, Option<u32>>,
    longer: HashMap<Box<str>, Option<u32>>,
    /// A bit for each length that there is: most of what stands in a text is no number for that alone.
    lengths: u64,
}

/// The bit of a length; the longest share the last.
fn bit(length: usize) -> u64 {
    1_u64.rotate_left(u32::try_from(length).unwrap_or(u32::MAX).min(63))
}

/// The letters and digits of a text, six bits each; none of more than 21.
fn packed(text: &str) -> Option<u128> {
    letters_and_digits(text).try_fold(0_u128, |packed, c| {
        // No letter or digit is 0, so texts of different lengths are different.
        let code = c.to_digit(36)?.checked_add(1)?;
        (packed >> 120 == 0).then_some((packed << 6) | u128::from(code))
    })
}

impl Numbers {
    pub(crate) fn with_capacity(numbers: usize) -> Self {
        Self { packed: HashMap::with_capacity(numbers), longer: HashMap::new(), lengths: 0 }
    }

    /// Notes what a number stands for, however it is written.
    pub(crate) fn insert(&mut self, text: &str, place: u32) {
        let length = letters_and_digits(text).count();
        if length == 0 {
            return;
        }
        self.lengths |= bit(length);
        let same = |known: &mut Option<u32>| *known = known.filter(|known| *known == place);
        match packed(text) {
            Some(packed) => self.packed.entry(packed).and_modify(same).or_insert(Some(place)),
            None => self.longer.entry(normal(text).into()).and_modify(same).or_insert(Some(place)),
        };
    }

    /// What a number stands for, however it is written.
    pub(crate) fn get(&self, text: &str) -> Option<u32> {
        match packed(text) {
            Some(packed) => self.packed.get(&packed).copied().flatten(),
            None => self.longer.get(&*normal(text)).copied().flatten(),
        }
    }

    /// What a number stands for that is letters and digits only.
    pub(crate) fn of_run(&self, run: &str) -> Option<u32> {
        if self.lengths & bit(run.len()) == 0 {
            return None;
        }
        self.get(run)
    }

    /// What a text is the number of, or the only thing that it names.
    pub(crate) fn named(&self, text: &str, words: &mut Words) -> Option<u32> {
        if let Some(place) = self.get(text) {
            return Some(place);
        }
        if let Some(place) = number_of_creditor_reference(text).and_then(|number| self.get(&number)) {
            return Some(place);
        }
        let mut only = None;
        let mut several = false;
        words.read(text);
        words.names(
            |run| self.of_run(run),
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
            numbers.insert(number, place);
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

    #[test]
    fn numbers_of_any_length_are_told_apart() {
        let mut numbers = Numbers::default();
        // Twenty-one characters are packed, twenty-two are not.
        let texts: Vec<String> = (1..=30).map(|length| "Z".repeat(length)).collect();
        for (place, text) in (0..).zip(&texts) {
            numbers.insert(text, place);
        }
        for (place, text) in (0..).zip(&texts) {
            assert_eq!(numbers.get(&text.to_lowercase()), Some(place), "{text}");
            assert_eq!(numbers.of_run(text), Some(place), "{text}");
        }
        assert_eq!((numbers.packed.len(), numbers.longer.len()), (21, 9));
        assert_eq!((numbers.get(""), numbers.get("0"), numbers.of_run(&"Z".repeat(31))), (None, None, None));
    }
}
