//! What can be asked of a store and a server, and how.

use std::env;
use std::net::SocketAddr;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, Subcommand};
use evenfare_engine::text::Code;
use evenfare_store::caller::Role;
use evenfare_store::digest::Digest;
use evenfare_store::entry::State;
use evenfare_store::number::{Number, Series};

use super::format::{Format, Printed};
use crate::cli::text::words::in_a_shell;
use crate::serve::database::Database;

/// The variable that names the store, and where it is else.
const VARIABLE: &str = "EVENFARE_DATABASE";
const USUAL: &str = "evenfare.db";

/// Where everything is kept.
#[derive(Debug, Args)]
#[command(next_line_help = true)]
pub(in crate::cli) struct Where {
    #[arg(long, value_name = "DATABASE", env = VARIABLE, hide_env = true)]
    #[arg(default_value = USUAL, hide_default_value = true)]
    #[arg(help = format!("A file or postgres:// URL; else ${VARIABLE}, else `{USUAL}`"))]
    pub(in crate::cli) database: Database,
}

impl Where {
    /// How the line of another command names the same store: not at all where it would be looked for there anyway.
    pub(in crate::cli) fn option(&self) -> String {
        let usual = env::var(VARIABLE).unwrap_or_else(|_| String::from(USUAL));
        match usual.parse::<Database>().as_ref() == Ok(&self.database) {
            true => String::new(),
            false => format!(" --database {}", in_a_shell(&self.database)),
        }
    }
}

/// Which entry of a number, and where it is kept.
#[derive(Debug, Args)]
pub(in crate::cli) struct Kept {
    /// Which revision of a quote; else the last
    #[arg(long, value_name = "N")]
    pub(in crate::cli) revision: Option<u32>,
    /// The opposite entry of that revision
    #[arg(long, requires = "revision")]
    pub(in crate::cli) reversal: bool,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

impl Kept {
    /// The revision that is asked for, and whether its opposite is.
    pub(in crate::cli) fn which(&self) -> Option<(u32, bool)> {
        self.revision.map(|revision| (revision, self.reversal))
    }
}

#[derive(Debug, Args)]
pub(in crate::cli) struct QuotesArgs {
    /// Those with that partner on their route, by the last revision he is on
    #[arg(long, value_name = "CODE")]
    pub(in crate::cli) partner: Option<Code>,
    /// Those in that series: what stands before the year, such as Q
    #[arg(long, value_name = "SERIES")]
    pub(in crate::cli) series: Option<Series>,
    /// Those of the job of that reference
    #[arg(long, value_name = "REFERENCE")]
    pub(in crate::cli) reference: Option<Code>,
    #[arg(long, value_name = "STATE", value_delimiter = ',', value_parser = state)]
    #[arg(help = format!("{}; several by commas", states()))]
    pub(in crate::cli) state: Vec<State>,
    /// Quoted on that day or later
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(in crate::cli) from: Option<NaiveDate>,
    /// Quoted on that day or earlier
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(in crate::cli) until: Option<NaiveDate>,
    /// At most this many, the newest first
    #[arg(long, value_name = "COUNT", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(in crate::cli) most: u32,
    /// Go on: only those issued before that one
    #[arg(long, value_name = "NUMBER")]
    pub(in crate::cli) before: Option<Number>,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ServeArgs {
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    /// Where to listen; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS", value_parser = address, default_value = "127.0.0.1:50051")]
    pub(in crate::cli) listen: SocketAddr,
    /// The certificate chain, a PEM file; read again when it changes
    #[arg(long, value_name = "FILE", requires = "key")]
    pub(in crate::cli) certificate: Option<PathBuf>,
    /// Its private key, a PEM file
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub(in crate::cli) key: Option<PathBuf>,
    /// Who signs client certificates, a PEM file
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub(in crate::cli) client_ca: Option<PathBuf>,
    /// Refuse clients without a certificate
    #[arg(long, requires = "client_ca")]
    pub(in crate::cli) require_client_certificate: bool,
    /// Serve without TLS on an address that is not loopback
    #[arg(long, conflicts_with = "certificate")]
    pub(in crate::cli) plain_text: bool,
    /// A web page's origin that may call from a browser; may be repeated
    #[arg(long, value_name = "ORIGIN")]
    pub(in crate::cli) allow_origin: Vec<String>,
    /// Serve metrics for Prometheus there
    #[arg(long, value_name = "ADDRESS", value_parser = address)]
    pub(in crate::cli) metrics: Option<SocketAddr>,
    /// Calls at once; more are refused
    #[arg(long, value_name = "COUNT", default_value_t = 512, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub(in crate::cli) calls: u32,
    /// Open connections at once
    #[arg(long, value_name = "COUNT", default_value_t = 16_384, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(in crate::cli) connections: u32,
    /// Refusals by the floor that a partner is told of in a day
    #[arg(long, value_name = "COUNT", default_value_t = 10, value_parser = clap::value_parser!(u32).range(0..=1_000_000))]
    pub(in crate::cli) floor_refusals: u32,
    /// Seconds to finish calls under way when asked to stop
    #[arg(long, value_name = "SECONDS", default_value_t = 20, value_parser = clap::value_parser!(u64).range(0..=3_600))]
    pub(in crate::cli) drain: u64,
    /// The log on standard error, text or json
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) log: Format,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum CallerCommand {
    /// Let somebody call: prints a token, once
    Add(AddArgs),
    /// List all callers
    List(ListArgs),
    /// Withdraw a caller's token or certificate
    Withdraw(WithdrawArgs),
}

#[derive(Debug, Args)]
pub(in crate::cli) struct AddArgs {
    /// A name of its own, such as front-desk; it is never given again
    pub(in crate::cli) name: Code,
    /// office, accountant or partner:CODE
    #[arg(long, value_name = "ROLE")]
    pub(in crate::cli) role: Role,
    /// A client certificate instead of a token, a PEM file
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) certificate: Option<PathBuf>,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ListArgs {
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct WithdrawArgs {
    /// The caller's name
    pub(in crate::cli) name: Code,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct PublishArgs {
    /// The folder of the tariff, or of one edition
    pub(in crate::cli) dir: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct TryArgs {
    /// The folder of the edition; in a folder of several, the last one
    pub(in crate::cli) dir: PathBuf,
    /// The first day of the quotes to price again
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(in crate::cli) from: NaiveDate,
    /// The last day
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(in crate::cli) until: NaiveDate,
    /// Only accepted quotes; else all but those taken back
    #[arg(long)]
    pub(in crate::cli) accepted_only: bool,
    /// A new .csv for the figures of every quote
    #[arg(short, long, value_name = "FILE", value_parser = table)]
    pub(in crate::cli) output: Option<PathBuf>,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct AuditArgs {
    #[command(flatten)]
    pub(in crate::cli) place: Where,
    /// The anchor that an earlier audit printed
    #[arg(long, value_name = "ANCHOR", value_parser = anchor)]
    pub(in crate::cli) anchor: Option<(u64, Digest)>,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct BackupArgs {
    /// A new file for the copy
    pub(in crate::cli) file: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct RestoreArgs {
    /// The backup; --database says where the store made of it goes
    pub(in crate::cli) file: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) place: Where,
}

/// A day as it is written everywhere.
pub(super) fn day(text: &str) -> Result<NaiveDate, &'static str> {
    text.parse().map_err(|_| "expected a day such as 2026-07-31")
}

fn address(text: &str) -> Result<SocketAddr, &'static str> {
    text.parse().map_err(|_| "expected an IP address and a port such as 127.0.0.1:50051")
}

fn state(text: &str) -> Result<State, String> {
    let known = State::ALL.into_iter().find(|state| state.code() == text);
    known.ok_or_else(|| format!("expected {}", states()))
}

fn states() -> String {
    let [others @ .., last] = State::ALL.map(State::code);
    format!("{} or {last}", others.join(", "))
}

/// A file that says by its name what is in it.
fn table(text: &str) -> Result<PathBuf, &'static str> {
    let path = PathBuf::from(text);
    let is_table = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    if is_table { Ok(path) } else { Err("expected a file whose name ends in .csv") }
}

fn anchor(text: &str) -> Result<(u64, Digest), &'static str> {
    let expected = "expected SEQUENCE:HASH as an audit has printed it";
    let (sequence, hash) = text.split_once(':').ok_or(expected)?;
    Ok((sequence.parse().map_err(|_| expected)?, hash.parse().map_err(|_| expected)?))
}
