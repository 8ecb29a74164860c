//! What can be asked, and how.

// Reading order: each module uses only those above it.
mod format;
#[cfg(feature = "workbook")]
pub(in crate::cli) mod book;
#[cfg(feature = "serve")]
pub(in crate::cli) mod keeping;
#[cfg(feature = "serve")]
pub(in crate::cli) mod month;
pub(in crate::cli) mod paper;

use std::env;
use std::path::PathBuf;
use std::str::FromStr;

use clap::{Args, Parser, Subcommand};
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;

#[cfg(feature = "workbook")]
use book::{ExportArgs, ImportArgs};
pub(in crate::cli) use format::{Format, Printed};
#[cfg(feature = "serve")]
use keeping::{
    AuditArgs, BackupArgs, CallerCommand, Kept, PublishArgs, QuotesArgs, RestoreArgs, ServeArgs, TryArgs,
};
#[cfg(feature = "serve")]
use month::{CloseArgs, ReconcileArgs};
use paper::PaperArgs;

use super::exit::Exit;
use super::text::{Page, style};

/// What a program is told of a refusal, and where to begin.
const MORE: &str = r#"With --format json, a refusal is on standard output as well:
  {"refused": "invalid_input", "problems": [{"file", "line", "column",
   "severity", "code", "found", "expected"}]}; so too "unreadable"
  {"refused": "under_the_floor", "offer", "end_net_minor"}; the office and the
   accountant see "shares_minor", "available_minor" and "refused_by" as well
  {"refused", "message"} otherwise, such as "wrong_usage", "too_large",
   "out_of_calendar", "unreadable", "database" and "internal_error"

New here? `evenfare demo` writes a small world to try things on."#;

/// What stands below the commands: the exit codes, then the rest.
fn more() -> String {
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, "Exit codes:");
    for exit in Exit::ALL {
        page.hanging(2, &format!("{:>2} ", exit as u8), style::PLAIN, exit.means());
    }
    page.blank();
    page.drawn(MORE);
    page.finish()
}

/// Repair quotes whose end price is the same by any route.
#[derive(Debug, Parser)]
#[command(name = "evenfare", version, after_help = more(), arg_required_else_help = true)]
#[command(disable_help_subcommand = true)]
pub(in crate::cli) struct Arguments {
    #[command(subcommand)]
    pub(in crate::cli) command: Command,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Command {
    /// Price a job, or show a quote that is kept
    Quote(QuoteArgs),
    /// List the quotes that are kept
    #[cfg(feature = "serve")]
    Quotes(QuotesArgs),
    /// Price a job by every route, side by side
    Routes(RoutesArgs),
    /// Show how a figure of a quote was computed
    Explain(ExplainArgs),
    /// Write a quote, a sheet of it or an invoice as PDF or XML
    Paper(PaperArgs),
    /// Check, try and publish a tariff; edit it in a spreadsheet
    #[command(arg_required_else_help = true, disable_help_subcommand = true)]
    Tariff {
        #[command(subcommand)]
        command: TariffCommand,
    },
    /// Write the demo world and price it
    Demo(DemoArgs),
    /// Serve the office, partner portals and the accountant over gRPC
    #[cfg(feature = "serve")]
    Serve(ServeArgs),
    /// Say who may call the server
    #[cfg(feature = "serve")]
    #[command(arg_required_else_help = true, disable_help_subcommand = true)]
    Caller {
        #[command(subcommand)]
        command: CallerCommand,
    },
    /// Reconcile what was agreed with what was invoiced and paid
    #[cfg(feature = "serve")]
    Reconcile(ReconcileArgs),
    /// Close a month: it never changes again
    #[cfg(feature = "serve")]
    Close(CloseArgs),
    /// Check that nothing in the store was altered
    #[cfg(feature = "serve")]
    Audit(AuditArgs),
    /// Copy an SQLite store while it is in use
    #[cfg(feature = "serve")]
    Backup(BackupArgs),
    /// Make an SQLite store from a backup
    #[cfg(feature = "serve")]
    Restore(RestoreArgs),
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum TariffCommand {
    /// List every mistake in a tariff, with file and line
    Check(CheckArgs),
    /// Write an edition as a spreadsheet
    #[cfg(feature = "workbook")]
    Export(ExportArgs),
    /// Make an edition from such a spreadsheet
    #[cfg(feature = "workbook")]
    Import(ImportArgs),
    /// Price past quotes again by an edition that is not published
    #[cfg(feature = "serve")]
    Try(TryArgs),
    /// Publish editions: from then on the server prices by them
    #[cfg(feature = "serve")]
    Publish(PublishArgs),
}

/// A variable of the environment where it says something: one that is empty counts as not set.
fn set(name: &'static str) -> Option<&'static str> {
    env::var_os(name).is_some_and(|value| !value.is_empty()).then_some(name)
}

/// What jobs are priced by.
#[derive(Debug, Args)]
pub(in crate::cli) struct PricedBy {
    /// The folder of the tariff; else $EVENFARE_TARIFF, else `tariff`
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) tariff: Option<PathBuf>,
}

impl PricedBy {
    /// The folder. What the environment names is left out of `tariff`, as only the command line's is refused beside a
    /// number.
    pub(in crate::cli) fn folder(&self) -> PathBuf {
        let named = || set("EVENFARE_TARIFF").and_then(env::var_os).map(PathBuf::from);
        self.tariff.clone().or_else(named).unwrap_or_else(|| PathBuf::from("tariff"))
    }
}

/// Who reads a quote.
#[derive(Debug, Args)]
pub(in crate::cli) struct ReadBy {
    /// Reader: office, accountant, customer or partner:CODE
    #[arg(long = "as", value_name = "READER", default_value = "office")]
    pub(in crate::cli) reader: Reader,
}

/// Which sight of a quote.
#[derive(Debug, Args)]
pub(in crate::cli) struct Sight {
    /// Another route: partners from the workshop outward, or `direct`
    #[arg(long, value_name = "P1,P2")]
    pub(in crate::cli) route: Option<Route>,
    #[command(flatten)]
    pub(in crate::cli) read_by: ReadBy,
}

impl Sight {
    /// By the route that the job names.
    pub(in crate::cli) fn of(reader: Reader) -> Self {
        Self { route: None, read_by: ReadBy { reader } }
    }

    pub(in crate::cli) fn reader(&self) -> &Reader {
        &self.read_by.reader
    }
}

/// A quote: of a job, priced now, or one that is kept.
#[derive(Debug, Args)]
pub(in crate::cli) struct QuoteOf {
    /// A job file, or the number of a quote that is kept
    #[arg(value_name = "JOB|NUMBER")]
    pub(in crate::cli) what: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) by: PricedBy,
    #[command(flatten)]
    pub(in crate::cli) sight: Sight,
    /// The alternative, instead of the job itself
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    #[cfg(feature = "serve")]
    #[command(flatten)]
    pub(in crate::cli) kept: Kept,
}

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct QuoteArgs {
    #[command(flatten)]
    pub(in crate::cli) of: QuoteOf,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct RoutesArgs {
    /// A job file, or the number of a quote that is kept
    #[arg(value_name = "JOB|NUMBER")]
    pub(in crate::cli) what: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) by: PricedBy,
    #[cfg(feature = "serve")]
    #[command(flatten)]
    pub(in crate::cli) kept: Kept,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct ExplainArgs {
    #[command(flatten)]
    pub(in crate::cli) of: QuoteOf,
    /// The figure, such as end.net; without it all figures are listed
    pub(in crate::cli) figure: Option<String>,
    /// How many figures deep to go, or `all`
    #[arg(long, value_name = "N", default_value = "2")]
    pub(in crate::cli) depth: Depth,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct CheckArgs {
    /// The folder of the tariff
    pub(in crate::cli) dir: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct DemoArgs {
    /// The folder to write to
    #[arg(default_value = "evenfare-demo")]
    pub(in crate::cli) dir: PathBuf,
    /// Overwrite files that were changed
    #[arg(long)]
    pub(in crate::cli) force: bool,
    /// Write no documents of its jobs
    #[cfg(feature = "pdf")]
    #[arg(long)]
    pub(in crate::cli) no_paper: bool,
}

/// The partners of a route, nearest to the workshop first; none is the direct one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) struct Route(pub(in crate::cli) Vec<Code>);

impl FromStr for Route {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if text == "direct" {
            return Ok(Self(Vec::new()));
        }
        let code = |code: &str| {
            let unknown = || format!("`{}` is no partner's code", code.chars().take(40).collect::<String>());
            code.trim().parse().map_err(|_| unknown())
        };
        text.split(',').map(code).collect::<Result<_, _>>().map(Self)
    }
}

/// How deep an explanation goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) struct Depth(pub(in crate::cli) usize);

impl FromStr for Depth {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "all" => Ok(Self(usize::MAX)),
            number => number.parse().map(Self).map_err(|_| String::from("expected a number or `all`")),
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    fn check(text: &str, codes: Option<&[&str]>) {
        let route = text.parse::<Route>().ok();
        let read = route.as_ref().map(|route| route.0.iter().map(Code::as_str).collect::<Vec<_>>());
        assert_eq!(read.as_deref(), codes, "{text}");
    }

    #[test]
    fn routes_are_read() {
        check("direct", Some(&[]));
        check("P-1", Some(&["P-1"]));
        check("P-1, P-2", Some(&["P-1", "P-2"]));
        check("", None);
        check("P-1,", None);
        check("P 1", None);
    }

    #[test]
    fn the_arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }

    /// Where the parser is not asked to list them.
    #[test]
    fn help_names_every_value_of_an_option() {
        fn named(command: &clap::Command) -> usize {
            let mut values = 0;
            for argument in command.get_arguments() {
                let help = argument.get_help().map(ToString::to_string).unwrap_or_default();
                for value in argument.get_possible_values() {
                    assert!(help.contains(value.get_name()), "{}: {help}", argument.get_id());
                    values += 1;
                }
            }
            values + command.get_subcommands().map(named).sum::<usize>()
        }
        let mut command = Arguments::command();
        command.build();
        assert!(named(&command) > 10);
    }
}
