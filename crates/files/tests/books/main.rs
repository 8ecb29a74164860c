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

use std::io::Write as _;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use evenfare_files::Report;

/// A file of the published standards, which stand beside the checkout and are no part of it. Where they are not
/// there it says so; where they are, or `EVENFARE_STANDARDS` says they are, the file has to be among them.
fn standard(file: &str) -> Option<Vec<u8>> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/standards");
    let named = std::env::var_os("EVENFARE_STANDARDS").map(PathBuf::from);
    let Some(folder) = named.or_else(|| beside.is_dir().then_some(beside)) else {
        // The test harness captures `eprintln!` and not this.
        let _ = writeln!(
            std::io::stderr(),
            "NOT HELD: {file}: no folder with the standards (EVENFARE_STANDARDS)"
        );
        return None;
    };
    let path = folder.join(file);
    let read = std::fs::read(&path);
    Some(read.unwrap_or_else(|error| panic!("{}: {error}", path.display())))
}

/// A file of the demo world, which is always there.
fn of_the_demo(file: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery/books").join(file))
        .unwrap()
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
