//! The statements and invoices among the demo's books are what the standards have them be.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::standards::checker;

#[test]
fn the_books_of_the_demo_hold() {
    let checker = match checker() {
        Ok(checker) => checker,
        Err(why) => {
            let _ = writeln!(std::io::stderr().lock(), "the_books_of_the_demo_hold: not held: {why}");
            return;
        }
    };
    let books = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/bakery/books");
    let folders = ["statements", "invoices"].map(|folder| books.join(folder));
    let files = folders.iter().flat_map(|folder| std::fs::read_dir(folder).unwrap());
    let files: Vec<PathBuf> = files.map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 3);
    checker.check(&files).unwrap();
}
