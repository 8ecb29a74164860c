//! Mistakes of files: drawn for people, and as plain data for programs.

use std::fmt;

use evenfare_engine::problem::Problem;
use evenfare_files::{Mistake, Report};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, ThemeCharacters, ThemeStyles};
use serde::Serialize;
use textwrap::{WordSeparator, WordSplitter};

use super::text::{Page, WIDTH, style};

/// A mistake for programs.
#[derive(Debug, Serialize)]
pub(super) struct Told<'a> {
    file: &'a str,
    line: Option<usize>,
    column: Option<usize>,
    severity: &'static str,
    code: &'static str,
    found: &'a str,
    expected: &'a str,
}

impl<'a> From<&'a Mistake> for Told<'a> {
    fn from(mistake: &'a Mistake) -> Self {
        Self {
            file: mistake.file(),
            line: mistake.line(),
            column: mistake.column(),
            severity: mistake.severity().word(),
            code: mistake.code(),
            found: mistake.found(),
            expected: mistake.expected(),
        }
    }
}

impl<'a> Told<'a> {
    /// A problem of something that stands in no file.
    pub(super) fn without_a_file(instead: &'a str, problem: &'a Problem) -> Self {
        Self {
            file: instead,
            line: None,
            column: None,
            severity: problem.severity.word(),
            code: problem.code,
            found: &problem.found,
            expected: &problem.expected,
        }
    }
}

/// A problem without its place.
pub(super) fn told(problem: &Problem) -> String {
    match problem.found.as_str() {
        "" => format!("found nothing, expected {}", problem.expected),
        found => format!("found `{found}`, expected {}", problem.expected),
    }
}

/// Every mistake, those that only say that a file is not there in one line each.
pub(super) fn drawn(page: &mut Page, report: &Report) {
    let (unread, others): (Vec<_>, Vec<_>) = report.iter().partition(|mistake| mistake.is_unreadable());
    for mistake in &unread {
        page.labelled(style::BAD, "error", &format!("cannot read {}: {}", mistake.file(), mistake.found()));
    }
    if !others.is_empty() {
        let others: Report = others.into_iter().cloned().collect();
        page.drawn(&snippets(&others));
    }
}

/// Mistakes with the lines they stand in, as `miette` draws them.
pub(super) fn snippets(report: &Report) -> String {
    struct Drawn<'a>(&'a dyn Diagnostic);
    impl fmt::Display for Drawn<'_> {
        fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            // Colours are taken out again where the stream is no terminal.
            let (characters, styles) = (ThemeCharacters::unicode(), ThemeStyles::ansi());
            GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
                .with_width(WIDTH)
                // Codes, days and paths are left whole.
                .with_word_separator(WordSeparator::AsciiSpace)
                .with_word_splitter(WordSplitter::NoHyphenation)
                .with_links(false)
                .render_report(f, self.0)
        }
    }
    let drawn = Drawn(&report.with_snippets()).to_string();
    drawn.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

#[cfg(test)]
mod tests {
    use evenfare_files::{Folder, parse_tariff};

    use super::*;

    /// The mistakes of an edition that lacks its tables, in a folder of that name.
    fn lacking(folder: &str) -> Report {
        let folder = Folder::from_files(folder, [("a/edition.toml", "")]);
        parse_tariff(&folder).err().unwrap_or_default()
    }

    #[test]
    fn codes_days_and_paths_are_left_whole() {
        let longest = |report: &Report| report.iter().map(|mistake| mistake.file().len()).max().unwrap_or(0);
        // A line beside `help:` has room for 70; the longest name goes whole to the line below `in`.
        let more = 69_usize.saturating_sub(longest(&lacking("")));
        let name: String = "WOERGL-2026-07-".chars().cycle().take(more).collect();
        let report = lacking(&name);
        assert_eq!(longest(&report), 70);
        let drawn = snippets(&report);
        assert!(drawn.lines().any(|line| line.ends_with("in")), "{drawn}");
        assert_eq!(drawn.lines().find(|line| line.ends_with(['-', '/'])), None, "{drawn}");
    }
}
