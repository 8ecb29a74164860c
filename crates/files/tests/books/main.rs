//! Statements, invoices and lists: what is read, what is refused, and where.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod written;
mod statements;
mod invoices;
mod lists;
mod laws;

use std::path::{Path, PathBuf};

use evenfare_files::Report;

/// A file of the published standards, which stand beside the checkout and are no part of it; nothing, and
/// a word of it, where they are not there.
fn standard(file: &str) -> Option<Vec<u8>> {
    let named = std::env::var_os("EVENFARE_STANDARDS").map(PathBuf::from);
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/standards");
    let found =
        [named, Some(beside)].into_iter().flatten().find_map(|dir| std::fs::read(dir.join(file)).ok());
    if found.is_none() {
        eprintln!("{file} is not held: no folder with the standards (EVENFARE_STANDARDS)");
    }
    found
}

/// The mistakes, one a line.
fn refused<T>(read: Result<T, Report>) -> String {
    read.err().unwrap().to_string()
}
