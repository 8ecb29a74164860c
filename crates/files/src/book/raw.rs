//! The cells of a book as they stand in it, within bounds.

use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{
    DataRef, ExcelDateTime, Reader, SheetType, SheetVisible, Style, Xlsx, XlsxCellFormulaMetadataRecord,
    XlsxFormulaMetadata,
};
use chrono::NaiveDate;
use quick_xml::events::Event;
use zip::ZipArchive;

use crate::book::grid::{MOST_LINES, is_note};
use crate::cell::Cell;
use crate::csv::MOST_CELLS;
use crate::says::Says;

/// A book unpacks to this at most: the largest edition that there may be, and some room.
const MOST_BYTES: u64 = 192 * MIB;

/// What says how cells look, which sheets there are and the like has this at most; each element of it may
/// take many times its own length in memory.
const MOST_BYTES_ASIDE: u64 = 16 * MIB;

const MIB: u64 = 1024 * 1024;

/// How many cells with something in them, and texts for them: the largest edition that there may be, and
/// some room.
const MOST_FILLED: usize = 2_500_000;

/// How many sheets: an edition has a few dozen.
const MOST_SHEETS: usize = 256;

/// The sheet that says what the book is.
pub(super) const COVER: &str = "read me";

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Found {
    Text(String),
    /// A number, by the shortest decimal that is stored in the same bits.
    Number(String),
    /// The same in a cell that shows a hundred times as much, and a percent sign.
    Percentage(String),
    Day(NaiveDate),
    /// A day with a time, a time, or a duration.
    Moment(String),
    Truth(bool),
    /// An error such as `#REF!`.
    Failed(String),
    /// A formula that was never worked out.
    Nothing,
}

/// A cell with something in it.
#[derive(Debug)]
pub(super) struct Raw {
    pub(super) cell: Cell,
    pub(super) found: Found,
    /// What it was worked out by.
    pub(super) formula: Option<String>,
}

/// A sheet.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) name: String,
    pub(super) is_hidden: bool,
    /// Row by row, none twice.
    pub(super) cells: Vec<Raw>,
    /// What is wrong with it apart from single values.
    pub(super) mistakes: Vec<(Cell, Says)>,
}

/// The sheets of a book, but for its cover and those whose names begin with `#`.
///
/// # Errors
/// Why it is no book that can be read.
pub(super) fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, Says> {
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return Err(Says::unreadable(
            "it is an old .xls, or locked by a password; save it as .xlsx without one",
        ));
    }
    unpacks_within_bounds(bytes)?;
    // Its reader is not ours; whatever a book made for harm does to it ends here.
    let read = catch_unwind(AssertUnwindSafe(|| read(bytes)));
    read.unwrap_or_else(|_| Err(broken()))
}

/// What its readers say of it is for who writes such programs.
fn broken() -> Says {
    Says::unreadable("it is not a valid .xlsx file; save it as one in a spreadsheet program")
}

/// Unpacks everything once and keeps nothing: sizes that a file says of itself may be lies.
fn unpacks_within_bounds(bytes: &[u8]) -> Result<(), Says> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| broken())?;
    // Else a short file could have the same piece of it unpacked again and again, for hours.
    if archive.has_overlapping_files().map_err(|_| broken())? {
        return Err(broken());
    }
    let mut left = MOST_BYTES;
    for index in 0..archive.len() {
        let file = archive.by_index(index).map_err(|_| broken())?;
        let name = file.name().map_err(|_| broken())?.to_ascii_lowercase();
        let part = Part::of(&name);
        let (most, what) = match part {
            Part::Aside if MOST_BYTES_ASIDE < left => {
                (MOST_BYTES_ASIDE, "a part beside its sheets with more")
            }
            _ => (MOST_BYTES, "a book that unpacks to more"),
        };
        let room = most.min(left);
        let mut unpacking = BufReader::new(file.take(room.saturating_add(1)));
        if part == Part::Texts {
            texts_within_bounds(&mut unpacking)?;
        }
        io::copy(&mut unpacking, &mut io::sink()).map_err(|_| broken())?;
        let unpacked = room.saturating_add(1).saturating_sub(unpacking.get_ref().limit());
        if unpacked > room {
            let most = most / MIB;
            return Err(Says::error("file_too_large", what, format!("at most {most} MiB")));
        }
        left = left.saturating_sub(unpacked);
    }
    Ok(())
}

/// A file of a book, as far as it matters how long it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Sheet,
    /// The texts that cells of all sheets refer to.
    Texts,
    /// Anything else.
    Aside,
}

impl Part {
    /// By its name in small letters, wherever in the book its folder is.
    fn of(name: &str) -> Self {
        let (folder, file) = name.rsplit_once('/').unwrap_or(("", name));
        match file {
            "sharedstrings.xml" => Self::Texts,
            _ if folder.ends_with("worksheets") && file.starts_with("sheet") => Self::Sheet,
            _ => Self::Aside,
        }
    }
}

/// Counts the texts, and what the list says of their number: room for as many would be made before the
/// first is read.
fn texts_within_bounds(file: impl BufRead) -> Result<(), Says> {
    let too_many = || Says::error("file_too_large", "more texts", format!("at most {MOST_FILLED}"));
    let mut reader = quick_xml::Reader::from_reader(file);
    reader.config_mut().check_end_names = false;
    let (mut buffer, mut texts) = (Vec::new(), 0_usize);
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(|_| broken())? {
            Event::Start(tag) | Event::Empty(tag) => match tag.local_name().as_ref() {
                "sst" => {
                    let said = tag.try_get_attribute("uniqueCount").map_err(|_| broken())?;
                    let is_plausible =
                        |said: &str| said.parse().is_ok_and(|texts: usize| texts <= MOST_FILLED);
                    if said.is_some_and(|said| !is_plausible(&said.value)) {
                        return Err(too_many());
                    }
                }
                "si" => {
                    texts = texts.saturating_add(1);
                    if texts > MOST_FILLED {
                        return Err(too_many());
                    }
                }
                _ => {}
            },
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

type Book<'b> = Xlsx<Cursor<&'b [u8]>>;

fn read(bytes: &[u8]) -> Result<Vec<Sheet>, Says> {
    let mut book: Book = Xlsx::new(Cursor::new(bytes)).map_err(|_| broken())?;
    let mut sheets = Vec::new();
    let mut left = MOST_FILLED;
    if book.sheets_metadata().len() > MOST_SHEETS {
        let found = format!("{} sheets", book.sheets_metadata().len());
        return Err(Says::error("file_too_large", &found, format!("at most {MOST_SHEETS}")));
    }
    for sheet in book.sheets_metadata().to_vec() {
        let is_aside = sheet.name.eq_ignore_ascii_case(COVER) || sheet.name.starts_with('#');
        if sheet.typ == SheetType::WorkSheet && !is_aside {
            let is_hidden = sheet.visible != SheetVisible::Visible;
            sheets.push(Sheet { is_hidden, ..sheet_of(&mut book, sheet.name, &mut left)? });
        }
    }
    Ok(sheets)
}

fn sheet_of(book: &mut Book, name: String, left: &mut usize) -> Result<Sheet, Says> {
    let mut sheet = Sheet { name, is_hidden: false, cells: Vec::new(), mistakes: Vec::new() };
    fill(&mut sheet, book, left)?;
    if !sheet.cells.is_sorted_by_key(|raw| raw.cell) {
        sheet.cells.sort_by_key(|raw| raw.cell);
    }
    for (one, other) in sheet.cells.iter().zip(sheet.cells.iter().skip(1)) {
        if one.cell == other.cell {
            let says = Says::error("doubled_cell", &one.cell.name(), "each cell once in a sheet");
            sheet.mistakes.push((one.cell, says));
        }
    }
    sheet.cells.dedup_by_key(|raw| raw.cell);
    tell_percentages(&mut sheet, book)?;
    let merged = book.merge_cells_by_sheet_name(&sheet.name).map_err(|_| broken())?;
    for range in merged {
        let (Some(first), Some(last)) = (cell(range.start), cell(range.end)) else { continue };
        if !sheet.may_be_merged(first, last) {
            let found = format!("{}:{}", first.name(), last.name());
            sheet.mistakes.push((first, Says::error("merged_cells", &found, "cells that are not merged")));
        }
    }
    Ok(sheet)
}

/// Reads the cells of a sheet, as many as may still be.
fn fill(sheet: &mut Sheet, book: &mut Book, left: &mut usize) -> Result<(), Says> {
    let mut reader = book.worksheet_cells_reader(&sheet.name).map_err(|_| broken())?;
    while let Some(record) = reader.next_cell_with_formula_metadata().map_err(|_| broken())? {
        let Some(raw) = raw(record) else { continue };
        if is_out_of_reach(raw.cell) {
            let expected = format!("nothing beyond row {MOST_LINES} and column {MOST_CELLS}");
            let says = Says::error("out_of_reach", "a cell with something in it", expected);
            sheet.mistakes.push((raw.cell, says));
            // One such cell is enough to be told.
            break;
        }
        *left = left.checked_sub(1).ok_or_else(|| {
            Says::error(
                "file_too_large",
                "more cells",
                format!("at most {MOST_FILLED} with something in them"),
            )
        })?;
        sheet.cells.push(raw);
    }
    Ok(())
}

/// Tells numbers that are shown as percentages from others.
fn tell_percentages(sheet: &mut Sheet, book: &mut Book) -> Result<(), Says> {
    let mut reader = book.worksheet_cells_reader(&sheet.name).map_err(|_| broken())?;
    let of_percentages: Vec<bool> = reader.styles().iter().map(shows_percentages).collect();
    if !of_percentages.contains(&true) {
        return Ok(());
    }
    while let Some((row, column, style)) = reader.next_style_id().map_err(|_| broken())? {
        let Some(cell) = cell((row, column)).filter(|_| of_percentages.get(style) == Some(&true)) else {
            continue;
        };
        let at = sheet.cells.binary_search_by_key(&cell, |raw| raw.cell);
        if let Some(raw) = at.ok().and_then(|at| sheet.cells.get_mut(at))
            && let Found::Number(number) = &mut raw.found
        {
            raw.found = Found::Percentage(std::mem::take(number));
        }
    }
    Ok(())
}

/// Does a cell of that style show a hundred times what is stored in it? So does a format with a percent sign that is
/// neither quoted nor escaped (ECMA-376 part 1, 18.8.31).
fn shows_percentages(style: &Style) -> bool {
    let format = style.number_format.as_ref().map_or("", |format| format.format_code.as_str());
    let (mut is_quoted, mut is_plain) = (false, false);
    for c in format.chars() {
        match c {
            _ if std::mem::take(&mut is_plain) => {}
            '"' => is_quoted = !is_quoted,
            '\\' | '_' | '*' if !is_quoted => is_plain = true,
            '%' if !is_quoted => return true,
            _ => {}
        }
    }
    false
}

impl Sheet {
    /// Does nothing stand in the range, or a comment across one row?
    fn may_be_merged(&self, first: Cell, last: Cell) -> bool {
        let at = self.cells.partition_point(|raw| raw.cell < first);
        let mut rest = self.cells.iter().skip(at);
        match rest.next() {
            Some(raw) if raw.cell == first && raw.is_comment() && first.row == last.row => {
                rest.next().is_none_or(|next| next.cell.row > first.row)
            }
            next => next.is_none_or(|raw| raw.cell > last),
        }
    }
}

fn is_out_of_reach(cell: Cell) -> bool {
    let reaches = |number: Option<usize>, most| number.is_some_and(|number| number < most);
    !reaches(usize::try_from(cell.row).ok(), MOST_LINES) || !reaches(Some(cell.column.into()), MOST_CELLS)
}

/// A place of the reader's, where a sheet can have it.
fn cell((row, column): (u32, u32)) -> Option<Cell> {
    Some(Cell { row, column: column.try_into().ok()? })
}

impl Raw {
    /// Is it a comment, where nothing stands beside it?
    pub(super) fn is_comment(&self) -> bool {
        self.cell.column == 0 && matches!(&self.found, Found::Text(text) if is_note(text))
    }
}

/// A cell as it was read; nothing where there is nothing in it.
fn raw(record: XlsxCellFormulaMetadataRecord) -> Option<Raw> {
    let formula = record.formula.map(|formula| match formula {
        XlsxFormulaMetadata::Normal { formula } | XlsxFormulaMetadata::Shared { formula, .. } => formula,
        // It is written out at another cell.
        _ => String::new(),
    });
    let (row, column) = record.pos;
    let cell = Cell { row, column: column.try_into().unwrap_or(u16::MAX) };
    let found = match record.value {
        DataRef::Empty if formula.is_some() => Found::Nothing,
        DataRef::Empty => return None,
        DataRef::String(text) if text.is_empty() => return None,
        DataRef::SharedString("") => return None,
        DataRef::String(text) => Found::Text(text),
        DataRef::SharedString(text) => Found::Text(text.to_owned()),
        DataRef::Int(number) => Found::Number(number.to_string()),
        // The shortest decimal that is the same binary fraction; nothing is computed with it.
        DataRef::Float(number) => Found::Number(number.to_string()),
        DataRef::Bool(truth) => Found::Truth(truth),
        DataRef::DateTime(moment) => day(moment),
        DataRef::DateTimeIso(text) => day_of_iso(&text),
        DataRef::DurationIso(text) => Found::Moment(text),
        DataRef::Error(error) => Found::Failed(error.to_string()),
    };
    Some(Raw { cell, found, formula })
}

/// The day of a serial number, by the calendar of its book.
fn day(moment: ExcelDateTime) -> Found {
    let (year, month, day, hour, minute, second, milli) = moment.to_ymd_hms_milli();
    let date = NaiveDate::from_ymd_opt(year.into(), month.into(), day.into());
    match date {
        Some(date) if !moment.is_duration() && (hour, minute, second, milli) == (0, 0, 0, 0) => {
            Found::Day(date)
        }
        // The 29th of February 1900, which only spreadsheets have; a time; a duration.
        _ => Found::Moment(format!("{year}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02}")),
    }
}

fn day_of_iso(text: &str) -> Found {
    let (day, time) = text.split_at_checked(10).unwrap_or((text, ""));
    let is_midnight = time.chars().all(|c| matches!(c, 'T' | ':' | '0' | '.' | 'Z'));
    match day.parse() {
        Ok(date) if is_midnight => Found::Day(date),
        _ => Found::Moment(text.to_owned()),
    }
}
