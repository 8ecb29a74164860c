//! A tariff as a book of sheets, for people who keep prices in a spreadsheet.
//!
//! A book holds one edition: a cover, a sheet for each table, and one for each file of keys. The same
//! sheets, typed or changed by anyone, become the files of an edition again.
//!
//! # What is kept
//!
//! Export then import gives an edition that prices the same, and the same files: every row, cell, key and
//! comment in its place, blank lines among them. In tables they are written in one way (quotes only where
//! a cell needs them, no spaces around cells, each row as wide as the header, a line feed at the end of
//! each line, none blank at the end of the file), and so are files of keys (texts in double quotes, one
//! space around `=` and two before a comment that follows a value, a comma and a space in lists of words).
//!
//! # How cells are read
//!
//! * Amounts and all other numbers stand in the book as text, which no spreadsheet turns into a binary
//!   fraction, and days as dates. Whatever column is new is formatted so for what is typed below as well.
//! * **A number** that was typed is taken by the shortest decimal that is stored so, and rounded half up to
//!   the decimals of its column. Each cell that this changes is told.
//! * **A percentage** goes without its sign: a cell that shows `19%` holds 0.19, and is refused.
//! * **A date** is a day by the calendar of the book, of 1900 or of 1904; with a time it is refused, and so
//!   is a date in a column of anything else.
//! * **A formula** is taken as it came out when the book was saved last; each one is told.
//! * **Errors**, merged cells (but for a comment across a row), truth values other than for yes or no, and
//!   formulas that were never worked out are refused at their cells.
//! * Comments are rows with nothing but a text that begins with `#`. Rows without anything are blank lines.
//! * Hidden sheets, rows and columns are read like any other; of hidden sheets it is told. Sheets whose
//!   names begin with `#` are left out, and so is the cover.
//! * The logo is a sheet of its own name, its bytes in hexadecimal.
//!
//! A book has at most 16 MiB and unpacks to 192 MiB at most, and nothing may stand beyond row 250000 or
//! column 64 of a sheet.
//!
//! # Examples
//! ```
//! use evenfare_files::Folder;
//! use evenfare_files::book::{parse_book, write_book};
//!
//! # fn main() -> Result<(), evenfare_files::Report> {
//! # let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/bakery/tariff/2026-07");
//! # let folder = Folder::from_disk(demo.as_ref());
//! let book = write_book(&folder)?;
//! let imported = parse_book("prices.xlsx", &book)?;
//! assert!(imported.changes().is_empty());
//! assert_eq!(imported.tariffs().editions().len(), 1);
//! # Ok(())
//! # }
//! ```

// Reading order: each module uses only those above it.
mod guide;
mod grid;
mod table;
mod keys;
mod raw;
mod picture;
mod taken;
mod imported;
mod import;
mod export;

pub use export::write_book;
pub use import::{parse_book, read_book};
pub use imported::{Change, Imported, NotWritten};
pub use taken::Why;
