//! What comes of a command: an answer or a failure, and the exit code.

use std::fmt;
use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use evenfare_files::Report;
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, ThemeCharacters, ThemeStyles};

use super::text::{Page, WIDTH, style};

/// How the program ends; the numbers are those of `sysexits`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Exit {
    /// Done.
    Fine = 0,
    /// The command line is wrong.
    Usage = 64,
    /// The job or the tariff has mistakes.
    BadInput = 65,
    /// A file is not there, or cannot be read or written.
    NoInput = 66,
    /// An agreement refuses the quote.
    Refused = 69,
    /// An error of this program.
    Internal = 70,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// What a command answers.
#[derive(Debug)]
pub(super) struct Answer {
    /// For standard output, styled; the styles are taken out where it is no terminal.
    pub(super) text: String,
    /// For standard error.
    pub(super) note: String,
    /// A result may say that something is wrong.
    pub(super) exit: Exit,
}

impl Answer {
    /// An answer with nothing wrong.
    pub(super) fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), note: String::new(), exit: Exit::Fine }
    }

    /// With something said beside it.
    pub(super) fn with_note(self, note: String) -> Self {
        Self { note, ..self }
    }
}

/// Why a command has no answer.
#[derive(Debug)]
pub(super) enum Failure {
    /// The command line asks for what there is not.
    Usage(String),
    /// Files have mistakes.
    Mistakes(Report),
    /// The input is wrong in a way that has no place in a file.
    BadInput(String),
    /// A file cannot be read or written.
    File(String),
    /// An agreement refuses the quote.
    Refused(String),
    /// An error of this program.
    Internal(String),
}

impl Failure {
    /// The exit code it ends with.
    pub(super) fn exit(&self) -> Exit {
        match self {
            Self::Usage(_) => Exit::Usage,
            Self::Mistakes(report) if report.has_unreadable() => Exit::NoInput,
            Self::Mistakes(_) | Self::BadInput(_) => Exit::BadInput,
            Self::File(_) => Exit::NoInput,
            Self::Refused(_) => Exit::Refused,
            Self::Internal(_) => Exit::Internal,
        }
    }

    /// Says it on standard error.
    pub(super) fn report(self) -> Exit {
        let mut page = Page::default();
        let (word, message) = match &self {
            Self::Mistakes(report) => {
                drawn(&mut page, report);
                return self.said(&page.finish());
            }
            Self::Refused(message) => ("refused", message),
            Self::Internal(message) => ("internal error", message),
            Self::Usage(message) | Self::BadInput(message) | Self::File(message) => ("error", message),
        };
        page.labelled(style::BAD, word, message);
        self.said(&page.finish())
    }

    fn said(&self, text: &str) -> Exit {
        // Nobody is left to hear that nobody listens.
        let _ = anstream::stderr().write_all(text.as_bytes());
        self.exit()
    }
}

/// Every mistake, those that only say that a file is not there in one line each.
fn drawn(page: &mut Page, report: &Report) {
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
                .with_links(false)
                .render_report(f, self.0)
        }
    }
    let drawn = Drawn(&report.with_snippets()).to_string();
    drawn.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// Writes an answer. Whoever closes the pipe early has read enough.
pub(super) fn write(answer: Answer) -> Result<Exit, Failure> {
    let _ = anstream::stderr().write_all(answer.note.as_bytes());
    let mut out = anstream::AutoStream::auto(io::stdout().lock());
    match out.write_all(answer.text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Internal(format!("the answer cannot be written: {error}")))
        }
        _ => Ok(answer.exit),
    }
}
