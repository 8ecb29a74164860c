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

use std::path::PathBuf;
use std::str::FromStr;

use clap::{Args, Parser, Subcommand};
use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;

#[cfg(feature = "workbook")]
use book::{ExportArgs, ImportArgs};
pub(in crate::cli) use format::Format;
#[cfg(feature = "serve")]
use keeping::{
    AddArgs, AuditArgs, BackupArgs, CallerCommand, ListArgs, PublishArgs, RestoreArgs, ServeArgs, TryArgs,
};
#[cfg(feature = "serve")]
use month::{CloseArgs, ReconcileArgs};
use paper::PaperArgs;

const MORE: &str = r#"Exit codes:
   0  done
  64  the command line is wrong
  65  the job, the tariff or the books have mistakes
  66  a file is not there, or cannot be read or written
  69  an agreement refuses the quote: too little would be left to the workshop;
      a month is not to be closed yet
  70  an error of this program, or its answer cannot be written
  74  a database does not answer, or what it holds is damaged

With --format json, why there is no answer stands on standard output as well:
  {"refused": "invalid_input", "problems": [{"file", "line", "column",
   "severity", "code", "found", "expected"}]}; so too "unreadable"
  {"refused": "under_the_floor", "offer", "end_net_minor"}; the office and the
   accountant see "shares_minor", "available_minor" and "refused_by" as well
  {"refused", "message"} for "wrong_usage", "too_large", "out_of_calendar",
   "unreadable", "database" and "internal_error"

What is kept stands in evenfare.db, or where --database or the environment's
EVENFARE_DATABASE says.

New here? `evenfare demo` writes a small world to try things on."#;

/// Repair quotes whose end price is the same by any route.
#[derive(Debug, Parser)]
#[command(name = "evenfare", version, after_help = MORE, arg_required_else_help = true)]
#[command(disable_help_subcommand = true)]
pub(in crate::cli) struct Arguments {
    #[command(subcommand)]
    pub(in crate::cli) command: Command,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Command {
    /// Price a job
    Quote(QuoteArgs),
    /// Price a job by every route, side by side
    Routes(RoutesArgs),
    /// Show how a figure of a quote came about
    Explain(ExplainArgs),
    /// Write a quote, a sheet of it or an invoice, as PDF or XML
    Paper(PaperArgs),
    /// Look after a tariff
    #[command(arg_required_else_help = true, disable_help_subcommand = true)]
    Tariff {
        #[command(subcommand)]
        command: TariffCommand,
    },
    /// Write the demo world and price it
    Demo(DemoArgs),
    /// Serve offices, partner portals and accountants over gRPC
    #[cfg(feature = "serve")]
    Serve(ServeArgs),
    /// Say who may call the server
    #[cfg(feature = "serve")]
    #[command(arg_required_else_help = true, disable_help_subcommand = true)]
    Caller {
        #[command(subcommand)]
        command: CallerCommand,
    },
    /// Hold what was agreed against what was invoiced and paid
    #[cfg(feature = "serve")]
    Reconcile(ReconcileArgs),
    /// Close a month: what it says never changes
    #[cfg(feature = "serve")]
    Close(CloseArgs),
    /// Check that nothing kept was changed since
    #[cfg(feature = "serve")]
    Audit(AuditArgs),
    /// Copy an SQLite store while it is in use
    #[cfg(feature = "serve")]
    Backup(BackupArgs),
    /// Make an SQLite store of a backup
    #[cfg(feature = "serve")]
    Restore(RestoreArgs),
}

impl Command {
    /// Is its answer for a program, and so why there is none?
    pub(in crate::cli) fn is_for_a_program(&self) -> bool {
        let format = match self {
            Self::Quote(args) => args.format,
            Self::Routes(args) => args.format,
            Self::Tariff { command: TariffCommand::Check(args) } => args.format,
            Self::Explain(_) | Self::Demo(_) | Self::Paper(_) => Format::Text,
            #[cfg(feature = "workbook")]
            Self::Tariff { command: TariffCommand::Export(_) } => Format::Text,
            #[cfg(feature = "workbook")]
            Self::Tariff { command: TariffCommand::Import(args) } => args.format,
            #[cfg(feature = "serve")]
            Self::Reconcile(args) => args.format,
            #[cfg(feature = "serve")]
            Self::Close(args) => args.format,
            #[cfg(feature = "serve")]
            Self::Tariff { command: TariffCommand::Try(args) } => args.format,
            #[cfg(feature = "serve")]
            Self::Audit(args) => args.format,
            #[cfg(feature = "serve")]
            Self::Caller { command: CallerCommand::Add(AddArgs { format, .. }) }
            | Self::Caller { command: CallerCommand::List(ListArgs { format, .. }) } => *format,
            #[cfg(feature = "serve")]
            _ => Format::Text,
        };
        format == Format::Json
    }
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum TariffCommand {
    /// List all mistakes of a tariff, each with its place
    Check(CheckArgs),
    /// Write an edition as a book for a spreadsheet
    #[cfg(feature = "workbook")]
    Export(ExportArgs),
    /// Make an edition of such a book
    #[cfg(feature = "workbook")]
    Import(ImportArgs),
    /// Price past quotes again by an edition not published, and compare
    #[cfg(feature = "serve")]
    Try(TryArgs),
    /// Publish its editions: from then on the server prices by them
    #[cfg(feature = "serve")]
    Publish(PublishArgs),
}

/// The job and the tariff it is priced by.
#[derive(Debug, Args)]
pub(in crate::cli) struct Sources {
    /// The job, a .toml, .json or .xml file
    pub(in crate::cli) job: PathBuf,
    /// The folder of the tariff, with all its editions
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) tariff: PathBuf,
}

/// Which sight of a quote.
#[derive(Debug, Args)]
pub(in crate::cli) struct Sight {
    /// Other partners, from the workshop outward, or `direct`
    #[arg(long, value_name = "P1,P2")]
    pub(in crate::cli) route: Option<Route>,
    /// Reader: accountant, customer, partner:CODE, else office
    #[arg(long = "as", value_name = "READER", default_value = "office", hide_default_value = true)]
    pub(in crate::cli) reader: Reader,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct QuoteArgs {
    #[command(flatten)]
    pub(in crate::cli) sources: Sources,
    #[command(flatten)]
    pub(in crate::cli) sight: Sight,
    /// The alternative to show, instead of the job itself
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct RoutesArgs {
    #[command(flatten)]
    pub(in crate::cli) sources: Sources,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ExplainArgs {
    // Not `Sources`: FIGURE comes after JOB.
    /// The job, a .toml, .json or .xml file
    pub(in crate::cli) job: PathBuf,
    /// The figure, `end.net` for one; without it all figures are listed
    pub(in crate::cli) figure: Option<String>,
    /// The folder of the tariff, with all its editions
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) tariff: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) sight: Sight,
    /// The alternative, instead of the job itself
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) offer: Option<String>,
    /// How many figures deep to go, or `all`
    #[arg(long, value_name = "N", default_value = "2")]
    pub(in crate::cli) depth: Depth,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct CheckArgs {
    /// The folder of the tariff
    pub(in crate::cli) dir: PathBuf,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
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
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }
}
