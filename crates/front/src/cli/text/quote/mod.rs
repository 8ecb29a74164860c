//! A quote for people: what matters first, the rest in the order of the work.

// Reading order: each module uses only those above it.
mod sheet;
mod head;
mod units;
mod price;
mod parties;
mod closing;

pub(in crate::cli) use sheet::Sheet;

use super::Page;

/// The whole page.
pub(in crate::cli) fn page(sheet: Sheet<'_>) -> String {
    let mut page = Page::default();
    head::write(&mut page, sheet);
    units::write(&mut page, sheet);
    price::write(&mut page, sheet);
    parties::write(&mut page, sheet);
    closing::write(&mut page, sheet);
    page.finish()
}
