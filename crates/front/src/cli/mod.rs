//! The command line: arguments in, text or JSON out, an exit code.
//!
//! Each command is a function from its arguments to an `Answer` or a
//! `Failure`; what comes of it is written here and nowhere else.

// Reading order: each module uses only those above it.
mod text;
mod exit;
mod args;
mod mistakes;
mod outcome;
mod output;
#[cfg(any(feature = "serve", feature = "pdf"))]
mod at_once;
mod input;
#[cfg(feature = "serve")]
mod keeping;
mod quote;
mod routes;
mod explain;
mod tariff;
#[cfg(feature = "workbook")]
mod book;
mod paper;
mod demo;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

#[cfg(feature = "serve")]
use args::keeping::CallerCommand;
use args::{Arguments, Command, TariffCommand};
use exit::Exit;
use outcome::Failure;

/// Runs one command: results to standard output, mistakes to standard error.
pub fn run(args: impl Iterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.collect();
    let for_a_program = asks_for_json(&args);
    let arguments = match Arguments::try_parse_from(&args) {
        Ok(arguments) => arguments,
        Err(error) if error.use_stderr() => {
            return Failure::from(error).report(for_a_program).into();
        }
        Err(help) => {
            // Where nobody listens, there is nobody to be told so.
            let _ = help.print();
            return Exit::Fine.into();
        }
    };
    let outcome = match &arguments.command {
        Command::Quote(args) => quote::run(args),
        #[cfg(feature = "serve")]
        Command::Quotes(args) => keeping::quotes::run(args),
        Command::Routes(args) => routes::run(args),
        Command::Explain(args) => explain::run(args),
        Command::Tariff { command: TariffCommand::Check(args) } => tariff::check(args),
        #[cfg(feature = "workbook")]
        Command::Tariff { command: TariffCommand::Export(args) } => book::export(args),
        #[cfg(feature = "workbook")]
        Command::Tariff { command: TariffCommand::Import(args) } => book::import(args),
        Command::Demo(args) => demo::run(args),
        Command::Paper(args) => paper::run(args),
        #[cfg(feature = "serve")]
        Command::Tariff { command: TariffCommand::Try(args) } => keeping::trial::run(args),
        #[cfg(feature = "serve")]
        Command::Tariff { command: TariffCommand::Publish(args) } => keeping::publish::run(args),
        #[cfg(feature = "serve")]
        Command::Caller { command: CallerCommand::Add(args) } => keeping::caller::add(args),
        #[cfg(feature = "serve")]
        Command::Caller { command: CallerCommand::List(args) } => keeping::caller::list(args),
        #[cfg(feature = "serve")]
        Command::Caller { command: CallerCommand::Withdraw(args) } => keeping::caller::withdraw(args),
        #[cfg(feature = "serve")]
        Command::Reconcile(args) => keeping::month::reconcile(args),
        #[cfg(feature = "serve")]
        Command::Close(args) => keeping::month::close(args),
        #[cfg(feature = "serve")]
        Command::Audit(args) => keeping::audit::run(args),
        #[cfg(feature = "serve")]
        Command::Backup(args) => keeping::backup::backup(args),
        #[cfg(feature = "serve")]
        Command::Restore(args) => keeping::backup::restore(args),
        #[cfg(feature = "serve")]
        Command::Serve(args) => keeping::serve::run(args),
    };
    outcome.and_then(outcome::write).unwrap_or_else(|failure| failure.report(for_a_program)).into()
}

/// Does a command line ask for JSON, and so a program why there is none? Perhaps nothing else of it is understood.
fn asks_for_json(args: &[OsString]) -> bool {
    args.iter().any(|arg| arg == "--format=json") || args.windows(2).any(|two| two == ["--format", "json"])
}
