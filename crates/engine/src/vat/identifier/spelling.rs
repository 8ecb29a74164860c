//! How the many spellings of one identifier become one.

/// The text in upper case and without separators.
pub(super) fn compact(input: &str) -> String {
    let kept = input.chars().filter(|c| !is_separator(*c));
    kept.map(|c| c.to_ascii_uppercase()).collect()
}

/// Spaces, dots and dashes, with the typographic ones that copying from a document brings along.
fn is_separator(c: char) -> bool {
    c.is_whitespace() || matches!(c, '.' | '-' | '\u{2010}'..='\u{2015}')
}

/// Drops the suffix of the tax and restores the zero that older numbers lack.
pub(super) fn canonical(prefix: &str, number: &str) -> String {
    let suffixes: &[&str] = match prefix {
        "CHE" => &["MWST", "TVA", "IVA", "TPV"],
        "NO" => &["MVA"],
        _ => &[],
    };
    let number = suffixes.iter().find_map(|suffix| number.strip_suffix(suffix)).unwrap_or(number);
    match (prefix, number.len()) {
        ("BE", 9) | ("EL", 8) => format!("0{number}"),
        _ => number.to_owned(),
    }
}
