//! A file's text, and which line and column a byte of it stands at.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// A span of bytes in a text.
pub(crate) type Bytes = Range<usize>;

/// Lines longer than this are shown in part.
const LONG_LINE: usize = 240;

/// A file by name and text, kept as long as a mistake points into it.
///
/// The text is for showing: control characters other than tab and line feed are replaced by
/// characters of the same length, so that a file cannot steer the terminal it is shown on.
pub(crate) struct Source {
    name: String,
    text: String,
    /// Where each line begins.
    lines: Vec<usize>,
}

impl Source {
    pub(crate) fn new(name: &str, text: &str) -> Self {
        let text: String = text.chars().map(harmless).collect();
        let begins =
            text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at.saturating_add(1));
        let lines = std::iter::once(0).chain(begins).collect();
        Self { name: name.chars().map(harmless).collect(), text, lines }
    }

    /// The file's name, as the person who named the folder sees it.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// The text for showing; byte for byte as long as the file's.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// Line and column of a byte, both counted from 1, the column in characters.
    pub(crate) fn position(&self, at: usize) -> (usize, usize) {
        let line = self.line(at);
        let begin = self.begin_of(line);
        let column = self.text.get(begin..self.on_boundary(at)).map_or(0, |before| before.chars().count());
        (line, column.saturating_add(1))
    }

    /// The line of a byte, counted from 1; cheap however long the line is.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.lines.partition_point(|begin| *begin <= at)
    }

    /// Where the line (counted from 1) begins; the end of the text where there is no such line.
    fn begin_of(&self, line: usize) -> usize {
        self.lines.get(line.saturating_sub(1)).copied().unwrap_or(self.text.len())
    }

    /// The nearest place at or before, between two characters.
    fn on_boundary(&self, at: usize) -> usize {
        let at = at.min(self.text.len());
        (0..=at).rev().find(|at| self.text.is_char_boundary(*at)).unwrap_or(0)
    }
}

/// The character, or one as long that does nothing but stand there.
fn harmless(c: char) -> char {
    if c == '\n' || c == '\t' || !is_invisible(c) {
        return c;
    }
    match c.len_utf8() {
        1 if c == '\r' => ' ',
        1 => '?',
        2 => '\u{BF}',
        3 => '\u{FFFD}',
        _ => '\u{1F5D1}',
    }
}

/// Control characters, and those that turn the writing direction or show nothing.
pub(crate) fn is_invisible(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{E0000}'..='\u{E007F}')
}

impl SourceCode for Source {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        lines_before: usize,
        lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let start = self.on_boundary(span.offset());
        let end = self.on_boundary(span.offset().saturating_add(span.len())).max(start);
        let (line, column) = self.position(start);
        let last_line = self.line(end);
        let first = line.saturating_sub(lines_before).max(1);
        let after = last_line.saturating_add(lines_after).saturating_add(1);
        let (mut from, mut until) = (self.begin_of(first), self.begin_of(after));
        let (mut from_line, mut from_column) = (first, 1);
        // The span alone is asked for to name its place by where it begins; else a long line is cut.
        if lines_before == 0 || start.saturating_sub(from) > LONG_LINE {
            from = if lines_before == 0 { start } else { self.on_boundary(start.saturating_sub(40)) };
            let back = self.text.get(from..start).map_or(0, |text| text.chars().count());
            if from < self.begin_of(line) {
                from = self.begin_of(line);
                (from_line, from_column) = (line, 1);
            } else {
                (from_line, from_column) = (line, column.saturating_sub(back));
            }
        }
        if until.saturating_sub(end) > LONG_LINE.saturating_mul(4) {
            until = self.on_boundary(end.saturating_add(80));
        }
        let data = self.text.get(from..until.max(end)).ok_or(MietteError::OutOfBounds)?.as_bytes();
        let zero_based = |number: usize| number.saturating_sub(1);
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            data,
            (from, data.len()).into(),
            zero_based(from_line),
            zero_based(from_column),
            last_line.saturating_sub(from_line).saturating_add(1),
        )))
    }
}

impl std::fmt::Debug for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Source").field("name", &self.name).finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, at: usize, line: usize, column: usize) {
        assert_eq!(Source::new("t", text).position(at), (line, column), "{text:?} at {at}");
    }

    #[test]
    fn columns_count_characters_from_one() {
        check("", 0, 1, 1);
        check("ab\ncd", 0, 1, 1);
        check("ab\ncd", 2, 1, 3);
        check("ab\ncd", 3, 2, 1);
        check("ä€😀x", 9, 1, 4);
        // Inside a character: the character's own column.
        check("ä€😀x", 7, 1, 3);
        check("ab", 99, 1, 3);
        check("ab\n", 3, 2, 1);
    }

    #[test]
    fn what_is_shown_is_as_long_as_the_file() {
        let text = "a\u{1b}[2J\u{85}\u{202E}\u{e0001}\r\nb";
        let shown = Source::new("t", text);
        assert_eq!(shown.text().len(), text.len());
        assert!(!shown.text().contains(['\u{1b}', '\u{202E}', '\r']));
    }
}
