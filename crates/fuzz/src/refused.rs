//! What is refused is refused clearly.

use evenfare_files::{Mistake, Report};
use miette::NarratableReportHandler;

/// Has an error, and is clear.
pub fn is_refused_clearly<'a>(report: &Report, files: impl IntoIterator<Item = (&'a str, &'a [u8])>) {
    assert!(report.has_errors(), "refused without a mistake");
    is_clear(report, files);
}

/// Every mistake has a code, says what was expected, and stands where there is something to be seen; all of
/// them can be drawn.
pub fn is_clear<'a>(report: &Report, files: impl IntoIterator<Item = (&'a str, &'a [u8])>) {
    let texts: Vec<(&str, Vec<String>)> =
        files.into_iter().map(|(name, bytes)| (name, lines(bytes))).collect();
    for mistake in report {
        assert!(!mistake.code().is_empty(), "{mistake:?}");
        // What came without a folder's name has none for what is wrong with it as a whole.
        assert!(!mistake.file().is_empty() || mistake.line().is_none(), "{mistake:?}");
        assert!(!mistake.expected().is_empty(), "{mistake:?}");
        let lines = texts.iter().find(|(name, _)| *name == mistake.file()).map(|(_, lines)| lines);
        if let Some(lines) = lines {
            stands_within(mistake, lines);
        }
    }
    // What is drawn grows with what is marked, and a few say as much as a thousand.
    if report.len() <= 50 {
        let mut drawn = String::new();
        let drawing = NarratableReportHandler::new().render_report(&mut drawn, &report.with_snippets());
        drawing.expect("what is drawn into a text is drawn");
        let is_harmless = |c: char| c == '\n' || c == '\t' || !c.is_control();
        assert!(drawn.chars().all(is_harmless), "{drawn:?}");
    }
}

fn lines(bytes: &[u8]) -> Vec<String> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    String::from_utf8_lossy(bytes).split('\n').map(str::to_owned).collect()
}

fn stands_within(mistake: &Mistake, lines: &[String]) {
    let (Some(line), Some(column)) = (mistake.line(), mistake.column()) else { return };
    let text =
        lines.get(line.wrapping_sub(1)).unwrap_or_else(|| panic!("{} has no such line", mistake.located()));
    // The end of a line, where something is missing, is one further.
    assert!((1..=text.chars().count() + 1).contains(&column), "{}", mistake.located());
}
