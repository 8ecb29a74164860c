//! Statements, invoices and lists: what is read, what is refused, and where.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod written;
mod statements;
mod invoices;
mod lists;
mod sense;
mod laws;
// Months as the laws of month end generate them.
#[path = "../../../reconcile/tests/laws/world.rs"]
mod world;
#[path = "../../../reconcile/tests/laws/kinds.rs"]
#[allow(dead_code)] // Two faults on one quote are of those laws alone.
mod kinds;
#[path = "../../../reconcile/tests/laws/faults.rs"]
#[allow(dead_code)] // Faults in any number are of other laws.
mod faults;
mod folder;
mod closings;
mod demo;
mod memory;

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
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

fn day_of(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A file of a books folder.
fn file(path: &str, text: &str) -> (String, Vec<u8>) {
    (path.to_owned(), text.as_bytes().to_vec())
}

/// Rules that a books folder can have.
fn rules() -> (String, Vec<u8>) {
    let rules = "currency = \"EUR\"\nrounding_minor = 2\ncurrency_percent = \"1\"\npayment_days = 30\nreporting = [\"P-1\"]\n";
    file("books.toml", rules)
}
