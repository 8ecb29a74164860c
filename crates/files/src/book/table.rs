//! Tables: comma-separated text to lines and back, comments and blank lines with it.

use crate::book::grid::{Line, MOST_LINES, Written, is_note, unfit};
use crate::csv::{self, MOST_CELLS, Reader, Record};
use crate::log::Log;

/// The lines of a table; what no sheet could hold is reported.
pub(super) fn lines_of(text: &str, log: &mut Log) -> Vec<Line> {
    let mut reader = Reader::new(text, 0);
    let mut lines = Vec::new();
    let mut at = 0;
    while let Some(record) = reader.next(log) {
        if let Ok(record) = record {
            between(text.get(at..record.bytes.start).unwrap_or_default(), &mut lines);
            check(&record, log);
            lines.push(Line::Cells(record.cells.into_iter().map(|cell| cell.text.into_owned()).collect()));
        }
        at = reader.at();
    }
    between(text.get(at..).unwrap_or_default(), &mut lines);
    while lines.last() == Some(&Line::Blank) {
        lines.pop();
    }
    if lines.len() > MOST_LINES {
        log.error(0..0, "not_for_a_book", &format!("{} lines", lines.len()), format!("at most {MOST_LINES}"));
    }
    lines
}

/// Comments and blank lines before a row, or at the end.
fn between(text: &str, lines: &mut Vec<Line>) {
    for line in text.split_inclusive('\n') {
        match line.trim_end() {
            "" if line.ends_with('\n') => lines.push(Line::Blank),
            // Spaces before the first cell of a row.
            "" => {}
            note => lines.push(Line::Note(note.to_owned())),
        }
    }
}

fn check(record: &Record, log: &mut Log) {
    let mut refuse = |bytes, found: &str, expected: &str| log.error(bytes, "not_for_a_book", found, expected);
    if record.cells.len() >= MOST_CELLS {
        refuse(record.bytes.clone(), "so many cells", &format!("fewer than {MOST_CELLS} in a row"));
    }
    for cell in &record.cells {
        if let Some(expected) = unfit(&cell.text) {
            refuse(cell.bytes.clone(), &cell.text, expected);
        }
    }
    if let Some((first, rest)) = record.cells.split_first()
        && is_note(&first.text)
        && rest.iter().all(|cell| cell.text.is_empty())
    {
        refuse(first.bytes.clone(), &first.text, "another cell beside it; a sheet has it for a comment");
    }
}

/// The table that those lines are.
pub(super) fn text_of(lines: &[Line]) -> Written {
    let mut written = Written::default();
    for (row, line) in lines.iter().enumerate() {
        match line {
            Line::Blank => written.push("\n"),
            Line::Note(note) => {
                written.mark(row, 0);
                written.note(note);
            }
            Line::Cells(cells) => {
                for (column, cell) in cells.iter().enumerate() {
                    written.push(if column > 0 { "," } else { "" });
                    written.mark(row, column);
                    written.push(&csv::written(cell, column == 0));
                }
                written.push("\n");
            }
        }
    }
    written
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::report::Report;
    use crate::source::Source;

    /// Writes what was read; answers with the mistakes.
    fn check(text: &str, back: &str) -> String {
        let mut log = Log::new(&Arc::new(Source::new("t", text)));
        let lines = lines_of(text, &mut log);
        assert_eq!(text_of(&lines).text(), back, "{text:?}");
        let mut report = Report::default();
        log.move_into(&mut report);
        report.to_string()
    }

    #[test]
    fn a_table_comes_back_as_it_was() {
        for text in [
            "",
            "a,b\n1,2\n",
            "# one, two\n\n  # three\na,b\n\n\n1,\n# four\n",
            "\"a,b\",\" c \",\"d\"\"e\",\"f\ng\"\n\"#x\",y\n",
        ] {
            assert_eq!(check(text, text), "");
        }
    }

    #[test]
    fn what_does_not_count_is_written_in_one_way() {
        assert_eq!(check("\"a\" ,  b\r\n 1,2\r\n\r\n\r\n", "a,b\n1,2\n"), "");
        assert_eq!(check("a\n1\n# end", "a\n1\n# end\n"), "");
    }

    #[test]
    fn what_no_sheet_can_hold_is_refused() {
        let comment = "t:2:1: error[not_for_a_book]: found `#1`, expected another cell beside it; a sheet has it for a comment";
        assert_eq!(check("a,b\n\"#1\",\n", "a,b\n\"#1\",\n"), comment);
        let control = "t:2:1: error[not_for_a_book]: found `x\\u{7}`, expected no control characters";
        assert_eq!(check("a\nx\u{7}\n", "a\nx\u{7}\n"), control);
    }
}
