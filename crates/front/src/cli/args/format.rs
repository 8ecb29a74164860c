//! How an answer is written.

use clap::ValueEnum;

/// For people or for programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Format {
    Text,
    Json,
}
