//! What comes of a command: an answer or a failure, and the exit code.

use std::io::{self, ErrorKind, Write};

use evenfare_engine::UnderTheFloor;
use evenfare_engine::money::{Currency, Overflow};
use evenfare_engine::problem::Problem;
use evenfare_engine::text::Code;
use evenfare_files::{Report, disk_says};
use serde::Serialize;

use super::exit::Exit;
use super::mistakes::{Told, drawn, told};
use super::text::money::with_currency;
use super::text::{Page, style};

/// What a command answers.
#[derive(Debug)]
pub(super) struct Answer {
    /// For standard output, styled; the styles are taken out where it is no terminal.
    pub(super) text: String,
    /// After it, byte for byte.
    pub(super) document: Vec<u8>,
    /// For standard error.
    pub(super) note: String,
    /// A result may say that something is wrong.
    pub(super) exit: Exit,
}

impl Answer {
    /// An answer with nothing wrong.
    pub(super) fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), document: Vec::new(), note: String::new(), exit: Exit::Fine }
    }

    /// With something said beside it.
    pub(super) fn with_note(self, note: String) -> Self {
        Self { note, ..self }
    }
}

/// Why a command has no answer.
#[derive(Debug)]
pub(super) enum Failure {
    /// The command line is none of this program: as its parser draws that, and in words.
    NotParsed { drawn: String, message: String },
    /// The command line asks for what there is not.
    Usage(String),
    /// Files have mistakes.
    Mistakes(Report),
    /// There is no tariff where it was looked for, and the job may have mistakes.
    NoTariff(Report),
    /// What would be written has mistakes, so it was not; and what to do.
    #[cfg_attr(
        not(feature = "workbook"),
        expect(dead_code, reason = "only books are checked before they are written")
    )]
    NotWritten(Report, String),
    /// The route of the command line has mistakes, and the job may have others.
    Route(Vec<Problem>, Report),
    /// The input is wrong in a way that has no place in a file: a stable name, and in words.
    BadInput(&'static str, String),
    /// A file cannot be read or written.
    File(String),
    /// A database does not answer, or what it holds is damaged.
    #[cfg_attr(not(feature = "serve"), expect(dead_code, reason = "files alone need no database"))]
    Database(String),
    /// An agreement refuses an alternative.
    Refused(String),
    /// A month is not to be closed yet: a stable name, and in words.
    #[cfg_attr(not(feature = "serve"), expect(dead_code, reason = "files alone have no months"))]
    NotYet(&'static str, String),
    /// An agreement refuses the quote.
    UnderTheFloor(Box<Floor>),
    /// An error of this program.
    Internal(String),
}

impl From<Overflow> for Failure {
    fn from(error: Overflow) -> Self {
        Self::BadInput("too_large", error.to_string())
    }
}

/// That an agreement refuses a quote, for one who reads of it.
#[derive(Debug)]
pub(super) struct Floor {
    pub(super) floor: UnderTheFloor,
    pub(super) currency: Currency,
    /// May the reader know what the partners and the workshop keep?
    pub(super) sees_all: bool,
}

impl Failure {
    /// The exit code it ends with.
    pub(super) fn exit(&self) -> Exit {
        match self {
            Self::NotParsed { .. } | Self::Usage(_) => Exit::Usage,
            Self::Mistakes(report) | Self::Route(_, report) if report.has_unreadable() => Exit::NoInput,
            Self::Route(_, report) if report.is_empty() => Exit::Usage,
            Self::Mistakes(_) | Self::NotWritten(..) | Self::Route(..) | Self::BadInput(..) => Exit::BadInput,
            Self::NoTariff(_) | Self::File(_) => Exit::NoInput,
            Self::Database(_) => Exit::Database,
            Self::Refused(_) | Self::NotYet(..) | Self::UnderTheFloor(_) => Exit::Refused,
            Self::Internal(_) => Exit::Internal,
        }
    }

    /// Says it on standard error, and for a program on standard output as well.
    pub(super) fn report(self, for_a_program: bool) -> Exit {
        // Where nobody listens, there is nobody to be told so.
        if for_a_program && let Ok(text) = json(&self.as_data()) {
            let _ = io::stdout().lock().write_all(text.as_bytes());
        }
        let _ = anstream::stderr().write_all(self.page().as_bytes());
        self.exit()
    }

    /// For people.
    fn page(&self) -> String {
        let mut page = Page::default();
        let error = |page: &mut Page, text: &str| page.labelled(style::BAD, "error", text);
        let refused = |page: &mut Page, text: &str| page.labelled(style::BAD, "refused", text);
        match self {
            Self::NotParsed { drawn, .. } => page.drawn(drawn),
            Self::Mistakes(report) => drawn(&mut page, report),
            Self::NoTariff(report) => {
                drawn(&mut page, report);
                let where_it_is =
                    "--tariff or EVENFARE_TARIFF says where the tariff is; else it is the folder `tariff`";
                page.labelled(style::CARE, "note", where_it_is);
            }
            Self::NotWritten(report, what_to_do) => {
                drawn(&mut page, report);
                page.blank();
                error(&mut page, what_to_do);
            }
            Self::Route(route, report) => {
                error(
                    &mut page,
                    &format!("--route: {}", route.iter().map(told).collect::<Vec<_>>().join("; ")),
                );
                drawn(&mut page, report);
            }
            Self::Refused(message) | Self::NotYet(_, message) => refused(&mut page, message),
            Self::UnderTheFloor(floor) => refused(&mut page, &floor.text()),
            Self::Internal(message) => page.labelled(style::BAD, "internal error", message),
            Self::Usage(message)
            | Self::BadInput(_, message)
            | Self::File(message)
            | Self::Database(message) => error(&mut page, message),
        }
        page.finish()
    }

    /// For programs.
    fn as_data(&self) -> NoAnswer<'_> {
        let refused = |code| NoAnswer { refused: code, ..NoAnswer::default() };
        let said = |code, message| NoAnswer { message: Some(message), ..refused(code) };
        match self {
            Self::Usage(message) | Self::NotParsed { message, .. } => said("wrong_usage", message),
            Self::BadInput(code, message) | Self::NotYet(code, message) => said(code, message),
            Self::File(message) => said("unreadable", message),
            Self::Database(message) => said("database", message),
            Self::Refused(message) => said("under_the_floor", message),
            Self::Internal(message) => said("internal_error", message),
            Self::Mistakes(report) | Self::NoTariff(report) | Self::NotWritten(report, _) => {
                let code = if report.has_unreadable() { "unreadable" } else { "invalid_input" };
                NoAnswer { problems: Some(report.iter().map(Told::from).collect()), ..refused(code) }
            }
            Self::Route(route, report) => {
                let route = route.iter().map(|problem| Told::without_a_file("--route", problem));
                let problems = route.chain(report.iter().map(Told::from)).collect();
                NoAnswer { problems: Some(problems), ..refused("invalid_input") }
            }
            Self::UnderTheFloor(refusal) => {
                let floor = &refusal.floor;
                let of_the_route = |minor: i64| refusal.sees_all.then_some(minor);
                NoAnswer {
                    offer: Some(&floor.offer),
                    end_net_minor: Some(floor.end_net.minor()),
                    shares_minor: of_the_route(floor.shares.minor()),
                    available_minor: of_the_route(floor.available.minor()),
                    refused_by: refusal.sees_all.then_some(&floor.refused_by),
                    ..refused("under_the_floor")
                }
            }
        }
    }
}

impl From<clap::Error> for Failure {
    fn from(error: clap::Error) -> Self {
        let drawn = error.render();
        let text = drawn.to_string();
        // Behind the first paragraph stand hints and how the command is used.
        let said = text.split("\n\n").next().unwrap_or_default().trim_start_matches("error: ");
        let message = said.split_whitespace().collect::<Vec<_>>().join(" ");
        Self::NotParsed { drawn: drawn.ansi().to_string(), message }
    }
}

impl Floor {
    fn text(&self) -> String {
        if self.sees_all {
            under_the_floor(&self.floor, self.currency)
        } else {
            String::from("an agreement on this route refuses the quote; ask the workshop")
        }
    }
}

/// Why there is no answer, as plain data: what is in it goes by `refused`.
#[derive(Debug, Default, Serialize)]
struct NoAnswer<'a> {
    refused: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    problems: Option<Vec<Told<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    offer: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    end_net_minor: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shares_minor: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    available_minor: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    refused_by: Option<&'a Code>,
}

/// Why an agreement refuses.
pub(super) fn under_the_floor(floor: &UnderTheFloor, currency: Currency) -> String {
    let amount = |minor: i64| with_currency(minor, currency);
    let left = match floor.available.minor() {
        minor if minor > 0 => format!("leaves only {} for them", amount(minor)),
        _ => String::from("leaves nothing for them"),
    };
    format!(
        "the shares of this route come to {} and the workshop's floor {left}; the agreement with {} refuses such a \
         quote. The end price, {}, is not what is refused: another route has the same.",
        amount(floor.shares.minor()),
        floor.refused_by,
        amount(floor.end_net.minor()),
    )
}

/// As JSON, with a line end.
pub(super) fn json<T: Serialize>(value: &T) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|error| Failure::Internal(error.to_string()))?;
    Ok(format!("{text}\n"))
}

/// Writes an answer. Whoever closes the pipe early has read enough.
pub(super) fn write(answer: Answer) -> Result<Exit, Failure> {
    let _ = anstream::stderr().write_all(answer.note.as_bytes());
    let mut out = anstream::AutoStream::auto(io::stdout().lock());
    let written = out.write_all(answer.text.as_bytes()).and_then(|()| out.flush());
    let written = written.and_then(|()| match answer.document.as_slice() {
        [] => Ok(()),
        // A document has no styles to be taken out.
        document => {
            let mut out = out.into_inner();
            out.write_all(document).and_then(|()| out.flush())
        }
    });
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Internal(format!("the answer cannot be written: {}", disk_says(&error))))
        }
        _ => Ok(answer.exit),
    }
}
