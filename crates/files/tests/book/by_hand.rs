//! Books as somebody makes them who never exported one.

use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};

use crate::workshop::EDITION;

/// What is typed into a cell.
#[derive(Clone)]
pub enum Put {
    Nothing,
    Text(&'static str),
    Number(f64),
    /// A number, and how its cell shows it.
    Shown(f64, &'static str),
    Truth(bool),
    /// A day, or a day with a time, as ISO 8601 has it.
    Date(&'static str),
    /// A formula and what it came to.
    Formula(&'static str, &'static str),
}

/// The small edition as a book, with something else in some of its cells, and other sheets beside it.
pub fn book(cells: &[(&str, &str, Put)], more: impl FnOnce(&mut Workbook)) -> Vec<u8> {
    let mut book = Workbook::new();
    for (file, text) in EDITION {
        let sheet = book.add_worksheet();
        sheet.set_name(file.strip_suffix(".csv").unwrap_or(file)).unwrap();
        for (row, line) in (0..).zip(text.lines()) {
            for (column, cell) in (0..).zip(cells_of(file, line)) {
                sheet.write_string(row, column, cell).unwrap();
            }
        }
    }
    for (sheet, cell, put) in cells {
        write(book.worksheet_from_name(sheet).unwrap(), cell, put);
    }
    more(&mut book);
    book.save_to_buffer().unwrap()
}

fn cells_of(file: &str, line: &str) -> Vec<String> {
    if let Some((key, value)) = line.split_once(" = ") {
        let value = value.replace(['[', ']', '"'], "").replace(", ", " ");
        return vec![key.to_owned(), value];
    }
    assert!(file.ends_with(".toml") || line.matches('"').count().is_multiple_of(2));
    // No quoted cell of the edition has more than one comma.
    let line = line.replace(", ", "\u{1}").replace('"', "");
    line.split(',').map(|cell| cell.replace('\u{1}', ", ")).collect()
}

pub fn write(sheet: &mut Worksheet, cell: &str, put: &Put) {
    let letter = cell.as_bytes()[0];
    let (column, row) = (u16::from(letter - b'A'), cell[1..].parse::<u32>().unwrap() - 1);
    let date = Format::new().set_num_format("dd.mm.yyyy hh:mm");
    match put {
        Put::Nothing => sheet.write_string(row, column, ""),
        Put::Text(text) => sheet.write_string(row, column, *text),
        Put::Number(number) => sheet.write_number(row, column, *number),
        Put::Shown(number, format) => {
            sheet.write_number_with_format(row, column, *number, &Format::new().set_num_format(*format))
        }
        Put::Truth(truth) => sheet.write_boolean(row, column, *truth),
        Put::Date(text) => {
            let date_time = ExcelDateTime::parse_from_str(text).unwrap();
            sheet.write_datetime_with_format(row, column, &date_time, &date)
        }
        Put::Formula(formula, result) => {
            sheet.write_formula(row, column, Formula::new(*formula).set_result(*result))
        }
    }
    .unwrap();
}
