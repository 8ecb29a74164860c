//! What makes right of what is nearly right.

use chrono::NaiveDate;

/// The day that is written `2.11.2026`.
pub(crate) fn dotted_day(text: &str) -> Option<NaiveDate> {
    let mut parts = text.trim().splitn(3, '.').map(|part| {
        let is_plain = (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
        if is_plain { part.parse::<u32>().ok() } else { None }
    });
    let (day, month, year) = (parts.next()??, parts.next()??, parts.next()??);
    let year = i32::try_from(year).ok().filter(|year| *year >= 1000)?;
    NaiveDate::from_ymd_opt(year, month, day)
}

/// What makes a number of what is nearly one.
pub(crate) fn number(expected: String, text: &str) -> String {
    let is_numeric = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-');
    let (number, is_percent) = match text.trim_end().strip_suffix('%') {
        Some(number) => (number.trim_end(), true),
        None => (text, false),
    };
    if number.is_empty() || !number.chars().all(is_numeric) {
        return expected;
    }
    let hints = [
        (is_percent, "without %"),
        (number.contains(',') && !number.contains('.'), "a point, not a comma"),
        (number.contains(',') && number.contains('.'), "one point, nothing between the thousands"),
    ];
    let hints: Vec<&str> = hints.into_iter().filter(|(applies, _)| *applies).map(|(_, hint)| hint).collect();
    if hints.is_empty() { expected } else { format!("{expected}; {}", hints.join("; ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_nearly_a_number_is_told_what_it_lacks() {
        let check = |text: &str, expect: &str| assert_eq!(number(String::from("n"), text), expect, "{text}");
        check("61,50", "n; a point, not a comma");
        check("10%", "n; without %");
        check("7,5 %", "n; without %; a point, not a comma");
        check("1.250,00", "n; one point, nothing between the thousands");
        for other in ["6l", "", "%", "a,b", "1e3"] {
            check(other, "n");
        }
    }

    #[test]
    fn days_with_points_are_understood() {
        let check = |text: &str, expect: Option<&str>| {
            assert_eq!(dotted_day(text).map(|day| day.to_string()).as_deref(), expect, "{text}");
        };
        check("02.11.2026", Some("2026-11-02"));
        check(" 2.1.2026 ", Some("2026-01-02"));
        for other in ["31.02.2026", "2.11.26", "1.2", "1.2.3.4", "+1.2.2026", "a.b.c"] {
            check(other, None);
        }
    }
}
