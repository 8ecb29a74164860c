//! A sheet of a book that is written row by row.

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::money::{Currency, Net, Overflow};
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

use super::NoBook;

/// How cells look.
pub(super) struct Looks {
    title: Format,
    name: Format,
    head: Format,
    amount_head: Format,
    text: Format,
    day: Format,
    count: Format,
    mark: Format,
}

impl Looks {
    pub(super) fn new() -> Self {
        let top = Format::new().set_align(FormatAlign::Top);
        let head = top
            .clone()
            .set_bold()
            .set_text_wrap()
            .set_font_color(Color::White)
            .set_background_color(Color::RGB(0x2F_4B_5C))
            .set_border_bottom(FormatBorder::Thin);
        Self {
            title: Format::new().set_bold().set_font_size(16),
            name: top.clone().set_font_color(Color::RGB(0x5B_6B_74)),
            amount_head: head.clone().set_align(FormatAlign::Right),
            head,
            text: top.clone().set_text_wrap(),
            day: top.clone().set_num_format("yyyy-mm-dd").set_align(FormatAlign::Left),
            count: top.set_num_format("#,##0"),
            mark: Format::new().set_bold(),
        }
    }
}

/// What stands in a cell.
pub(super) enum Cell<'c> {
    Nothing,
    Text(&'c str),
    Day(NaiveDate),
    Count(u64),
    Minor(i64, Currency),
}

/// A sheet, and the row that is next.
pub(super) struct Page<'p> {
    pub(super) sheet: &'p mut Worksheet,
    pub(super) row: u32,
    looks: &'p Looks,
}

impl<'p> Page<'p> {
    /// A sheet with its name and its title.
    pub(super) fn new(
        book: &'p mut Workbook,
        looks: &'p Looks,
        name: &str,
        title: &str,
    ) -> Result<Self, NoBook> {
        let sheet = book.add_worksheet();
        sheet.set_name(name)?.set_landscape().set_paper_size(9).set_print_fit_to_pages(1, 0);
        sheet.set_footer("&R&P / &N");
        sheet.write_string_with_format(0, 0, title, &looks.title)?;
        Ok(Self { sheet, row: 2, looks })
    }

    /// A name and what it stands for.
    pub(super) fn fact(&mut self, name: &str, value: &Cell<'_>) -> Result<(), NoBook> {
        self.sheet.write_string_with_format(self.row, 0, name, &self.looks.name)?;
        self.write(1, value, false)?;
        self.down();
        Ok(())
    }

    /// A line that must not be missed.
    pub(super) fn mark(&mut self, text: &str) -> Result<(), NoBook> {
        self.sheet.write_string_with_format(self.row, 0, text, &self.looks.mark)?;
        self.down();
        Ok(())
    }

    /// The heads of a table, with the widths of its columns in characters; those of amounts stand to the
    /// right. They stay in sight, and are on each page that is printed.
    pub(super) fn heads(
        &mut self,
        heads: &[(&str, u16)],
        amounts: std::ops::Range<usize>,
    ) -> Result<(), NoBook> {
        self.down();
        for (place, (column, (head, width))) in (0_u16..).zip(heads).enumerate() {
            let look = if amounts.contains(&place) { &self.looks.amount_head } else { &self.looks.head };
            self.sheet.write_string_with_format(self.row, column, *head, look)?;
            self.sheet.set_column_width(column, *width)?;
        }
        self.sheet.set_repeat_rows(self.row, self.row)?;
        self.down();
        self.sheet.set_freeze_panes(self.row, 0)?;
        Ok(())
    }

    /// A row of a table; a strong one is what the others come to.
    pub(super) fn row(&mut self, cells: &[Cell<'_>], is_strong: bool) -> Result<(), NoBook> {
        for (column, cell) in (0_u16..).zip(cells) {
            self.write(column, cell, is_strong)?;
        }
        self.down();
        Ok(())
    }

    fn write(&mut self, column: u16, cell: &Cell<'_>, is_strong: bool) -> Result<(), NoBook> {
        let looks = self.looks;
        let look = |plain: &Format| {
            let plain = plain.clone();
            if is_strong { plain.set_bold().set_border_top(FormatBorder::Thin) } else { plain }
        };
        let (sheet, row) = (&mut *self.sheet, self.row);
        match *cell {
            Cell::Nothing if is_strong => sheet.write_blank(row, column, &look(&looks.text))?,
            Cell::Nothing => sheet,
            Cell::Text(text) => sheet.write_string_with_format(row, column, text, &look(&looks.text))?,
            Cell::Day(on) => sheet.write_datetime_with_format(row, column, &day(on)?, &look(&looks.day))?,
            Cell::Count(count) => sheet.write_number_with_format(
                row,
                column,
                number(&count.to_string())?,
                &look(&looks.count),
            )?,
            Cell::Minor(minor, currency) => {
                let plain = Net::from_minor(minor)?.in_major_units(currency);
                let amount = looks.count.clone().set_num_format(decimals(currency));
                sheet.write_number_with_format(row, column, number(&plain)?, &look(&amount))?
            }
        };
        Ok(())
    }

    const fn down(&mut self) {
        self.row = self.row.saturating_add(1);
    }
}

/// How the amounts of a currency are shown.
fn decimals(currency: Currency) -> String {
    match usize::from(currency.exponent()) {
        0 => String::from("#,##0"),
        decimals => format!("#,##0.{}", "0".repeat(decimals)),
    }
}

/// The number that a cell holds: the binary fraction next to the decimal, read and not computed.
fn number(plain: &str) -> Result<f64, Overflow> {
    plain.parse().map_err(|_| Overflow)
}

fn day(day: NaiveDate) -> Result<ExcelDateTime, XlsxError> {
    let part = |part: u32| u8::try_from(part).unwrap_or_default();
    let year = u16::try_from(day.year()).unwrap_or_default();
    ExcelDateTime::from_ymd(year, part(day.month()), part(day.day()))
}

/// A book with nothing in it yet, made on the day it is of: the same book whenever it is written.
pub(super) fn book(title: &str, made: NaiveDate) -> Result<Workbook, NoBook> {
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&day(made)?));
    Ok(book)
}
