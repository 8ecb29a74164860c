//! References as people write them, and the creditor reference of ISO 11649.

/// A number without what people leave out or put in: letters and digits only, in capitals.
///
/// # Examples
/// ```
/// use evenfare_reconcile::reference::normal;
/// assert_eq!(normal("q 2026-0001"), "Q20260001");
/// ```
pub fn normal(text: &str) -> String {
    let mut normal = String::with_capacity(text.len());
    normal.extend(letters_and_digits(text));
    normal
}

/// What the normal form of a text is made of.
pub(crate) fn letters_and_digits(text: &str) -> impl Iterator<Item = char> + '_ {
    // Only ASCII counts, and no byte of another character is one of it.
    let kept = text.bytes().filter(u8::is_ascii_alphanumeric);
    kept.map(|byte| char::from(byte.to_ascii_uppercase()))
}

/// Characters that a creditor reference may have behind `RF` and its check digits.
const LONGEST_BODY: usize = 21;

/// The creditor reference of a number (ISO 11649), in the form for print: `RF18 5390 0754 7034`.
///
/// None where the number has no letter or digit, or more than 21.
///
/// # Examples
/// ```
/// use evenfare_reconcile::reference::creditor_reference;
/// assert_eq!(creditor_reference("539007547034").as_deref(), Some("RF18 5390 0754 7034"));
/// ```
pub fn creditor_reference(number: &str) -> Option<String> {
    let body = normal(number);
    if body.is_empty() || body.len() > LONGEST_BODY {
        return None;
    }
    let check = 98_u32.checked_sub(remainder_97(body.chars().chain("RF00".chars())))?;
    let whole = format!("RF{check:02}{body}");
    let mut shown = String::with_capacity(whole.len().saturating_add(6));
    for (place, c) in whole.chars().enumerate() {
        if place > 0 && place % 4 == 0 {
            shown.push(' ');
        }
        shown.push(c);
    }
    Some(shown)
}

/// The number that a creditor reference was made of; none where it is no such reference or its check
/// digits do not hold (ISO 11649 by ISO 7064, mod 97-10).
pub fn number_of_creditor_reference(text: &str) -> Option<String> {
    if !letters_and_digits(text).take(2).eq(['R', 'F']) {
        return None;
    }
    let mut whole = normal(text);
    let (head, number) = whole.split_at_checked("RF00".len())?;
    let is_checked = head.bytes().skip("RF".len()).all(|b| b.is_ascii_digit());
    let fits = is_checked && (1..=LONGEST_BODY).contains(&number.len());
    if !fits || remainder_97(number.chars().chain(head.chars())) != 1 {
        return None;
    }
    whole.drain(.."RF00".len());
    Some(whole)
}

/// The remainder by 97 of a text whose letters count as 10 to 35.
fn remainder_97(text: impl Iterator<Item = char>) -> u32 {
    text.filter_map(|c| c.to_digit(36)).fold(0, |rest: u32, digit| {
        let base = if digit > 9 { 100 } else { 10 };
        rest.saturating_mul(base).saturating_add(digit) % 97
    })
}

/// Shorter names than this are found only where nothing else stands beside them: `7` stands in any text.
pub const SHORTEST: usize = 5;
/// The longest name that is found in a text with other words.
const LONGEST_NAME: usize = 40;
/// Characters of a text that are looked through; four times what a bank passes on.
const LONGEST_TEXT: usize = 560;

/// What a text may name: every run of whole words, and the places where letters meet digits, in capitals
/// and without what stands between.
///
/// A name that is known is found by asking for each run of at most forty characters; of runs that begin
/// at one place the longest known one counts, for a shorter one is a part of it.
#[derive(Debug, Default)]
pub(crate) struct Words {
    text: String,
    /// Where words begin, and at last where the text ends.
    bounds: Vec<usize>,
}

impl Words {
    /// Takes a text in, in place of the one before.
    pub(crate) fn read(&mut self, text: &str) {
        self.text.clear();
        self.bounds.clear();
        let mut before = None;
        for c in text.chars().take(LONGEST_TEXT) {
            let kind = c.is_ascii_alphanumeric().then(|| c.is_ascii_digit());
            if kind.is_some() {
                if before != kind {
                    self.bounds.push(self.text.len());
                }
                self.text.push(c.to_ascii_uppercase());
            }
            before = kind;
        }
        self.bounds.push(self.text.len());
    }

    /// Calls `found` for what each name in the text stands for. Names do not overlap.
    pub(crate) fn names<T>(&self, known: impl Fn(&str) -> Option<T>, mut found: impl FnMut(T)) {
        let mut from = 0;
        for (place, &start) in self.bounds.iter().enumerate() {
            if start < from {
                continue;
            }
            let ends = self.bounds.get(place.saturating_add(1)..).unwrap_or_default();
            let fitting = ends.partition_point(|end| end.saturating_sub(start) <= LONGEST_NAME);
            for &end in ends.iter().take(fitting).rev() {
                let Some(run) = self.text.get(start..end) else { continue };
                if run.len() < SHORTEST && run.len() != self.text.len() {
                    continue;
                }
                if let Some(one) = known(run) {
                    found(one);
                    from = end;
                    break;
                }
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::indexing_slicing)]
mod tests {
    use super::*;

    /// The example of ISO 11649 that the European Payments Council's guidance prints.
    const PUBLISHED: &str = "RF18 5390 0754 7034";

    #[test]
    fn the_published_creditor_reference_holds_and_is_made_again() {
        assert_eq!(number_of_creditor_reference(PUBLISHED).as_deref(), Some("539007547034"));
        assert_eq!(creditor_reference("539007547034").as_deref(), Some(PUBLISHED));
        assert_eq!(number_of_creditor_reference("rf18539007547034").as_deref(), Some("539007547034"));
        assert_eq!(number_of_creditor_reference("RF18 5390 0754 7035"), None);
        assert_eq!(number_of_creditor_reference("RF19 5390 0754 7034"), None);
        assert_eq!(number_of_creditor_reference("RF18"), None);
        assert_eq!(number_of_creditor_reference(""), None);
    }

    #[test]
    fn a_creditor_reference_has_two_digits_and_at_most_twenty_one_characters() {
        let with = |body: &str, check: &str| number_of_creditor_reference(&format!("RF{check}{body}"));
        for length in 0..25 {
            let body = "Z".repeat(length);
            let made = creditor_reference(&body);
            assert_eq!(made.is_some(), (1..=21).contains(&length), "{length}");
            let read = made.as_deref().and_then(number_of_creditor_reference);
            assert_eq!(read, made.is_some().then(|| body.clone()));
            // Of what is too long or nothing, no check digits make one.
            let digits = (0..100).filter_map(|check| with(&body, &format!("{check:02}"))).count();
            assert_eq!(digits > 0, made.is_some(), "{length}");
        }
        // Letters count as numbers too, but are no check digits.
        let letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
        let pairs = || letters.chars().flat_map(|a| letters.chars().map(move |b| format!("{a}{b}")));
        assert!(pairs().any(|check| remainder_97(format!("Q1RF{check}").chars()) == 1));
        assert_eq!(pairs().filter_map(|check| with("Q1", &check)).count(), 0);
    }

    #[test]
    fn five_characters_are_a_name_among_others_and_four_are_not() {
        for (name, text, expect) in
            [("AB123", "for AB-123, thanks", 1), ("AB12", "for AB-12, thanks", 0), ("AB12", "ab 12", 1)]
        {
            let mut words = Words::default();
            words.read(text);
            let mut found = 0;
            words.names(|run| (run == name).then_some(()), |()| found += 1);
            assert_eq!(found, expect, "{text}");
        }
    }

    #[test]
    fn every_wrong_digit_and_every_swap_shows() {
        let reference = creditor_reference("Q-2026-0042").map(|made| normal(&made));
        let Some(reference) = reference else { unreachable!() };
        assert!(number_of_creditor_reference(&reference).is_some());
        let bytes: Vec<char> = reference.chars().collect();
        for place in 2..bytes.len() {
            // A digit for a digit and a letter for a letter: the check takes a letter for two digits.
            let like = |other: &char| other.is_ascii_digit() == bytes[place].is_ascii_digit();
            for other in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ".chars().filter(like) {
                let mut wrong = bytes.clone();
                wrong[place] = other;
                let holds = number_of_creditor_reference(&String::from_iter(&wrong)).is_some();
                assert_eq!(holds, other == bytes[place], "{wrong:?}");
            }
        }
        for place in 2..bytes.len() - 1 {
            let mut swapped = bytes.clone();
            swapped.swap(place, place + 1);
            let holds = number_of_creditor_reference(&String::from_iter(&swapped)).is_some();
            assert_eq!(holds, swapped == bytes, "{swapped:?}");
        }
    }

    fn check(text: &str, expect: &[&str]) {
        let known = ["Q20260001", "Q20260002", "R2026000133", "7"];
        let mut words = Words::default();
        words.read(text);
        let mut names = Vec::new();
        words.names(|run| known.iter().find(|name| **name == run), |name| names.push(*name));
        assert_eq!(names, expect, "{text}");
    }

    #[test]
    fn numbers_are_found_however_they_are_written() {
        check("Q-2026-0001", &["Q20260001"]);
        check("invoice q 2026 0001, thank you", &["Q20260001"]);
        check("Q20260001/Q-2026-0002", &["Q20260001", "Q20260002"]);
        check("invoiceQ2026-0001", &[]);
        check("invoice:Q2026-0001", &["Q20260001"]);
        check("R-2026-000133", &["R2026000133"]);
    }

    #[test]
    fn a_number_inside_a_longer_one_is_no_second_one() {
        let known = |run: &str| ["Q20260001", "20260001"].into_iter().find(|name| *name == run);
        let mut words = Words::default();
        words.read("Q-2026-0001, 2026-0001");
        let mut names = Vec::new();
        words.names(known, |name| names.push(name));
        assert_eq!(names, ["Q20260001", "20260001"]);
    }

    #[test]
    fn what_is_a_part_of_something_else_is_not_found() {
        check("Q-2026-00011", &[]);
        check("XQ-2026-0001", &[]);
        check("for 7 units", &[]);
        check("7", &["7"]);
        check("", &[]);
    }
}
