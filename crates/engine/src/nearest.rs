//! The names nearest to one that there is not: for messages.

/// Whoever reports many unknown names looks for the nearest of this many: each look goes over all names there are.
pub const LOOKED_FOR: usize = 20;

/// At most three of the names: those that contain what was asked for, then those that differ by a
/// few characters, the nearest first.
///
/// # Examples
/// ```
/// use evenfare_engine::nearest::nearest;
/// assert_eq!(nearest("ENC-DED", ["ENC-DEAD", "FAN-STALL"]), ["ENC-DEAD"]);
/// ```
pub fn nearest<'a>(wanted: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    // What is longer is no misspelt name.
    let wanted: Vec<char> = wanted.chars().take(120).flat_map(char::to_lowercase).collect();
    let most = match wanted.len() {
        // A name of so few letters is near to many others.
        0..=2 => 0,
        3 => 1,
        length => length.checked_div(3).unwrap_or(0).max(2),
    };
    let whole: String = wanted.iter().collect();
    let mut near: Vec<(usize, &str)> = names
        .into_iter()
        .filter_map(|name| {
            let lower = name.to_lowercase();
            if whole.len() > 2 && lower.contains(&whole) {
                return Some((0, name));
            }
            let distance = distance(&wanted, &lower.chars().collect::<Vec<_>>());
            (distance <= most).then_some((distance.saturating_add(1), name))
        })
        .collect();
    near.sort_by_key(|(distance, name)| (*distance, name.len()));
    near.dedup();
    near.into_iter().take(3).map(|(_, name)| name).collect()
}

/// What was expected, with the nearest of the names there are beside it.
///
/// # Examples
/// ```
/// use evenfare_engine::nearest::or_nearest;
/// assert_eq!(or_nearest("a name", "fittr", ["fitter", "chief"]), "a name; the nearest: fitter");
/// assert_eq!(or_nearest("a name", "welder", ["fitter", "chief"]), "a name");
/// ```
pub fn or_nearest<'a>(expected: &str, wanted: &str, names: impl IntoIterator<Item = &'a str>) -> String {
    match nearest(wanted, names).as_slice() {
        [] => expected.to_owned(),
        near => format!("{expected}; the nearest: {}", near.join(", ")),
    }
}

/// How many characters have to be put in, taken out or changed to come from one to the other.
fn distance(one: &[char], other: &[char]) -> usize {
    let mut above: Vec<usize> = (0..=other.len()).collect();
    for (line, a) in (1_usize..).zip(one) {
        let mut left = line;
        let mut row = vec![line];
        for (b, corner) in other.iter().zip(above.windows(2)) {
            let &[diagonal, over] = corner else { continue };
            let changed = diagonal.saturating_add(usize::from(a != b));
            left = changed.min(left.saturating_add(1)).min(over.saturating_add(1));
            row.push(left);
        }
        above = row;
    }
    above.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_those_of_levenshtein() {
        let check = |one: &str, other: &str, expected| {
            let chars = |text: &str| text.chars().collect::<Vec<_>>();
            assert_eq!(distance(&chars(one), &chars(other)), expected, "{one} {other}");
        };
        check("kitten", "sitting", 3);
        check("", "abc", 3);
        check("abc", "", 3);
        check("net", "net", 0);
        check("ab", "ba", 2);
    }

    #[test]
    fn the_nearest_come_first() {
        let names = ["end.net", "end.gross", "end.vat_due", "net.U1/part/CAP-470"];
        let check = |wanted: &str, expected: &[&str]| assert_eq!(nearest(wanted, names), expected);
        check("end.nett", &["end.net"]);
        check("CAP-470", &["net.U1/part/CAP-470"]);
        check("end", &["end.net", "end.gross", "end.vat_due"]);
        check("quite another", &[]);
        check("", &[]);
        // Two letters stand in too many names, and are near to many.
        check("en", &[]);
        assert_eq!(nearest("dk", ["de", "en", "DK"]), ["DK"]);
        assert_eq!(nearest("P-9", ["P-1", "P-22"]), ["P-1"]);
    }
}
