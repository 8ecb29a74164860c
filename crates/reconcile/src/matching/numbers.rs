//! Numbers that papers and payments go by, to be found in what people write.

use std::cell::Cell;
use std::collections::HashMap;

use crate::reference::{Words, letters_and_digits, normal, number_of_creditor_reference};
use crate::sorted::found_near;

/// Numbers as letters and digits, and what each stands for; one that stands for two things stands for neither.
///
/// They are sorted, not hashed: papers and payments come in much the order of their numbers, so that what is looked
/// up next lies near what was looked up last, and is looked for there ([`Reader`]).
#[derive(Debug, Default)]
pub(crate) struct Numbers {
    /// Those that can be packed, which are nearly all: a look-up then meets no text.
    packed: Vec<u128>,
    /// What each of those stands for.
    places: Vec<u32>,
    longer: Vec<(Box<str>, u32)>,
    /// A bit for each length that there is, and for each letter or digit that one begins with: most of what stands in a
    /// text is no number for that alone.
    lengths: u64,
    firsts: u64,
}

/// Who reads texts one after the other, and finds what they name.
#[derive(Debug, Default)]
pub(crate) struct Reader {
    pub(super) words: Words,
    pub(super) quotes: Last,
    pub(super) invoices: Last,
}

/// Where the number that was found last stands among the others.
#[derive(Debug, Default)]
pub(crate) struct Last(Cell<usize>);

/// The bit of a length; the longest share the last.
fn bit(length: usize) -> u64 {
    1_u64.rotate_left(u32::try_from(length).unwrap_or(u32::MAX).min(63))
}

/// The bit of what a number begins with; none where it has no letter and no digit.
fn first_bit(text: &str) -> u64 {
    let first = letters_and_digits(text).next().and_then(|c| c.to_digit(36));
    first.map_or(0, |first| 1_u64.rotate_left(first))
}

/// The letters and digits of a text, six bits each; none of more than 21.
pub(crate) fn packed(text: &str) -> Option<u128> {
    letters_and_digits(text).try_fold(0_u128, |packed, c| {
        // No letter or digit is 0, so texts of different lengths are different.
        let code = c.to_digit(36)?.checked_add(1)?;
        (packed >> 120 == 0).then_some((packed << 6) | u128::from(code))
    })
}

/// Sorted, without those that stand for two things.
fn told_apart<K: Ord + Clone>(mut numbers: Vec<(K, u32)>) -> Vec<(K, u32)> {
    numbers.sort_unstable();
    numbers.dedup();
    let of_one = numbers.chunk_by(|a, b| a.0 == b.0);
    let of_two = of_one.filter(|things| things.len() > 1).filter_map(<[_]>::first);
    // They are few: the others stay where they are.
    let of_two: Vec<K> = of_two.map(|(number, _)| number.clone()).collect();
    if !of_two.is_empty() {
        numbers.retain(|(number, _)| of_two.binary_search(number).is_err());
    }
    numbers
}

impl Numbers {
    /// Of numbers, however they are written, and what they stand for.
    pub(crate) fn new<'t>(all: impl Iterator<Item = (&'t str, u32)>) -> Self {
        let room = all.size_hint().0;
        let (mut short, mut places) = (Vec::with_capacity(room), Vec::with_capacity(room));
        let mut longer: Vec<(Box<str>, u32)> = Vec::new();
        let (mut lengths, mut firsts) = (0, 0);
        for (text, place) in all {
            let length = letters_and_digits(text).count();
            if length > 0 {
                lengths |= bit(length);
                firsts |= first_bit(text);
                match packed(text) {
                    Some(packed) => {
                        short.push(packed);
                        places.push(place);
                    }
                    None => longer.push((normal(text).into(), place)),
                }
            }
        }
        // They nearly always come in their order, and then stay where they are.
        if !short.is_sorted_by(|a, b| a < b) {
            (short, places) = told_apart(short.into_iter().zip(places).collect()).into_iter().unzip();
        }
        Self { packed: short, places, longer: told_apart(longer), lengths, firsts }
    }

    /// What a number stands for, however it is written.
    pub(crate) fn get(&self, text: &str) -> Option<u32> {
        self.get_near(text, &Last::default())
    }

    fn get_near(&self, text: &str, last: &Last) -> Option<u32> {
        match packed(text) {
            Some(packed) => {
                let place = found_near(&self.packed, &packed, last.0.get())?;
                last.0.set(place);
                self.places.get(place).copied()
            }
            None => {
                let text = normal(text);
                let place = self.longer.binary_search_by(|(known, _)| known.as_ref().cmp(&text)).ok()?;
                self.longer.get(place).map(|(_, place)| *place)
            }
        }
    }

    /// What a number stands for that is letters and digits only.
    pub(crate) fn of_run(&self, run: &str, last: &Last) -> Option<u32> {
        if self.lengths & bit(run.len()) == 0 || self.firsts & first_bit(run) == 0 {
            return None;
        }
        self.get_near(run, last)
    }

    /// The quote that a text is the number of, or the only one that it names.
    pub(crate) fn named(&self, text: &str, reader: &mut Reader) -> Option<u32> {
        let Reader { words, quotes, .. } = reader;
        if let Some(place) = self.get_near(text, quotes) {
            return Some(place);
        }
        if let Some(place) = number_of_creditor_reference(text).and_then(|number| self.get(&number)) {
            return Some(place);
        }
        let mut only = None;
        let mut several = false;
        words.read(text);
        words.names(
            |run| self.of_run(run, quotes),
            |place| {
                several |= only.is_some_and(|known| known != place);
                only = Some(place);
            },
        );
        only.filter(|_| !several)
    }
}

/// Papers by who wrote them and their numbers.
#[derive(Default)]
pub(crate) struct ByNumber<'t> {
    written: HashMap<(&'t str, &'t str), usize>,
    /// By letters and digits; a number that two papers have so stands for neither.
    spelled: HashMap<(&'t str, String), Option<usize>>,
}

impl<'t> ByNumber<'t> {
    /// Notes what a number of a firm's stands for, where it does for nothing yet, and answers what it does stand for. Rows
    /// of a list that are one invoice have one number.
    pub(crate) fn insert(&mut self, author: &'t str, number: &'t str, place: usize) -> usize {
        let first = *self.written.entry((author, number)).or_insert(place);
        let known = self.spelled.entry((author, normal(number)));
        known.and_modify(|known| *known = known.filter(|known| *known == first)).or_insert(Some(first));
        first
    }

    /// What a number of that firm's stands for: as it is written, else however it is spelled.
    pub(crate) fn get(&self, author: &str, number: &str) -> Option<usize> {
        let written = self.written.get(&(author, number)).copied();
        written.or_else(|| self.spelled.get(&(author, normal(number))).copied().flatten())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expect: Option<u32>) {
        let numbers = ["Q20260001", "Q20260002", "TWICE01", "TWICE01", "Q-2026-0001"];
        let numbers = Numbers::new(numbers.into_iter().zip([0, 1, 2, 3, 0]));
        assert_eq!(numbers.named(text, &mut Reader::default()), expect, "{text}");
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
    fn what_begins_like_no_number_is_none() {
        let numbers = Numbers::new(["-q1", "01"].into_iter().zip(0..));
        assert_eq!(
            ["Q1", "01", "R1", "11", ""].map(|run| numbers.of_run(run, &Last::default())),
            [Some(0), Some(1), None, None, None]
        );
    }

    #[test]
    fn numbers_of_any_length_are_told_apart() {
        // Twenty-one characters are packed, twenty-two are not.
        let texts: Vec<String> = (1..=30).map(|length| "Z".repeat(length)).collect();
        let numbers = Numbers::new(texts.iter().map(String::as_str).chain([""]).zip(0..));
        for (place, text) in (0..).zip(&texts) {
            assert_eq!(numbers.get(&text.to_lowercase()), Some(place), "{text}");
            assert_eq!(numbers.of_run(text, &Last::default()), Some(place), "{text}");
        }
        assert_eq!((numbers.packed.len(), numbers.longer.len()), (21, 9));
        assert_eq!(
            (numbers.get(""), numbers.get("0"), numbers.of_run(&"Z".repeat(31), &Last::default())),
            (None, None, None)
        );
    }

    #[test]
    fn a_number_of_a_paper_is_that_of_its_firm() {
        let mut papers = ByNumber::default();
        for (place, (author, number)) in
            [("A", "R-1"), ("A", "R 1"), ("B", "R-1"), ("B", "R-1")].into_iter().enumerate()
        {
            papers.insert(author, number, place.min(2));
        }
        // As it is written; however it is spelled, where that is one paper.
        assert_eq!(
            (papers.get("A", "R-1"), papers.get("A", "R 1"), papers.get("A", "r1")),
            (Some(0), Some(1), None)
        );
        assert_eq!(
            (papers.get("B", "R-1"), papers.get("B", "r1"), papers.get("C", "R-1")),
            (Some(2), Some(2), None)
        );
    }
}
