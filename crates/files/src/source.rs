//! A file's text, and which line and column a byte of it stands at.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// A span of bytes in a text.
pub(crate) type Bytes = Range<usize>;

/// Of a line that is wider, this many columns are shown: with the line numbers beside them they stay
/// within a terminal of eighty.
const WINDOW: usize = 70;

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

    /// The text of that line.
    fn line_text(&self, line: usize) -> &str {
        let end = self.begin_of(line.saturating_add(1));
        self.text.get(self.begin_of(line)..end).unwrap_or_default().trim_end_matches('\n')
    }

    /// As much of the lines around that stretch as is shown.
    fn window(&self, start: usize, end: usize) -> (usize, usize) {
        let line_begin = self.begin_of(self.line(start));
        let before = self.text.get(line_begin..start).unwrap_or_default();
        let after = self.text.get(end..).and_then(|rest| rest.lines().next()).unwrap_or_default();
        let room = WINDOW.saturating_sub(width(self.text.get(start..end).unwrap_or_default()));
        let half = room.checked_div(2).unwrap_or(0);
        // What one side does not need goes to the other.
        let left = room.saturating_sub(width(after).min(half));
        let right = room.saturating_sub(width(before).min(left));
        let (left, right) = (fitting(before.chars().rev(), left), fitting(after.chars(), right));
        (start.saturating_sub(left), end.saturating_add(right))
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

/// How many columns of a terminal it takes; of a long text only that it is long.
pub(crate) fn width(text: &str) -> usize {
    text.chars().take(WINDOW.saturating_mul(2)).map(columns).sum()
}

/// How many bytes of these characters fit into this many columns.
fn fitting(chars: impl Iterator<Item = char>, room: usize) -> usize {
    let mut taken: usize = 0;
    let fits = |c: &char| {
        taken = taken.saturating_add(columns(*c));
        taken <= room
    };
    chars.take_while(fits).map(char::len_utf8).sum()
}

/// The columns that a character takes at most: a tab is shown as four spaces, and whatever may be wide counts as wide.
fn columns(c: char) -> usize {
    match c {
        '\t' => 4,
        '\u{1100}'.. => 2,
        _ => 1,
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
        let (line, last_line) = (self.line(start), self.line(end));
        let (mut first, mut last) = (line, last_line);
        let fits = |line: usize| width(self.line_text(line)) <= WINDOW;
        let (from, until) = if lines_before == 0 && lines_after == 0 {
            // Only the place is asked for, and no lines around it.
            (start, end)
        } else if (line..=last_line).all(fits) {
            let above = (1..line).rev().take(lines_before).take_while(|line| fits(*line));
            first = above.last().unwrap_or(line);
            let below = last_line.saturating_add(1)..=self.lines.len();
            last = below.take(lines_after).take_while(|line| fits(*line)).last().unwrap_or(last_line);
            (self.begin_of(first), self.begin_of(last.saturating_add(1)))
        } else {
            // A line that is cut is shown alone: those above and below it would not match what is left of it.
            self.window(start, end)
        };
        let from_column = self.position(from).1;
        let data = self.text.get(from..until.max(end)).ok_or(MietteError::OutOfBounds)?.as_bytes();
        let zero_based = |number: usize| number.saturating_sub(1);
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            data,
            (from, data.len()).into(),
            zero_based(first),
            zero_based(from_column),
            last.saturating_sub(first).saturating_add(1),
        )))
    }
}

impl std::fmt::Debug for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Source").field("name", &self.name).finish_non_exhaustive()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
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

    /// What is shown around a mark, and the column it begins at.
    fn check_window(text: &str, mark: std::ops::Range<usize>, shown: &str, column: usize) {
        let source = Source::new("t", text);
        let contents = source.read_span(&(mark.start, mark.len()).into(), 1, 1).unwrap();
        assert_eq!(std::str::from_utf8(contents.data()).unwrap(), shown, "{mark:?} in {text:?}");
        assert_eq!(contents.column() + 1, column, "{mark:?} in {text:?}");
    }

    #[test]
    fn wide_lines_are_shown_in_part() {
        check_window("ab\ncd\nef\ngh", 3..5, "ab\ncd\nef\n", 1);
        let wide = format!("{}MARK{}", "a".repeat(100), "b".repeat(100));
        let text = format!("one\n{wide}\nthree");
        check_window(&text, 104..108, &format!("{}MARK{}", "a".repeat(33), "b".repeat(33)), 68);
        check_window(&text, 4..5, &"a".repeat(70), 1);
        check_window(&text, 207..208, &"b".repeat(70), 135);
        // Neighbours that are too wide are left out.
        check_window(&text, 0..3, "one\n", 1);
        check_window(&text, 209..214, "three", 1);
        check_window(&"ä".repeat(200), 200..202, &"ä".repeat(70), 66);
        check_window(&"\t".repeat(200), 100..101, &"\t".repeat(17), 93);
    }

    #[test]
    fn what_is_shown_is_as_long_as_the_file() {
        let text = "a\u{1b}[2J\u{85}\u{202E}\u{e0001}\r\nb";
        let shown = Source::new("t", text);
        assert_eq!(shown.text().len(), text.len());
        assert!(!shown.text().contains(['\u{1b}', '\u{202E}', '\r']));
    }
}
