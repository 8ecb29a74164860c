//! Bars of text.

use super::money::in_steps;

/// A bar for a part of a whole, in eighths of a column: as long as `columns` for all of it.
pub(in crate::cli) fn bar(part: i64, whole: i64, columns: usize) -> String {
    const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    let most = i64::try_from(columns).ok().and_then(|columns| columns.checked_mul(8)).unwrap_or(0);
    let steps = in_steps(part, whole, most).unwrap_or(0).clamp(0, most);
    let steps = usize::try_from(steps).unwrap_or(0);
    let (full, rest) = (steps.checked_div(8).unwrap_or(0), steps.checked_rem(8).unwrap_or(0));
    format!("{}{}", "█".repeat(full), EIGHTHS.get(rest).unwrap_or(&""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_as_long_as_their_part() {
        let check = |part, whole, expected: &str| assert_eq!(bar(part, whole, 4), expected);
        check(100, 100, "████");
        check(50, 100, "██");
        check(1, 100, "");
        check(3, 100, "▏");
        check(0, 100, "");
        check(200, 100, "████");
        check(-50, 100, "");
        check(5, 0, "");
    }
}
