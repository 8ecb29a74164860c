//! What can be asked about a tariff as a book.

use std::path::PathBuf;

use clap::Args;

use super::Printed;

#[derive(Debug, Args)]
pub(in crate::cli) struct ExportArgs {
    /// The folder of one edition
    pub(in crate::cli) dir: PathBuf,
    /// The spreadsheet to write
    #[arg(value_name = "FILE.xlsx")]
    pub(in crate::cli) book: PathBuf,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ImportArgs {
    /// The spreadsheet, with a sheet for each table
    #[arg(value_name = "FILE.xlsx")]
    pub(in crate::cli) book: PathBuf,
    /// The folder to write the edition to, new or empty
    pub(in crate::cli) dir: PathBuf,
    #[command(flatten)]
    pub(in crate::cli) printed: Printed,
}
