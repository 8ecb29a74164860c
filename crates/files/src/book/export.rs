//! The files of an edition into a book.

use rust_xlsxwriter::{
    Color, DataValidation, DataValidationErrorStyle, DocProperties, ExcelDateTime, Format, FormatAlign,
    FormatBorder, Formula, Note, Workbook, Worksheet, XlsxError,
};

use crate::book::grid::{Line, is_keys, sheet_of};
use crate::book::guide::{Column, Guide, Kind};
use crate::book::raw::COVER;
use crate::book::{keys, picture, table};
use crate::decode::{Decoded, TARIFF_FILE_LIMIT, decode};
use crate::folder::{EDITION_FILE, Folder, LETTERHEAD_FILE};
use crate::picture::is_picture;
use crate::report::{Mistake, Report, Says};
use crate::tariff::{edition_files, parse_tariff};

/// How many rows more than there are have lists to choose from.
const ROOM: usize = 1_000;

/// Columns are as wide as their cells, within these bounds, in characters.
const WIDTHS: (usize, usize) = (10, 60);

/// How many rows are looked at for that.
const MEASURED: usize = 500;

/// The edition in a folder as a book, an `.xlsx`. The same files give the same bytes.
///
/// # Errors
/// Every mistake in the files; that the folder holds more than one edition; what a sheet cannot hold.
pub fn write_book(folder: &Folder) -> Result<Vec<u8>, Report> {
    let tariffs = parse_tariff(folder)?;
    let editions = edition_files(folder);
    let whole = |says| Report::from_iter([Mistake::in_folder(folder.name().to_owned(), says)]);
    let [files] = editions.as_slice() else {
        let names: Vec<&str> = tariffs.editions().iter().map(|edition| edition.code().as_str()).collect();
        let found = format!("{} editions", editions.len());
        let expected = format!("the folder of one of them: {}", names.join(", "));
        return Err(whole(Says::error("several_editions", &found, expected)));
    };
    let id = tariffs.editions().first().map_or("", |edition| edition.code().as_str());
    let guide = Guide::new();
    let sheets = sheets(folder, files, &guide)?;
    book(id, &sheets, &guide).map_err(|error| whole(Says::error("not_for_a_book", "", error.to_string())))
}

/// A file as lines.
struct Sheet<'f> {
    file: &'f str,
    lines: Vec<Line>,
    /// Which of them is the header.
    header: usize,
}

/// All files as lines: those of keys, then the tables in the order of the document.
fn sheets<'f>(folder: &Folder, files: &[(&'f str, &[u8])], guide: &Guide) -> Result<Vec<Sheet<'f>>, Report> {
    let mut report = Report::default();
    let mut sheets = Vec::new();
    for (file, bytes) in files {
        if is_picture(file) {
            sheets.push(Sheet { file, lines: picture::lines_of(file, bytes), header: 0 });
            continue;
        }
        let name = folder.path_of(file);
        let Some(Decoded { text, mut log }) = decode(&name, bytes, TARIFF_FILE_LIMIT, &mut report) else {
            continue;
        };
        let lines =
            if is_keys(file) { keys::lines_of(&text, &mut log) } else { table::lines_of(&text, &mut log) };
        log.move_into(&mut report);
        let header = lines.iter().position(|line| matches!(line, Line::Cells(_))).unwrap_or_default();
        sheets.push(Sheet { file, lines, header });
    }
    sheets.sort_by_key(|sheet| (is_picture(sheet.file), !is_keys(sheet.file), guide.order(sheet.file)));
    if report.has_errors() { Err(report) } else { Ok(sheets) }
}

/// How cells look.
struct Looks {
    title: Format,
    plain: Format,
    head: Format,
    note: Format,
    section: Format,
    text: Format,
    day: Format,
}

impl Looks {
    fn new() -> Self {
        let text = Format::new().set_num_format("@");
        Self {
            title: Format::new().set_bold().set_font_size(16),
            plain: Format::new().set_text_wrap().set_align(FormatAlign::Top),
            head: text
                .clone()
                .set_bold()
                .set_font_color(Color::White)
                .set_background_color(Color::RGB(0x2F_4B_5C))
                .set_border_bottom(FormatBorder::Thin),
            note: text.clone().set_italic().set_font_color(Color::RGB(0x5B_6B_74)),
            section: text.clone().set_bold().set_background_color(Color::RGB(0xE4_EA_ED)),
            day: Format::new().set_num_format("yyyy-mm-dd").set_align(FormatAlign::Left),
            text,
        }
    }
}

fn book(id: &str, sheets: &[Sheet], guide: &Guide) -> Result<Vec<u8>, XlsxError> {
    let looks = Looks::new();
    let mut book = Workbook::new();
    // The same edition gives the same bytes, whenever it is exported.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_title(format!("Tariff {id}")).set_creation_datetime(&made));
    cover(book.add_worksheet(), id, sheets, guide, &looks)?;
    for sheet in sheets {
        let page = book.add_worksheet();
        page.set_name(sheet_of(sheet.file))?;
        lines(page, sheet, guide, &looks)?;
        if is_keys(sheet.file) {
            key_helps(page, sheet, guide)?;
        } else {
            column_helps(page, sheet, sheets, guide, &looks)?;
        }
    }
    book.save_to_buffer()
}

/// What the book is, and how it comes back.
fn cover(
    page: &mut Worksheet,
    id: &str,
    sheets: &[Sheet],
    guide: &Guide,
    looks: &Looks,
) -> Result<(), XlsxError> {
    page.set_name(COVER)?;
    page.set_column_width(0, 24)?.set_column_width(1, 76)?;
    page.write_string_with_format(0, 0, format!("Tariff {id}"), &looks.title)?;
    let rules = [
        ("What this is", "One edition of a tariff: a sheet for each table, and one for each file of keys."),
        (
            "How it comes back",
            "evenfare tariff import BOOK.xlsx FOLDER writes the files of the edition and checks them; whatever is wrong is told by sheet and cell, and then nothing is written.",
        ),
        (
            "Numbers",
            "Amounts stand here as text with a point: 12.50; a percentage goes without its sign: 19. A number that is typed into another cell is rounded to the decimals of its column, and the import says so.",
        ),
        ("Days", "Dates; shown as 2026-07-01."),
        (
            "Comments",
            "A row with nothing but a text that begins with # is a comment. In the sheets of keys a comment may stand beside a value as well.",
        ),
        (
            "Formulas",
            "A cell formatted as text takes none; give it another format first. The value is taken that the book was saved with.",
        ),
        ("Columns", "The header's notes say what each means. Columns and rows may stand in any order."),
        ("Sheets of your own", "A sheet whose name begins with # is left out, and so is this one."),
    ];
    let mut row = 2;
    for (what, rule) in rules {
        page.write_string_with_format(row, 0, what, &looks.plain)?;
        page.write_string_with_format(row, 1, rule, &looks.plain)?;
        row = row.saturating_add(1);
    }
    row = row.saturating_add(1);
    for (column, head) in [(0, "sheet"), (1, "what stands in it")] {
        page.write_string_with_format(row, column, head, &looks.head)?;
    }
    for sheet in sheets {
        row = row.saturating_add(1);
        page.write_string_with_format(row, 0, sheet_of(sheet.file), &looks.plain)?;
        let title = match sheet.file {
            EDITION_FILE => "the name, the days and the rules",
            LETTERHEAD_FILE => "how documents look, and what they say beside the figures",
            file if is_picture(file) => "a picture, for the way back",
            file => guide.title(file),
        };
        page.write_string_with_format(row, 1, title, &looks.plain)?;
    }
    Ok(())
}

/// The lines of a sheet, its columns wide enough, its header always in sight.
fn lines(page: &mut Worksheet, sheet: &Sheet, guide: &Guide, looks: &Looks) -> Result<(), XlsxError> {
    let mut section = String::new();
    for (index, line) in sheet.lines.iter().enumerate() {
        let row = row_number(index)?;
        let cells = match line {
            Line::Blank => continue,
            Line::Note(note) => {
                page.write_string_with_format(row, 0, note, &looks.note)?;
                continue;
            }
            Line::Cells(cells) => cells,
        };
        let opens = cells.first().filter(|_| is_keys(sheet.file)).and_then(|key| keys::section_of(key));
        if let Some(name) = opens {
            section = format!("{name}.");
        }
        for (column, text) in (0_u16..).zip(cells) {
            let kind = match (is_keys(sheet.file), column) {
                (true, 1) => {
                    let key = cells.first().map_or("", |key| &**key);
                    guide.kind(sheet.file, &format!("{section}{key}"))
                }
                (true, _) => Kind::Text,
                (false, _) => {
                    sheet.column(column.into()).map_or(Kind::Unknown, |name| guide.kind(sheet.file, name))
                }
            };
            match day(text).filter(|_| kind == Kind::Day && index != sheet.header) {
                _ if text.is_empty() && opens.is_none() => {}
                Some(day) => {
                    page.write_datetime_with_format(row, column, &day, &looks.day)?;
                }
                None => {
                    let look = match index == sheet.header {
                        true => &looks.head,
                        false if opens.is_some() => &looks.section,
                        false if is_keys(sheet.file) && column == 3 => &looks.note,
                        false => &looks.text,
                    };
                    page.write_string_with_format(row, column, text, look)?;
                }
            }
        }
    }
    for (column, width) in (0_u16..).zip(sheet.widths()) {
        page.set_column_width(column, u16::try_from(width).unwrap_or(u16::MAX))?;
    }
    page.set_freeze_panes(row_number(sheet.header.saturating_add(1))?, 0)?;
    Ok(())
}

impl Sheet<'_> {
    /// The header.
    fn heads(&self) -> &[String] {
        match self.lines.get(self.header) {
            Some(Line::Cells(cells)) => cells,
            _ => &[],
        }
    }

    /// The name of a column.
    fn column(&self, column: usize) -> Option<&str> {
        self.heads().get(column).map(String::as_str)
    }

    fn widths(&self) -> Vec<usize> {
        let (least, most) = WIDTHS;
        let mut widths = vec![least; self.heads().len()];
        for line in self.lines.iter().take(MEASURED) {
            let Line::Cells(cells) = line else { continue };
            for (width, cell) in widths.iter_mut().zip(cells) {
                *width = (*width).max(cell.chars().count().saturating_add(2)).min(most);
            }
        }
        widths
    }

    /// The last row that is helped with.
    fn last(&self) -> usize {
        self.lines.len().saturating_add(ROOM)
    }
}

/// Notes at the heads of a table, its columns formatted for what is typed, and lists to choose from.
fn column_helps(
    page: &mut Worksheet,
    sheet: &Sheet,
    sheets: &[Sheet],
    guide: &Guide,
    looks: &Looks,
) -> Result<(), XlsxError> {
    for (column, name) in (0_u16..).zip(sheet.heads()) {
        let Some(said) = guide.column(sheet.file, name) else { continue };
        page.set_column_format(column, if said.kind == Kind::Day { &looks.day } else { &looks.text })?;
        page.insert_note(row_number(sheet.header)?, column, &note(said))?;
        if let Some(list) = choice(said, sheets)? {
            let first = row_number(sheet.header.saturating_add(1))?;
            page.add_data_validation(first, column, row_number(sheet.last())?, column, &list)?;
        }
    }
    Ok(())
}

/// Notes at keys, and lists to choose their values from.
fn key_helps(page: &mut Worksheet, sheet: &Sheet, guide: &Guide) -> Result<(), XlsxError> {
    let mut section = String::new();
    for (index, line) in sheet.lines.iter().enumerate() {
        let Line::Cells(cells) = line else { continue };
        let key = cells.first().map_or("", |key| &**key);
        if let Some(name) = keys::section_of(key) {
            section = format!("{name}.");
        }
        let Some(said) = guide.column(sheet.file, &format!("{section}{key}")) else { continue };
        let row = row_number(index)?;
        page.insert_note(row, 0, &note(said))?;
        if let Some(list) = choice(said, &[])? {
            page.add_data_validation(row, 1, row, 1, &list)?;
        }
    }
    let (first, last) = (row_number(sheet.header.saturating_add(1))?, row_number(sheet.last())?);
    let notations = list(DataValidation::new().allow_list_strings(&keys::NOTATIONS)?);
    page.add_data_validation(first, 2, last, 2, &notations)?;
    Ok(())
}

fn note(said: &Column) -> Note {
    let text = format!("{}\n\nWritten as: {}", said.meaning, said.written);
    // Some forty characters go on a line of that width, which is sixteen pixels high.
    let lines = (text.chars().count() / 40).saturating_add(4);
    let height = u32::try_from(lines).unwrap_or(10).saturating_mul(16);
    Note::new(text).add_author_prefix(false).set_width(280).set_height(height)
}

/// What to choose from: the words of the column, or the codes of the table that it refers to.
fn choice(said: &Column, sheets: &[Sheet]) -> Result<Option<DataValidation>, XlsxError> {
    if !said.words.is_empty() {
        return Ok(Some(list(DataValidation::new().allow_list_strings(&said.words)?)));
    }
    let target = said.refers_to.and_then(|table| sheets.iter().find(|sheet| sheet_of(sheet.file) == table));
    let column = target.and_then(|sheet| sheet.heads().iter().position(|head| head == "code"));
    let Some((sheet, column)) = target.zip(column) else { return Ok(None) };
    let name = |row: usize| crate::cell::a1(row, column.saturating_add(1));
    // From the row below the header, counted from 1; the sign before the row keeps it where it is.
    let (first, last) = (sheet.header.saturating_add(2), sheet.last());
    let fixed = |row: usize| name(row).replace(&row.to_string(), &format!("${row}"));
    let range =
        format!("={}!${}:${}", super::imported::quoted(sheet_of(sheet.file)), fixed(first), fixed(last));
    Ok(Some(list(DataValidation::new().allow_list_formula(Formula::new(range)))))
}

/// A list that warns of what is not in it: a code may be typed before its own row is.
fn list(list: DataValidation) -> DataValidation {
    list.ignore_blank(true).set_error_style(DataValidationErrorStyle::Warning)
}

fn row_number(row: usize) -> Result<u32, XlsxError> {
    u32::try_from(row).map_err(|_| XlsxError::RowColumnLimitError)
}

/// A day that a date can stand for: from March 1900 on all calendars of spreadsheets agree.
fn day(text: &str) -> Option<ExcelDateTime> {
    let is_plain = text.len() == 10 && text >= "1900-03-01" && text.parse::<chrono::NaiveDate>().is_ok();
    if is_plain { ExcelDateTime::parse_from_str(text).ok() } else { None }
}
