//! Comma-separated tables (RFC 4180) into rows of cells, every cell with its place.
//!
//! A reader of our own: the usual one knows where a row begins, but not where a cell does, and it
//! takes a stray quote without a word.

use std::borrow::Cow;

use crate::log::Log;
use crate::source::Bytes;

/// No table has as many columns; the rest of such a row is not looked at.
pub(crate) const MOST_CELLS: usize = 64;

/// One cell: what stands in it, and where, with its quotes and without the spaces around it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cell<'a> {
    pub(crate) bytes: Bytes,
    pub(crate) text: Cow<'a, str>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Record<'a> {
    pub(crate) bytes: Bytes,
    pub(crate) cells: Vec<Cell<'a>>,
}

/// Walks through the rows of a text.
pub(crate) struct Reader<'a> {
    text: &'a str,
    at: usize,
    separator: char,
}

/// A row that could not be taken apart; reported.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Broken;

impl<'a> Reader<'a> {
    /// Begins with the row at that byte.
    pub(crate) fn new(text: &'a str, at: usize) -> Self {
        Self::separated_by(',', text, at)
    }

    /// The same, for a table whose columns are separated by that character.
    pub(crate) fn separated_by(separator: char, text: &'a str, at: usize) -> Self {
        Self { text, at, separator }
    }

    /// The next row that is neither blank nor a comment.
    pub(crate) fn next(&mut self, log: &mut Log) -> Option<Result<Record<'a>, Broken>> {
        loop {
            let line = self.rest().split('\n').next().unwrap_or_default();
            let trimmed = line.trim();
            if !(trimmed.is_empty() || trimmed.starts_with('#')) {
                let start = self.at;
                let after = start.saturating_add(line.len()).saturating_add(1).min(self.text.len());
                let record = self.record(log);
                if record.is_err() {
                    // The quotes cannot be trusted, so the row ends where its line does.
                    self.at = after;
                }
                return Some(record);
            }
            if self.at >= self.text.len() {
                return None;
            }
            self.skip(line.len().saturating_add(1));
        }
    }

    /// Where the next row is looked for.
    #[cfg(feature = "workbook")]
    pub(crate) fn at(&self) -> usize {
        self.at
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn skip(&mut self, bytes: usize) {
        self.at = self.at.saturating_add(bytes).min(self.text.len());
    }

    fn skip_spaces(&mut self) {
        let rest = self.rest();
        let trimmed = rest.trim_start_matches(|c: char| c.is_whitespace() && c != '\n');
        self.skip(rest.len().saturating_sub(trimmed.len()));
    }

    fn record(&mut self, log: &mut Log) -> Result<Record<'a>, Broken> {
        self.skip_spaces();
        let start = self.at;
        let mut cells: Vec<Cell> = Vec::new();
        loop {
            self.skip_spaces();
            let cell = if self.rest().starts_with('"') { self.quoted(log)? } else { self.plain(log)? };
            let end = cell.bytes.end;
            cells.push(cell);
            let is_last = !self.rest().starts_with(self.separator);
            if is_last || cells.len() >= MOST_CELLS {
                let line = self.rest().find('\n').unwrap_or(self.rest().len());
                self.skip(line.saturating_add(1));
                return Ok(Record { bytes: start..end, cells });
            }
            self.skip(1);
        }
    }

    /// A cell without quotes, up to the comma or the end of the line.
    fn plain(&mut self, log: &mut Log) -> Result<Cell<'a>, Broken> {
        let rest = self.rest();
        let length = rest.find([self.separator, '\n']).unwrap_or(rest.len());
        let text = rest.get(..length).unwrap_or_default().trim_end();
        let start = self.at;
        if let Some(quote) = text.find('"') {
            let at = start.saturating_add(quote);
            let expected = "no quote inside a cell, or quotes around the whole cell and this one doubled";
            log.error(at..at.saturating_add(1), "stray_quote", "\"", expected);
            return Err(Broken);
        }
        self.skip(length);
        Ok(Cell { bytes: start..start.saturating_add(text.len()), text: Cow::Borrowed(text) })
    }

    /// A cell in quotes; a quote inside it is doubled.
    fn quoted(&mut self, log: &mut Log) -> Result<Cell<'a>, Broken> {
        let start = self.at;
        let mut text = Cow::Borrowed("");
        self.skip(1);
        loop {
            let rest = self.rest();
            let Some(length) = rest.find('"') else {
                log.error(
                    start..start.saturating_add(1),
                    "unclosed_quote",
                    "\"",
                    "a closing quote for this one",
                );
                return Err(Broken);
            };
            text += rest.get(..length).unwrap_or_default();
            self.skip(length.saturating_add(1));
            if !self.rest().starts_with('"') {
                break;
            }
            text.to_mut().push('"');
            self.skip(1);
        }
        let end = self.at;
        self.skip_spaces();
        let rest = self.rest();
        if rest.is_empty() || rest.starts_with([self.separator, '\n']) {
            return Ok(Cell { bytes: start..end, text });
        }
        let found = rest.get(..rest.find([self.separator, '\n']).unwrap_or(rest.len())).unwrap_or_default();
        let bytes = self.at..self.at.saturating_add(found.len());
        log.error(bytes, "stray_quote", found, "a comma or the end of the line after the closing quote");
        Err(Broken)
    }
}

/// A cell as it is written: in quotes where it has to be.
pub(crate) fn written(cell: &str, is_first: bool) -> Cow<'_, str> {
    let in_quotes =
        cell.contains([',', '"', '\n', '\r']) || cell.trim() != cell || is_first && cell.starts_with('#');
    if in_quotes { Cow::Owned(format!("\"{}\"", cell.replace('"', "\"\""))) } else { Cow::Borrowed(cell) }
}

/// Writes a row of comma-separated text below others; a cell is in quotes where it has to be.
///
/// # Examples
/// ```
/// let mut text = String::new();
/// evenfare_files::push_row(&mut text, &["P-OLOM", "1.50", "a, b"]);
/// assert_eq!(text, "P-OLOM,1.50,\"a, b\"\n");
/// ```
pub fn push_row(text: &mut String, cells: &[&str]) {
    for (place, cell) in cells.iter().enumerate() {
        text.push_str(if place > 0 { "," } else { "" });
        text.push_str(&written(cell, place == 0));
    }
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    /// Every cell as `line:column=text`, rows separated by ` / `, then the mistakes.
    fn check(text: &str, cells: &str, mistakes: &str) {
        let source = Arc::new(Source::new("t", text));
        let mut log = Log::new(&source);
        let mut reader = Reader::new(text, 0);
        let mut rows = Vec::new();
        while let Some(row) = reader.next(&mut log) {
            let shown = |cell: &Cell| {
                let (line, column) = source.position(cell.bytes.start);
                format!("{line}:{column}={}", cell.text)
            };
            rows.push(match row {
                Ok(row) => row.cells.iter().map(shown).collect::<Vec<_>>().join(" "),
                Err(Broken) => String::from("broken"),
            });
        }
        assert_eq!(rows.join(" / "), cells, "{text:?}");
        let mut report = Report::default();
        log.move_into(&mut report);
        assert_eq!(report.to_string(), mistakes, "{text:?}");
    }

    #[test]
    fn cells_have_their_places() {
        check("a,b\n1,2\n", "1:1=a 1:3=b / 2:1=1 2:3=2", "");
        check("a,b\r\n1,2", "1:1=a 1:3=b / 2:1=1 2:3=2", "");
        check("# note\n\n  a , b  \n   \n", "3:3=a 3:7=b", "");
        check("ä€, 😀 ,x", "1:1=ä€ 1:5=😀 1:8=x", "");
        check("\"a,\"\"b\"\"\" , c", "1:1=a,\"b\" 1:13=c", "");
        check("\"one\ntwo\",c\nd,e", "1:1=one\ntwo 2:6=c / 3:1=d 3:3=e", "");
        check("a,,\n,b", "1:1=a 1:3= 1:4= / 2:1= 2:2=b", "");
    }

    #[test]
    fn a_row_with_doubtful_quotes_ends_with_its_line() {
        let stray = "t:1:5: error[stray_quote]: found `\"`, expected no quote inside a cell, or quotes around the whole cell and this one doubled";
        check("a,3.\",b\nc,d", "broken / 2:1=c 2:3=d", stray);
        check(
            "a,\"b\nc,d\n",
            "broken / 2:1=c 2:3=d",
            "t:1:3: error[unclosed_quote]: found `\"`, expected a closing quote for this one",
        );
        check(
            "\"a\" x,b\nc",
            "broken / 2:1=c",
            "t:1:5: error[stray_quote]: found `x`, expected a comma or the end of the line after the closing quote",
        );
    }

    #[test]
    fn endless_rows_are_cut() {
        let mut log = Log::new(&Arc::new(Source::new("t", "")));
        let text = format!("{}\nb", ",".repeat(100_000));
        let mut reader = Reader::new(&text, 0);
        assert_eq!(reader.next(&mut log).map(|row| row.map(|row| row.cells.len())), Some(Ok(MOST_CELLS)));
        assert_eq!(reader.next(&mut log).map(|row| row.map(|row| row.cells.len())), Some(Ok(1)));
    }
}
