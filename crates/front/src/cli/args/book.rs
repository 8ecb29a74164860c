//! What can be asked about a tariff as a book.

use std::path::PathBuf;

use clap::Args;

use super::Format;

#[derive(Debug, Args)]
pub(in crate::cli) struct ExportArgs {
    /// The folder of one edition
    pub(in crate::cli) dir: PathBuf,
    /// The spreadsheet to write, an .xlsx
    pub(in crate::cli) book: PathBuf,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ImportArgs {
    /// The spreadsheet, an .xlsx with a sheet for each table
    pub(in crate::cli) book: PathBuf,
    /// The folder to write the edition to, new or empty
    pub(in crate::cli) dir: PathBuf,
    /// text for people or json for programs
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    pub(in crate::cli) format: Format,
}
