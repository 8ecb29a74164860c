//! Mistakes with their places, all of them at once.

use std::fmt;
use std::sync::Arc;

use evenfare_engine::problem::Severity;
use miette::{Diagnostic, LabeledSpan, SourceCode};

#[cfg(feature = "workbook")]
use crate::cell::Cell;
use crate::cell::a1;
use crate::says::{UNREADABLE, quote};
use crate::source::{Bytes, Source, width};

pub(crate) use crate::says::Says;

/// The code of the sentence that closes a report, where mistakes were held back.
const HELD_BACK: &str = "held_back";

/// Longer stretches of a file are not underlined whole.
const MARKED: usize = 60;

/// One mistake in a file, or one thing worth a look.
///
/// Its `Display` says what was found and what was expected; [`located`](Self::located) puts the
/// place, the severity and the code before it.
#[derive(Debug, Clone)]
pub struct Mistake {
    file: String,
    /// Line and column, where the mistake stands in a text; row and column, where it does in a sheet.
    position: Option<(usize, usize)>,
    /// Is it a cell of a sheet, which has a name of its own?
    is_cell: bool,
    severity: Severity,
    code: &'static str,
    found: String,
    expected: String,
    snippet: Option<(Arc<Source>, Bytes)>,
}

impl Mistake {
    /// A mistake in a text.
    pub(crate) fn in_text(source: &Arc<Source>, bytes: Bytes, says: Says) -> Self {
        Self {
            file: source.name().to_owned(),
            position: Some(source.position(bytes.start)),
            snippet: Some((Arc::clone(source), bytes)),
            ..Self::in_folder(String::new(), says)
        }
    }

    /// A mistake about a file as a whole, or one that is not there.
    pub(crate) fn in_folder(file: String, says: Says) -> Self {
        let Says { severity, code, found, expected } = says;
        Self {
            file: quote(&file, usize::MAX),
            position: None,
            is_cell: false,
            severity,
            code,
            found,
            expected,
            snippet: None,
        }
    }

    /// A mistake about a row of a file that was read before.
    pub(crate) fn in_row(file: String, line: usize, says: Says) -> Self {
        Self { position: Some((line, 1)), ..Self::in_folder(file, says) }
    }

    /// A mistake about a cell of a sheet; `sheet` goes before the cell's name.
    #[cfg(feature = "workbook")]
    pub(crate) fn in_cell(sheet: String, cell: Cell, says: Says) -> Self {
        let (row, column) = cell.counted_from_one();
        Self { position: Some((row, column)), is_cell: true, ..Self::in_folder(sheet, says) }
    }

    /// The same mistake, about a cell; about the sheet as a whole where there is none.
    #[cfg(feature = "workbook")]
    pub(crate) fn moved_to(&self, sheet: String, cell: Option<Cell>) -> Self {
        let position = cell.map(Cell::counted_from_one);
        Self { file: sheet, position, is_cell: cell.is_some(), snippet: None, ..self.clone() }
    }

    /// The same mistake, in other words of what was expected.
    #[cfg(feature = "workbook")]
    pub(crate) fn expecting(&self, expected: String) -> Self {
        Self { expected, ..self.clone() }
    }

    /// The file's name; of a book, the sheet's as well.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The line, or the row of a sheet, counted from 1; none where the mistake is about the file as a whole.
    pub fn line(&self) -> Option<usize> {
        self.position.map(|(line, _)| line)
    }

    /// The column, counted from 1 in characters; none where the mistake is about the file as a whole.
    pub fn column(&self) -> Option<usize> {
        self.position.map(|(_, column)| column)
    }

    /// Does it stop the work, or is it only worth a look?
    pub fn severity(&self) -> Severity {
        self.severity
    }

    /// A stable word for programs: `unknown_grade`.
    pub fn code(&self) -> &'static str {
        self.code
    }

    /// Is it that a file or folder is not there, or cannot be read at all? [`found`](Self::found) then
    /// says why, in words that go after "cannot be read".
    ///
    /// A table that is missing from an edition is another mistake: the edition was read, and lacks it.
    pub fn is_unreadable(&self) -> bool {
        self.code == UNREADABLE
    }

    /// What stood there; empty where something is missing.
    pub fn found(&self) -> &str {
        &self.found
    }

    /// What was expected there.
    pub fn expected(&self) -> &str {
        &self.expected
    }

    /// With place, severity and code: `parts.csv:12:9: error[unknown_grade]: found ..., expected ...`.
    pub fn located(&self) -> impl fmt::Display + '_ {
        Located(self)
    }

    /// Does it begin at that byte?
    pub(crate) fn begins_at(&self, at: usize) -> bool {
        self.snippet.as_ref().is_some_and(|(_, bytes)| bytes.start == at)
    }

    /// Is it no mistake of its own, but the sentence that closes the report?
    fn is_closing(&self) -> bool {
        self.code == HELD_BACK
    }

    /// Where it is: file, line and column, or sheet and cell.
    fn place(&self) -> String {
        match self.position {
            Some((row, column)) if self.is_cell => format!("{}!{}", self.file, a1(row, column)),
            Some((line, column)) => format!("{}:{line}:{column}", self.file),
            None => self.file.clone(),
        }
    }

    fn order(&self) -> (bool, &str, Option<(usize, usize)>, Severity, &str, &str) {
        (self.is_closing(), &self.file, self.position, self.severity, self.code, &self.found)
    }
}

struct Located<'a>(&'a Mistake);

impl fmt::Display for Located<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Mistake { severity, code, .. } = self.0;
        write!(f, "{}: {severity}[{code}]: {}", self.0.place(), self.0)
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.found.as_str() {
            more if self.is_closing() => write!(f, "{more} may follow from these; mend these first"),
            why if self.is_unreadable() => write!(f, "cannot be read: {why}"),
            "" => write!(f, "found nothing, expected {}", self.expected),
            found => write!(f, "found `{found}`, expected {}", self.expected),
        }
    }
}

impl std::error::Error for Mistake {}

impl Diagnostic for Mistake {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        if self.is_closing() { None } else { Some(Box::new(self.code)) }
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        // Without a snippet nothing else names the file.
        let has_no_name = self.snippet.is_none() && !self.is_closing();
        has_no_name.then(|| Box::new(format!("in {}", self.place())) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.snippet.as_ref().map(|(source, _)| &**source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (source, bytes) = self.snippet.as_ref()?;
        let marked = source.text().get(bytes.clone()).unwrap_or_default();
        // A whole table or list is marked by where it begins.
        let length = if width(marked) > MARKED || marked.contains('\n') { 1 } else { marked.len() };
        let label = LabeledSpan::new(None, bytes.start, length);
        Some(Box::new(std::iter::once(label)))
    }
}

/// All mistakes of a folder or a file, in the order of files, lines and columns; at the end how many were
/// held back, as they may only follow from these.
///
/// `Display` writes one line for each; [`with_snippets`](Self::with_snippets) is for a terminal.
///
/// # Examples
/// ```
/// let report = evenfare_files::parse_job("job.toml", "reference = 5\n").unwrap_err();
/// assert!(report.has_errors());
/// assert!(report.to_string().starts_with("job.toml:1:1: error[missing_key]: found nothing, expected"));
/// ```
#[derive(Debug, Clone, Default)]
pub struct Report {
    mistakes: Vec<Mistake>,
    editions: usize,
}

impl Report {
    pub(crate) fn push(&mut self, mistake: Mistake) {
        self.extend([mistake]);
    }

    pub(crate) fn extend(&mut self, mistakes: impl IntoIterator<Item = Mistake>) {
        self.mistakes.extend(mistakes);
        self.mistakes.sort_by(|a, b| a.order().cmp(&b.order()));
    }

    /// With mistakes of those codes as what is only worth a look.
    pub(crate) fn softened(self, codes: &[&str]) -> Self {
        let softer = |mistake: Mistake| match codes.contains(&mistake.code) {
            true => Mistake { severity: Severity::Warning, ..mistake },
            false => mistake,
        };
        let editions = self.editions;
        Self { editions, ..self.mistakes.into_iter().map(softer).collect() }
    }

    /// Closes with the number of mistakes that were kept back, as they may only follow from others.
    pub(crate) fn hold_back(&mut self, file: &str, mistakes: usize) {
        if mistakes > 0 {
            let plural = if mistakes == 1 { "" } else { "s" };
            let found = format!("{mistakes} more mistake{plural}");
            let says = Says::warning(HELD_BACK, &found, "the others mended first");
            self.push(Mistake::in_folder(file.to_owned(), says));
        }
    }

    /// Is there nothing to report?
    pub fn is_empty(&self) -> bool {
        self.mistakes.is_empty()
    }

    /// Is there anything that stops the work?
    pub fn has_errors(&self) -> bool {
        self.mistakes.iter().any(|mistake| mistake.severity == Severity::Error)
    }

    /// Is there a file or folder among them that is not there or cannot be read? The rest may be right
    /// in itself.
    ///
    /// # Examples
    /// ```
    /// let report = evenfare_files::read_tariff("no/such/folder".as_ref()).unwrap_err();
    /// assert!(report.has_unreadable());
    /// assert_eq!(
    ///     report.to_string(),
    ///     "no/such/folder: error[unreadable]: cannot be read: there is no such file or folder"
    /// );
    /// ```
    pub fn has_unreadable(&self) -> bool {
        self.mistakes.iter().any(Mistake::is_unreadable)
    }

    /// How many editions the tariff has that this is the report of, with those that have mistakes; 0
    /// where it is not the report of one tariff.
    pub fn editions(&self) -> usize {
        self.editions
    }

    pub(crate) fn set_editions(&mut self, editions: usize) {
        self.editions = editions;
    }

    /// How many there are, errors and warnings.
    pub fn len(&self) -> usize {
        self.mistakes.len()
    }

    /// One after the other, by file, line and column.
    pub fn iter(&self) -> std::slice::Iter<'_, Mistake> {
        self.mistakes.iter()
    }

    /// For a terminal: a headline, and every mistake with the lines it stands in.
    ///
    /// Hand it to a handler of `miette`; whether there are colours is the handler's choice. The
    /// report itself is no `Diagnostic`, because its `Display` names every mistake already and
    /// the handler would print them twice.
    pub fn with_snippets(&self) -> Snippets<'_> {
        Snippets { report: self }
    }
}

impl<'a> IntoIterator for &'a Report {
    type Item = &'a Mistake;
    type IntoIter = std::slice::Iter<'a, Mistake>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl FromIterator<Mistake> for Report {
    fn from_iter<I: IntoIterator<Item = Mistake>>(mistakes: I) -> Self {
        let mut report = Self::default();
        report.extend(mistakes);
        report
    }
}

impl IntoIterator for Report {
    type Item = Mistake;
    type IntoIter = std::vec::IntoIter<Mistake>;

    fn into_iter(self) -> Self::IntoIter {
        self.mistakes.into_iter()
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, mistake) in self.iter().enumerate() {
            let newline = if index == 0 { "" } else { "\n" };
            write!(f, "{newline}{}", mistake.located())?;
        }
        Ok(())
    }
}

impl std::error::Error for Report {}

/// A [`Report`] for a terminal, with the lines the mistakes stand in.
#[derive(Debug, Clone, Copy)]
pub struct Snippets<'a> {
    report: &'a Report,
}

impl fmt::Display for Snippets<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let of = |severity| move |mistake: &&Mistake| mistake.severity == severity && !mistake.is_closing();
        let errors = self.report.iter().filter(of(Severity::Error)).count();
        let warnings = self.report.iter().filter(of(Severity::Warning)).count();
        let count = |number: usize, word: &str| {
            let plural = if number == 1 { "" } else { "s" };
            format!("{number} {word}{plural}")
        };
        match (errors, warnings) {
            (0, _) => write!(f, "{}", count(warnings, "warning")),
            (_, 0) => write!(f, "{}", count(errors, "error")),
            _ => write!(f, "{} and {}", count(errors, "error"), count(warnings, "warning")),
        }
    }
}

impl std::error::Error for Snippets<'_> {}

impl Diagnostic for Snippets<'_> {
    fn severity(&self) -> Option<miette::Severity> {
        Some(if self.report.has_errors() { miette::Severity::Error } else { miette::Severity::Warning })
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.report.iter().map(|mistake| mistake as &dyn Diagnostic)))
    }
}
