//! A book into the files of an edition.

use std::path::Path;

use crate::book::grid::{Line, Written, file_of, is_keys};
use crate::book::guide::{Guide, Kind};
use crate::book::imported::{Change, Imported, Page, at_its_cell, place, quoted};
use crate::book::raw::{Raw, Sheet, sheets};
use crate::book::taken::taken;
use crate::book::{keys, picture, table};
use crate::cell::Cell;
use crate::decode::{TARIFF_FILE_LIMIT, too_large};
use crate::folder::{Folder, read_alone};
use crate::picture::is_picture;
use crate::report::{Mistake, Report, Says};
use crate::tariff::{edition_files, parse_tariff};

/// How many mistakes of one sheet are told.
const KEPT: usize = 1_000;

/// Reads a book on disk.
///
/// # Errors
/// As [`parse_book`]; that the file cannot be read.
pub fn read_book(path: &Path) -> Result<Imported, Report> {
    parse_book(&path.display().to_string(), &read_alone(path, TARIFF_FILE_LIMIT)?)
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
            Ok(Imported { book: name.to_owned(), pages, tariffs, changes, warnings: report })
        }
        _ => Err(report),
    }
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
