#![doc = include_str!("../FORMAT.md")]

// Reading order: each module uses only those above it.
// Places in a text and in a sheet, and mistakes at them.
mod source;
mod cell;
mod says;
mod report;
mod log;
mod hint;
// What documents are written with.
mod bank;
mod letterhead;
mod translations;
mod stationery;
mod picture;
// Files: bytes, folders.
mod decode;
mod folder;
// One tree for three notations; XML has one of its own.
mod node;
mod toml_tree;
mod json_tree;
mod xml_tree;
mod csv;
mod header;
// What may stand in a place, and in a table.
mod value;
mod scalar;
mod fields;
// What is read.
mod tariff;
mod job;
// Statements, invoices and lists of month end.
mod books;
// The tariff as a book of sheets.
#[cfg(feature = "workbook")]
pub mod book;

pub use bank::{Bic, Iban, InvalidAccount};
pub use books::{
    answered_in, answers, closing_file, parse_books, parse_charges, parse_courier_bills, parse_invoice,
    parse_statements, read_books, read_books_watched, read_charges, read_courier_bills, read_invoice,
    read_statements, slips, write_closing,
};
pub use csv::push_row;
pub use folder::{Folder, disk_says};
pub use job::{JobSource, check_beside, parse_job, parse_job_for, read_job, read_job_for};
pub use letterhead::{
    Bank, Colour, InvalidColour, InvalidParagraph, Letterhead, LetterheadTexts, Logo, LogoKind, Paragraph,
};
pub use report::{Mistake, Report, Snippets};
pub use stationery::Stationery;
pub use tariff::{Tariffs, edition_files, parse_published, parse_tariff, read_tariff};
pub use translations::{Catalogue, Translations};
