//! The end price, line by line.

use evenfare_engine::view::{LineView, Reader, SaleView, UnitView};

use super::sheet::Sheet;
use crate::cli::text::words::is_vat_known;
use crate::cli::text::{Cell, Column, Page, Table, style};

pub(super) fn write(page: &mut Page, sheet: Sheet<'_>) {
    let own = sheet.bought().filter(|_| matches!(sheet.reader, Reader::Partner(_)));
    page.heading("Price", &format!("{}, before VAT", sheet.view.currency));
    let mut columns = vec![Column::TEXT.least(38), Column::RIGHT, Column::RIGHT];
    columns.extend(own.map(|_| Column::RIGHT));
    let mut table = Table::new(0, columns);
    let buys_at = own.map(|sale| format!("{} buys at", sale.buyer));
    row(&mut table, style::FAINT, "", "quantity", "end price", buys_at);

    let several = sheet.offer.units.len() > 1;
    for unit in &sheet.offer.units {
        let lines: Vec<&LineView> = lines_of(sheet, Some(unit)).collect();
        if lines.is_empty() {
            continue;
        }
        let sum = lines.iter().try_fold(0_i64, |sum, line| sum.checked_add(line.net_minor));
        let sum = sum.filter(|_| several).map_or_else(String::new, |sum| sheet.amount(sum));
        let heading = if several {
            format!("Unit {}, {}", unit.id, unit.family_text)
        } else {
            format!("Unit {}", unit.id)
        };
        row(&mut table, style::STRONG, &heading, "", &sum, own.map(|_| String::new()));
        for line in lines {
            one(&mut table, sheet, own, line, "  ");
        }
    }
    let mut whole_job = lines_of(sheet, None).peekable();
    if whole_job.peek().is_some() {
        row(&mut table, style::STRONG, "The whole job", "", "", own.map(|_| String::new()));
        for line in whole_job {
            one(&mut table, sheet, own, line, "  ");
        }
    }
    table.rule();
    totals(&mut table, sheet, own);
    page.table(&table);
}

fn row(
    table: &mut Table,
    style: anstyle::Style,
    text: &str,
    quantity: &str,
    net: &str,
    buys_at: Option<String>,
) {
    let mut cells = vec![Cell::styled(text, style), Cell::styled(quantity, style), Cell::styled(net, style)];
    cells.extend(buys_at.map(|text| Cell::styled(text, style)));
    table.cells(cells);
}

fn one(table: &mut Table, sheet: Sheet<'_>, own: Option<&SaleView>, line: &LineView, indent: &str) {
    let buys_at = own.map(|sale| {
        let own = sale.lines.iter().find(|own| own.id == line.id);
        own.map_or_else(String::new, |own| sheet.amount(own.net_minor))
    });
    let text = format!("{indent}{}", line.text);
    row(table, style::PLAIN, &text, &line.quantity, &sheet.amount(line.net_minor), buys_at);
}

fn totals(table: &mut Table, sheet: Sheet<'_>, own: Option<&SaleView>) {
    let end = &sheet.offer.end;
    let blank = || own.map(|_| String::new());
    let buys_at = own.map(|sale| sheet.amount(sale.net_minor));
    row(table, style::STRONG, "End price, net", "", &sheet.amount(end.net_minor), buys_at);
    let (Some(due), Some(gross)) = (end.vat_due_minor, end.gross_minor) else {
        row(table, style::CARE, "VAT due: no rate is known", "", "", blank());
        return;
    };
    let rate = end.vat_rate.as_deref().unwrap_or("0");
    let country = sheet.view.customer.country.name();
    let due_in = match is_vat_known(sheet.view.customer.country) {
        true => format!("VAT due in {country}, {rate} %"),
        false => format!("VAT in {country} if taxable there, {rate} %"),
    };
    row(table, style::PLAIN, &due_in, "", &sheet.amount(due), blank());
    row(table, style::STRONG, "Gross", "", &sheet.amount(gross), blank());
    let by_whom = sheet.vat_by_whom();
    if !by_whom.is_empty() {
        table.across(0, Cell::styled(by_whom, style::PLAIN));
    }
}

/// The lines of one unit, or of none.
fn lines_of<'a>(sheet: Sheet<'a>, unit: Option<&'a UnitView>) -> impl Iterator<Item = &'a LineView> {
    sheet
        .offer
        .end
        .lines
        .iter()
        .filter(move |line| sheet.offer.unit_of(&line.id).map(|unit| &unit.id) == unit.map(|unit| &unit.id))
}
