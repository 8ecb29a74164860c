//! A book into the files of an edition.

use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::book::grid::{Line, Written, file_of, is_keys};
use crate::book::guide::{Guide, Kind};
use crate::book::raw::{Raw, Sheet, sheets};
use crate::book::taken::{Why, taken};
use crate::book::{keys, picture, table};
use crate::cell::Cell;
use crate::decode::{TARIFF_FILE_LIMIT, too_large};
use crate::folder::{EDITION_FILE, Folder, LETTERHEAD_FILE, read};
use crate::picture::is_picture;
use crate::report::{Mistake, Report, Says};
use crate::tariff::{Tariffs, edition_files, parse_tariff};

/// So many mistakes of one sheet are told.
const KEPT: usize = 1_000;

/// Something that was taken otherwise than it stands in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    sheet: String,
    cell: Cell,
    found: String,
    taken: String,
    why: Why,
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

/// An edition as it came out of a book: sound, and not yet on disk.
#[derive(Debug)]
pub struct Imported {
    files: Vec<(String, Vec<u8>)>,
    tariffs: Tariffs,
    changes: Vec<Change>,
    warnings: Report,
}

impl Imported {
    /// The files of the edition, by name.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files.iter().map(|(name, bytes)| (&**name, &**bytes))
    }

    /// A file of that name, where it is a text.
    pub fn text(&self, name: &str) -> Option<&str> {
        let (_, bytes) = self.files.iter().find(|(file, _)| file == name)?;
        std::str::from_utf8(bytes).ok()
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

    /// Writes the files to a folder that is not there yet or is empty: all of them, or none.
    ///
    /// They are written to a folder beside it, which then takes its name.
    ///
    /// # Errors
    /// Whatever the disk says; [`io::ErrorKind::DirectoryNotEmpty`] where something lies there.
    pub fn write_to(&self, dir: &Path) -> io::Result<()> {
        match fs::read_dir(dir) {
            Ok(mut entries) => {
                if entries.next().is_some() {
                    return Err(io::Error::from(io::ErrorKind::DirectoryNotEmpty));
                }
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(error),
        }
        let beside = beside(dir)?;
        let written = self.write_beside(&beside).and_then(|()| fs::rename(&beside, dir));
        if written.is_err() {
            // What went wrong is told; what is left of it would only be in the way.
            let _ = fs::remove_dir_all(&beside);
        }
        written
    }

    fn write_beside(&self, beside: &Path) -> io::Result<()> {
        fs::create_dir(beside)?;
        for (name, bytes) in &self.files {
            fs::write(beside.join(name), bytes)?;
        }
        Ok(())
    }
}

/// A name beside that folder that tariffs leave alone; the folders above it are made.
fn beside(dir: &Path) -> io::Result<PathBuf> {
    let name = dir.file_name().ok_or(io::ErrorKind::InvalidInput)?.to_string_lossy();
    let name = format!(".{name}.{}", std::process::id());
    match dir.parent().filter(|parent| !parent.as_os_str().is_empty()) {
        Some(parent) => fs::create_dir_all(parent).map(|()| parent.join(name)),
        None => Ok(PathBuf::from(name)),
    }
}

/// Reads a book on disk.
///
/// # Errors
/// As [`parse_book`]; that the file cannot be read.
pub fn read_book(path: &Path) -> Result<Imported, Report> {
    let name = path.display().to_string();
    match read(path, TARIFF_FILE_LIMIT) {
        Ok(bytes) => parse_book(&name, &bytes),
        Err(says) => Err(Report::from_iter([Mistake::in_folder(name, says)])),
    }
}

/// Reads a book: each sheet a file of an edition, which is checked right away.
///
/// A sheet is the table of its name, or the file of keys if its name ends in `.toml`. The cover, and sheets
/// whose names begin with `#`, are left out.
///
/// # Errors
/// Every mistake at once, with sheet and cell.
pub fn parse_book(name: &str, bytes: &[u8]) -> Result<Imported, Report> {
    let whole = |says| Report::from_iter([Mistake::in_folder(name.to_owned(), says)]);
    if bytes.len() > TARIFF_FILE_LIMIT {
        return Err(whole(too_large(u64::try_from(bytes.len()).unwrap_or(u64::MAX), TARIFF_FILE_LIMIT)));
    }
    let sheets = sheets(bytes).map_err(whole)?;
    let mut reading = Reading { book: name, guide: Guide::new(), pages: Vec::new(), changes: Vec::new() };
    let mut report: Report = sheets.into_iter().flat_map(|sheet| reading.take(sheet)).collect();
    let Reading { pages, changes, .. } = reading;
    let folder = Folder::from_files("", pages.iter().map(|page| (&*page.file, page.bytes())));
    let parsed = parse_tariff(&folder);
    let found = match &parsed {
        Ok(tariffs) => tariffs.warnings(),
        Err(report) => report,
    };
    report.extend(found.iter().filter_map(|mistake| at_its_cell(mistake, name, &pages)).collect::<Vec<_>>());
    match parsed {
        Ok(tariffs) if !report.has_errors() => {
            let editions = edition_files(&folder);
            let is_its = |file: &str| editions.iter().flatten().any(|(name, _)| *name == file);
            let (pages, aside): (Vec<_>, Vec<_>) = pages.into_iter().partition(|page| is_its(&page.file));
            report.extend(aside.iter().map(|page| {
                let expected =
                    "the picture that the letterhead names, or a table of a tariff; it is left out";
                let says = Says::warning("unused_file", &page.file, expected);
                Mistake::in_folder(place(name, &page.sheet), says)
            }));
            let files = pages.into_iter().map(Page::into_file).collect();
            Ok(Imported { files, tariffs, changes, warnings: report })
        }
        _ => Err(report),
    }
}

/// A file that a sheet became.
struct Page {
    file: String,
    sheet: String,
    written: Written,
    /// Of a picture, which has no text.
    picture: Option<Vec<u8>>,
    /// Cells about which something is said already.
    told: BTreeSet<Cell>,
}

impl Page {
    fn bytes(&self) -> &[u8] {
        self.picture.as_deref().unwrap_or(self.written.text().as_bytes())
    }

    fn into_file(self) -> (String, Vec<u8>) {
        let Self { file, written, picture, .. } = self;
        (file, picture.unwrap_or_else(|| written.into_text().into_bytes()))
    }
}

/// The mistake in a file as one in a cell, in the words of a book; nothing where the cell was refused already.
fn at_its_cell(mistake: &Mistake, book: &str, pages: &[Page]) -> Option<Mistake> {
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
fn place(book: &str, sheet: &str) -> String {
    format!("{book}: {}", quoted(sheet))
}

/// The name of a sheet as formulas write it.
pub(super) fn quoted(sheet: &str) -> String {
    let is_plain = sheet.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '.'));
    if is_plain { sheet.to_owned() } else { format!("'{}'", sheet.replace('\'', "''")) }
}

/// A book while its sheets become files.
struct Reading<'b> {
    book: &'b str,
    guide: Guide,
    pages: Vec<Page>,
    changes: Vec<Change>,
}

impl Reading<'_> {
    /// Takes a sheet; answers with what is wrong with it.
    fn take(&mut self, sheet: Sheet) -> Vec<Mistake> {
        let Sheet { name, is_hidden, cells, mut mistakes } = sheet;
        let place = place(self.book, &name);
        let whole = |says| vec![Mistake::in_folder(place.clone(), says)];
        if cells.is_empty() && mistakes.is_empty() {
            return Vec::new();
        }
        let file = file_of(&name);
        if name.starts_with('.') || name.contains(|c: char| c.is_control() || "/\\:*?\"<>|".contains(c)) {
            return whole(Says::error(
                "not_a_file_name",
                &name,
                "the name of a table, which is that of a file",
            ));
        }
        if self.pages.iter().any(|page| page.file.eq_ignore_ascii_case(&file)) {
            return whole(Says::error("doubled_sheet", &name, format!("one sheet for {file}")));
        }
        let (written, picture) = if is_picture(&file) {
            (Written::default(), Some(picture::bytes_of(&cells, &mut mistakes)))
        } else {
            let lines = self.lines(&file, &name, cells, &mut mistakes);
            let of_keys = is_keys(&file);
            let written =
                if of_keys { keys::text_of(&file, &lines, &self.guide) } else { table::text_of(&lines) };
            (written, None)
        };
        let told = mistakes.iter().map(|(cell, _)| *cell).collect();
        self.pages.push(Page { file: file.clone(), sheet: name.clone(), written, picture, told });
        let more = mistakes.len().saturating_sub(KEPT);
        mistakes.truncate(KEPT);
        let in_cell = |(cell, says)| Mistake::in_cell(place.clone(), cell, says);
        let mut told: Vec<Mistake> = mistakes.into_iter().map(in_cell).collect();
        if more > 0 {
            let found = format!("{more} more mistakes");
            let says = Says::error("too_many_mistakes", &found, format!("no more than {KEPT} in one sheet"));
            told.extend(whole(says));
        }
        if is_keys(&file) && ![EDITION_FILE, LETTERHEAD_FILE].contains(&file.as_str()) {
            told.extend(whole(Says::warning("unused_file", &file, becomes(&file))));
        }
        if is_hidden {
            told.extend(whole(Says::warning(
                "hidden_sheet",
                &name,
                "a sheet that is shown; it is read all the same",
            )));
        }
        told
    }

    /// Row by row what is taken of the cells.
    fn lines(
        &mut self,
        file: &str,
        sheet: &str,
        cells: Vec<Raw>,
        mistakes: &mut Vec<(Cell, Says)>,
    ) -> Vec<Line> {
        let mut lines = Vec::new();
        let mut kinds = Kinds::of(file);
        for row in cells.chunk_by(|one, other| one.cell.row == other.cell.row) {
            let Some(first) = row.first() else { continue };
            let number = usize::try_from(first.cell.row).unwrap_or(usize::MAX);
            lines.resize(number.max(lines.len()), Line::Blank);
            if let (true, [only]) = (first.is_comment(), row) {
                lines.push(Line::Note(taken(only, Kind::Text).text));
                continue;
            }
            let mut texts: Vec<String> = Vec::new();
            for raw in row {
                let column = usize::from(raw.cell.column);
                let taken = taken(raw, kinds.at(column, &texts, &self.guide));
                mistakes.extend(taken.mistake.map(|says| (raw.cell, says)));
                self.changes.extend(taken.changes.into_iter().map(|(found, why)| Change {
                    sheet: quoted(sheet),
                    cell: raw.cell,
                    found,
                    taken: taken.text.clone(),
                    why,
                }));
                texts.resize(column, String::new());
                texts.push(taken.text);
            }
            kinds.after(&mut texts);
            lines.push(Line::Cells(texts));
        }
        lines
    }
}

/// What may stand in the columns of a sheet.
enum Kinds<'f> {
    /// A table; its header, once it is read.
    Table(&'f str, Option<Vec<String>>),
    /// Keys, and the section that they are in.
    Keys(&'f str, String),
}

impl<'f> Kinds<'f> {
    fn of(file: &'f str) -> Self {
        if is_keys(file) { Self::Keys(file, String::new()) } else { Self::Table(file, None) }
    }

    /// What may stand in that column of a row that begins so.
    fn at(&self, column: usize, row: &[String], guide: &Guide) -> Kind {
        match self {
            Self::Table(_, None) => Kind::Text,
            Self::Table(file, Some(header)) => {
                header.get(column).map_or(Kind::Unknown, |name| guide.kind(file, name))
            }
            Self::Keys(file, section) if column == 1 => {
                let key = row.first().map_or("", |key| key.trim());
                guide.kind(file, &format!("{section}{key}"))
            }
            Self::Keys(..) => Kind::Text,
        }
    }

    /// A row was read; a row of a table is filled up to its header.
    fn after(&mut self, row: &mut Vec<String>) {
        match self {
            Self::Table(_, Some(header)) => row.resize(row.len().max(header.len()), String::new()),
            Self::Table(_, header) => *header = Some(row.iter().map(|name| name.trim().to_owned()).collect()),
            Self::Keys(_, section) => {
                if let Some(name) = row.first().and_then(|key| keys::section_of(key)) {
                    *section = format!("{name}.");
                }
            }
        }
    }
}
