//! An edition as it came out of a book, and its way to the disk.

use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::book::grid::Written;
use crate::book::taken::Why;
use crate::cell::Cell;
use crate::decode::{TARIFF_FILE_LIMIT, decode};
use crate::folder::EDITION_FILE;
use crate::report::{Mistake, Report};
use crate::tariff::{Tariffs, beside};

/// Something that was taken otherwise than it stands in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    pub(super) sheet: String,
    pub(super) cell: Cell,
    pub(super) found: String,
    pub(super) taken: String,
    pub(super) why: Why,
}

impl Change {
    /// Where: `parts!C17`.
    pub fn place(&self) -> String {
        format!("{}!{}", self.sheet, self.cell.name())
    }

    /// What stood there.
    pub fn found(&self) -> &str {
        &self.found
    }

    /// What was taken for it.
    pub fn taken(&self) -> &str {
        &self.taken
    }

    /// Why.
    pub fn why(&self) -> Why {
        self.why
    }
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { found, taken, why, .. } = self;
        write!(f, "{}: found `{found}`, taken `{taken}`: {why}", self.place())
    }
}

/// A file that a sheet became.
#[derive(Debug)]
pub(super) struct Page {
    pub(super) file: String,
    pub(super) sheet: String,
    pub(super) written: Written,
    /// Of a picture, which has no text.
    pub(super) picture: Option<Vec<u8>>,
    /// Cells about which something is said already.
    pub(super) told: BTreeSet<Cell>,
}

impl Page {
    pub(super) fn bytes(&self) -> &[u8] {
        self.picture.as_deref().unwrap_or(self.written.text().as_bytes())
    }
}

/// The mistake in a file as one in a cell, in the words of a book; nothing where the cell was refused already.
pub(super) fn at_its_cell(mistake: &Mistake, book: &str, pages: &[Page]) -> Option<Mistake> {
    let mistake = &mistake.expecting(of_sheets(mistake));
    let Some(page) = pages.iter().find(|page| page.file == mistake.file()) else {
        // A sheet that is not there, or the book as a whole.
        let sheet = mistake.file().strip_suffix(".csv").unwrap_or(mistake.file());
        let sheet = if sheet.is_empty() { book.to_owned() } else { place(book, sheet) };
        return Some(mistake.moved_to(sheet, None));
    };
    let position = mistake.line().zip(mistake.column());
    let cell = position.and_then(|(line, column)| page.written.cell(line, column));
    let is_told = cell.is_some_and(|cell| page.told.contains(&cell));
    (!is_told).then(|| mistake.moved_to(place(book, &page.sheet), cell))
}

/// What was expected, where it speaks of files: of the sheets that they are in a book.
fn of_sheets(mistake: &Mistake) -> String {
    match mistake.code() {
        "no_edition" => return format!("a sheet {EDITION_FILE}"),
        "unused_file" => return becomes(mistake.found()),
        _ => {}
    }
    let expected = mistake.expected().replace("the table ", "the sheet ");
    let words = expected.split(' ').enumerate().map(|(number, word)| {
        let Some((table, rest)) = word.split_once(".csv") else { return word.to_owned() };
        let is_said = number > 0 && expected.split(' ').nth(number.saturating_sub(1)) == Some("sheet");
        [if is_said { "" } else { "sheet " }, table, rest].concat()
    });
    words.collect::<Vec<_>>().join(" ")
}

/// What is told of a sheet that is no file of a tariff.
fn becomes(file: &str) -> String {
    format!(
        "the name of a table of a tariff; it becomes {file}, which prices nothing. # before its name leaves it out"
    )
}

/// A sheet of a book, as messages give it.
pub(super) fn place(book: &str, sheet: &str) -> String {
    format!("{book}: {}", quoted(sheet))
}

/// The name of a sheet as formulas write it.
pub(super) fn quoted(sheet: &str) -> String {
    let is_plain = sheet.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '.'));
    if is_plain { sheet.to_owned() } else { format!("'{}'", sheet.replace('\'', "''")) }
}

/// An edition as it came out of a book: sound, and not yet on disk.
#[derive(Debug)]
pub struct Imported {
    pub(super) book: String,
    pub(super) pages: Vec<Page>,
    pub(super) tariffs: Tariffs,
    pub(super) changes: Vec<Change>,
    pub(super) warnings: Report,
}

impl Imported {
    /// The files of the edition, by name.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.pages.iter().map(|page| (&*page.file, page.bytes()))
    }

    /// A file of that name, where it is a text.
    pub fn text(&self, name: &str) -> Option<&str> {
        let page = self.pages.iter().find(|page| page.file == name && page.picture.is_none())?;
        Some(page.written.text())
    }

    /// The edition, read from those files.
    pub fn tariffs(&self) -> &Tariffs {
        &self.tariffs
    }

    /// Everything that was taken otherwise than it stands in the book, in its order.
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// What is worth a look, by sheet and cell.
    pub fn warnings(&self) -> &Report {
        &self.warnings
    }

    /// How the edition would go with those of the folders beside that folder, by sheet and cell: a name that another
    /// has already and days that are another's too are errors, for no tariff is read that has them; days of none
    /// are worth a look.
    ///
    /// # Examples
    /// ```
    /// use evenfare_files::Folder;
    /// use evenfare_files::book::{parse_book, write_book};
    ///
    /// # fn main() -> Result<(), evenfare_files::Report> {
    /// # let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/bakery/tariff");
    /// let tariff = std::path::Path::new(demo);
    /// let book = write_book(&Folder::from_disk(&tariff.join("2026-07")))?;
    /// let beside = parse_book("prices.xlsx", &book)?.beside(&tariff.join("2027-01"));
    /// assert!(beside.to_string().starts_with("prices.xlsx: edition.toml!B6: error[duplicate_edition]"));
    /// # Ok(())
    /// # }
    /// ```
    pub fn beside(&self, dir: &Path) -> Report {
        let text = self.text(EDITION_FILE).unwrap_or_default().as_bytes();
        let decoded = decode(EDITION_FILE, text, TARIFF_FILE_LIMIT, &mut Report::default());
        let found = decoded.map(|decoded| beside(dir, decoded)).unwrap_or_default();
        found.iter().filter_map(|mistake| at_its_cell(mistake, &self.book, &self.pages)).collect()
    }

    /// Writes the files to a folder that is not there yet or is empty: all of them, or none.
    ///
    /// They are written to a folder beside it, which then takes its name. Answers with what is worth a look
    /// [beside](Self::beside) it.
    ///
    /// # Errors
    /// That something lies there, mistakes beside the other editions, whatever the disk says; then nothing is
    /// written.
    pub fn write_to(&self, dir: &Path) -> Result<Report, NotWritten> {
        match fs::read_dir(dir) {
            Ok(mut entries) => {
                if entries.next().is_some() {
                    return Err(NotWritten::NotEmpty);
                }
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(NotWritten::Disk(error)),
        }
        let beside = self.beside(dir);
        if beside.has_errors() {
            return Err(NotWritten::Beside(beside));
        }
        self.write_whole(dir).map(|()| beside).map_err(NotWritten::Disk)
    }

    fn write_whole(&self, dir: &Path) -> io::Result<()> {
        let unfinished = unfinished(dir)?;
        let written = self.write_files(&unfinished).and_then(|()| fs::rename(&unfinished, dir));
        if written.is_err() {
            // What went wrong is told; what is left of it would only be in the way.
            let _ = fs::remove_dir_all(&unfinished);
        }
        written
    }

    fn write_files(&self, dir: &Path) -> io::Result<()> {
        fs::create_dir(dir)?;
        for (name, bytes) in self.files() {
            fs::write(dir.join(name), bytes)?;
        }
        Ok(())
    }
}

/// Why an edition was not written to a folder; there is nothing of it then.
#[derive(Debug)]
pub enum NotWritten {
    /// Something lies in the folder.
    NotEmpty,
    /// It does not go with the editions beside it: mistakes by sheet and cell, with warnings among them.
    Beside(Report),
    /// What the disk says.
    Disk(io::Error),
}

impl fmt::Display for NotWritten {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotEmpty => f.write_str("the folder is not empty"),
            Self::Beside(report) => report.fmt(f),
            Self::Disk(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for NotWritten {}

/// A name beside that folder that tariffs leave alone; the folders above it are made.
fn unfinished(dir: &Path) -> io::Result<PathBuf> {
    let name = dir.file_name().ok_or(io::ErrorKind::InvalidInput)?.to_string_lossy();
    let name = format!(".{name}.{}", std::process::id());
    match dir.parent().filter(|parent| !parent.as_os_str().is_empty()) {
        Some(parent) => fs::create_dir_all(parent).map(|()| parent.join(name)),
        None => Ok(PathBuf::from(name)),
    }
}
