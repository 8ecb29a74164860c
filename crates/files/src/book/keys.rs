//! Files of keys: TOML to lines and back.
//!
//! A key is a row of four cells: its name, its value, how the value is written, and a comment.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::book::grid::{Line, Written, unfit};
use crate::book::guide::{Guide, Kind};
use crate::log::Log;
use crate::node::{Kind as NodeKind, Node};
use crate::toml_tree;

/// The heads of the four columns.
pub(super) const HEADS: [&str; 4] = ["key", "value", "written as", "comment"];

// How a value is written.
const TEXT: &str = "text";
const NUMBER: &str = "number";
const TRUTH: &str = "true or false";
const DAY: &str = "day";
const LIST: &str = "list";
/// As it stands in the file: whatever the others are too plain for.
const VERBATIM: &str = "toml";

/// All of them, to choose from.
pub(super) const NOTATIONS: [&str; 6] = [TEXT, NUMBER, TRUTH, DAY, LIST, VERBATIM];

/// The section that a row opens: `price` of `[price]`.
pub(super) fn section_of(key: &str) -> Option<&str> {
    let key = key.trim();
    key.starts_with('[').then(|| key.trim_matches(['[', ']']).trim())
}

/// The lines of a file; what no sheet could hold is reported, and so is what is no TOML.
pub(super) fn lines_of(text: &str, log: &mut Log) -> Vec<Line> {
    let root = toml_tree::parse(text, log);
    if log.errors() > 0 {
        return Vec::new();
    }
    let mut values = BTreeMap::new();
    collect(&root, &mut values);
    let mut lines = vec![Line::Cells(HEADS.map(String::from).to_vec())];
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let mut end = at.saturating_add(rest.find('\n').unwrap_or(rest.len()));
        let line = text.get(at..end).unwrap_or_default().trim();
        let follows_equals =
            |start: usize| text.get(at..start).is_some_and(|key| key.trim_end().ends_with('='));
        let value = values.range(at..end).find(|(start, _)| follows_equals(**start));
        lines.push(match (line.chars().next(), value) {
            (None, _) => Line::Blank,
            (Some('#'), _) => Line::Note(line.to_owned()),
            (Some('['), _) => {
                let (head, comment) = line.split_at(comment_in(line));
                cells([head.trim(), "", "", comment])
            }
            (_, Some((start, value))) => {
                let key = text.get(at..*start).unwrap_or_default().trim().trim_end_matches('=').trim_end();
                let raw = text.get(value.bytes.clone()).unwrap_or_default().replace("\r\n", "\n");
                let after = text.get(value.bytes.end..).unwrap_or_default();
                let length = after.find('\n').unwrap_or(after.len());
                end = value.bytes.end.saturating_add(length);
                let (written, shown) = notation(value, &raw);
                cells([key, &shown, written, after.get(..length).unwrap_or_default().trim()])
            }
            (_, None) => cells([line, "", "", ""]),
        });
        if let Some(Line::Cells(cells)) = lines.last()
            && let Some((cell, expected)) = cells.iter().find_map(|cell| Some((cell, unfit(cell)?)))
        {
            log.error(at..end, "not_for_a_book", cell, expected);
        }
        at = end.saturating_add(1);
    }
    while lines.last() == Some(&Line::Blank) {
        lines.pop();
    }
    lines
}

fn cells(cells: [&str; 4]) -> Line {
    Line::Cells(cells.map(String::from).to_vec())
}

/// All values by where they begin; of several at one place the longest.
fn collect<'n, 'a>(node: &'n Node<'a>, values: &mut BTreeMap<usize, &'n Node<'a>>) {
    let longest = values.entry(node.bytes.start).or_insert(node);
    if longest.bytes.end < node.bytes.end {
        *longest = node;
    }
    match &node.kind {
        NodeKind::Table(entries) => entries.iter().for_each(|entry| collect(&entry.value, values)),
        NodeKind::List(nodes) => nodes.iter().for_each(|node| collect(node, values)),
        _ => {}
    }
}

/// Where the comment of a line begins that opens a section; its end where there is none.
fn comment_in(line: &str) -> usize {
    let mut quote = None;
    for (at, c) in line.char_indices() {
        match (quote, c) {
            (None, '#') => return at,
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), _) if open == c => quote = None,
            _ => {}
        }
    }
    line.len()
}

/// How a value is written, and what a cell shows of it.
fn notation<'a>(value: &'a Node, raw: &'a str) -> (&'static str, Cow<'a, str>) {
    match &value.kind {
        NodeKind::Text(text) if is_plain(text) => (TEXT, Cow::Borrowed(text)),
        NodeKind::Integer(_) if is_whole(raw) => (NUMBER, Cow::Borrowed(raw)),
        NodeKind::Boolean(_) => (TRUTH, Cow::Borrowed(raw)),
        NodeKind::Date(_) => (DAY, Cow::Borrowed(raw)),
        NodeKind::List(nodes) => match words(nodes) {
            Some(words) if !raw.contains('\n') => (LIST, Cow::Owned(words.join(" "))),
            _ => (VERBATIM, Cow::Borrowed(raw)),
        },
        _ => (VERBATIM, Cow::Borrowed(raw)),
    }
}

/// Is it a text that a cell shows as it is?
fn is_plain(text: &str) -> bool {
    !text.is_empty() && text.trim() == text && !text.contains(char::is_control)
}

/// The words of a list that has nothing else in it.
fn words<'n>(nodes: &'n [Node]) -> Option<Vec<&'n str>> {
    let word = |node: &'n Node| match &node.kind {
        NodeKind::Text(text) if is_plain(text) && !text.contains(char::is_whitespace) => Some(&**text),
        _ => None,
    };
    let words: Option<Vec<_>> = nodes.iter().map(word).collect();
    words.filter(|words| !words.is_empty())
}

fn is_whole(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    digits == "0"
        || !digits.starts_with('0') && !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())
}

/// The file that those lines are. A key without a value is as good as not there.
pub(super) fn text_of(file: &str, lines: &[Line], guide: &Guide) -> Written {
    let mut written = Written::default();
    let mut section = String::new();
    for (row, line) in lines.iter().enumerate() {
        let cells = match line {
            Line::Blank => {
                written.push("\n");
                continue;
            }
            Line::Note(note) => {
                written.mark(row, 0);
                written.note(note);
                continue;
            }
            Line::Cells(cells) => cells,
        };
        let mut cells = cells.iter().map(|cell| cell.trim());
        let mut next = || cells.next().unwrap_or_default();
        let (key, value, notation, comment) = (next(), next(), next(), next());
        if key == HEADS[0] && value == HEADS[1] {
            continue;
        }
        written.mark(row, 0);
        if let Some(name) = section_of(key) {
            section = format!("{name}.");
            written.push(key);
        } else if value.is_empty() {
            written.note(comment);
            continue;
        } else {
            written.push(key);
            written.push(" = ");
            written.mark(row, 1);
            written.push(&literal(value, notation, guide.kind(file, &format!("{section}{key}"))));
        }
        if comment.is_empty() {
            written.push("\n");
        } else {
            written.push("  ");
            written.mark(row, 3);
            written.note(&comment.replace('\n', " "));
        }
    }
    written
}

/// A value as TOML.
fn literal(value: &str, notation: &str, kind: Kind) -> String {
    let usual = match kind {
        Kind::Number(0) => NUMBER,
        Kind::List => LIST,
        _ => TEXT,
    };
    match if notation.is_empty() { usual } else { notation } {
        NUMBER if is_whole(value) => value.to_owned(),
        TRUTH if matches!(value, "true" | "false") => value.to_owned(),
        DAY if value.parse::<chrono::NaiveDate>().is_ok() => value.to_owned(),
        LIST => format!("[{}]", value.split_whitespace().map(string).collect::<Vec<_>>().join(", ")),
        VERBATIM => value.to_owned(),
        _ => string(value),
    }
}

/// A text in quotes.
fn string(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted.push_str("\\n"),
            _ if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            _ => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    fn check(text: &str, back: &str) {
        let mut log = Log::new(&Arc::new(Source::new("t", text)));
        let lines = lines_of(text, &mut log);
        let mut report = Report::default();
        log.move_into(&mut report);
        assert_eq!(report.to_string(), "", "{text}");
        assert_eq!(text_of("edition.toml", &lines, &Guide::new()).text(), back);
    }

    #[test]
    fn a_file_of_keys_comes_back_as_it_was() {
        let text = r##"# head

[edition]  # of summer
id = "2026-07"
from = 2026-07-01
"odd = key # 1" = "a \"b\" \\ c"  # why
a.b = -5

[[list]]
name = "x"
empty = ""
fine = [1, 2,
  3] # all
when = 2026-07-01T12:00:00Z
truth = true
words = ["part", "labour"]
inline = { a = "b", c = ["d = e"] }
text = """
many
lines # one"""
hex = 0xFF
"##;
        check(text, &text.replace("3] # all", "3]  # all"));
    }

    #[test]
    fn what_does_not_count_is_written_in_one_way() {
        check(
            "a='b'   # c\r\n[ d ]\r\nlist=[ 'a' ,'b' ]\n\n",
            "a = \"b\"  # c\n[ d ]\nlist = [\"a\", \"b\"]\n",
        );
    }

    #[test]
    fn a_value_is_written_as_its_key_wants_it() {
        let check = |value: &str, notation: &str, kind, expect: &str| {
            assert_eq!(literal(value, notation, kind), expect, "{value} {notation}");
        };
        check("30", "", Kind::Number(0), "30");
        check("30.5", "", Kind::Number(0), "\"30.5\"");
        check("30", "", Kind::Number(4), "\"30\"");
        check("part test", "", Kind::List, "[\"part\", \"test\"]");
        check("x", "number", Kind::Unknown, "\"x\"");
        check("2026-02-30", "day", Kind::Unknown, "\"2026-02-30\"");
        check("{ a = 1 }", "toml", Kind::Unknown, "{ a = 1 }");
    }
}
