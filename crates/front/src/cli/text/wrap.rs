//! Widths as a terminal shows them; wrapping and cutting on word bounds.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// How many columns a text takes.
pub(in crate::cli) fn width(text: &str) -> usize {
    text.width()
}

/// Without what would turn the writing direction, break the line or show nothing: such characters
/// stand in names by mistake or by malice, and neither may garble a page.
pub(in crate::cli) fn plain(text: &str) -> String {
    let is_harmful = |c: char| {
        c.is_control()
            || matches!(c, '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{E0000}'..='\u{E007F}')
    };
    text.chars().map(|c| if is_harmful(c) { '\u{FFFD}' } else { c }).collect()
}

/// The text in lines of at most this many columns, all as far in as the first. A word that fits on no
/// line is broken.
pub(in crate::cli) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let indent = text.len().saturating_sub(text.trim_start_matches(' ').len());
    if indent > 0 && indent < columns {
        let lines = wrap(text.trim_start_matches(' '), columns.saturating_sub(indent));
        return lines.iter().map(|line| format!("{:indent$}{line}", "")).collect();
    }
    let columns = columns.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let room = columns.saturating_sub(width(&line));
        if !line.is_empty() && width(word) < room {
            line.push(' ');
            line.push_str(word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word;
        while width(rest) > columns {
            let (head, tail) = rest.split_at(fitting(rest, columns));
            lines.push(head.to_owned());
            rest = tail;
        }
        line.push_str(rest);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The text in at most this many columns; an ellipsis stands for what was left out, after a whole
/// word where that leaves enough of it.
pub(in crate::cli) fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let Some(room) = columns.checked_sub(1) else { return String::new() };
    let (head, _) = text.split_at(fitting(text, room));
    let whole_words = head.rsplit_once(' ').map_or("", |(words, _)| words);
    let enough = room.saturating_mul(2).checked_div(3).unwrap_or(0);
    let kept = if width(whole_words) >= enough { whole_words } else { head };
    format!("{}…", kept.trim_end_matches([' ', ',', ';', ':']))
}

/// How many bytes of the text fit in this many columns: one character at least.
fn fitting(text: &str, columns: usize) -> usize {
    let mut taken = 0_usize;
    let mut end = 0_usize;
    for (at, c) in text.char_indices() {
        taken = taken.saturating_add(c.width().unwrap_or(0));
        if taken > columns && end > 0 {
            break;
        }
        end = at.saturating_add(c.len_utf8());
        if taken > columns {
            break;
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words() {
        let check = |text: &str, columns, expected: &[&str]| assert_eq!(wrap(text, columns), expected);
        check("one two three", 7, &["one two", "three"]);
        check("one two three", 80, &["one two three"]);
        check("", 5, &[""]);
        check("abcdefgh", 3, &["abc", "def", "gh"]);
        check("a abcdefgh", 3, &["a", "abc", "def", "gh"]);
        check("  one two", 5, &["  one", "  two"]);
        check("日本語 文", 4, &["日本", "語", "文"]);
        check("日本", 1, &["日", "本"]);
        check("1\u{A0}234 x", 5, &["1\u{A0}234", "x"]);
    }

    #[test]
    fn what_is_cut_says_so() {
        let check = |text: &str, columns, expected: &str| assert_eq!(cut(text, columns), expected);
        check("one two three", 13, "one two three");
        check("one two three", 10, "one two…");
        check("one, two three", 6, "one…");
        check("abcdefgh", 4, "abc…");
        check("a bcdefghij", 6, "a bcd…");
        check("日本語", 4, "日…");
        check("abc", 0, "");
    }

    #[test]
    fn names_cannot_garble_a_page() {
        assert_eq!(plain("a\u{202E}b\u{1b}[31m\nž日"), "a\u{FFFD}b\u{FFFD}[31m\u{FFFD}ž日");
    }
}
