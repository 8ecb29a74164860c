//! Transfers between own accounts that are under way.

use crate::cli::text::money::with_currency;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::month::{Done, document};

/// Each with the account that it left or arrived on.
pub(super) fn table(page: &mut Page, done: &Done) {
    let all = &done.books.in_transit;
    if all.is_empty() {
        return;
    }
    page.heading("In transit", "left one own account for another; below zero, arrived");
    let right = Column::RIGHT;
    let mut table = Table::new(0, [Column::LEFT, Column::TEXT.least(12), right, right]);
    for one in all {
        let in_books = if one.currency == done.currency {
            String::new()
        } else {
            with_currency(one.base_minor, done.currency)
        };
        table.row([
            one.day.to_string().into(),
            (&*one.account).into(),
            with_currency(one.minor, one.currency).into(),
            in_books.into(),
        ]);
        let moved = if one.minor < 0 { "arrived from" } else { "left for" };
        table.across(2, Cell::styled(format!("{moved} {}, where it is not seen", one.other), style::CARE));
        table.across(2, Cell::styled(document(&one.document), style::FAINT));
    }
    page.table(&table);
}
