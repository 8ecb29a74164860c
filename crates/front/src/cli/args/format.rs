//! How an answer is written.

use clap::{Args, ValueEnum};

/// For people or for programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Format {
    Text,
    Json,
}

/// How a command prints its answer.
#[derive(Debug, Args)]
pub(in crate::cli) struct Printed {
    /// text, or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}
