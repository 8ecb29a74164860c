//! Text for people: lines of at most 80 columns, few colours, what matters first.

// Reading order: each module uses only those above it.
pub(super) mod money;
pub(super) mod wrap;
pub(super) mod table;
mod page;
pub(super) mod style;
pub(super) mod words;
pub(super) mod bars;
pub(super) mod quote;

pub(super) use page::Page;
pub(super) use table::{Cell, Column, Table};

/// How wide a page is.
pub(super) const WIDTH: usize = 80;

/// Inside the program a space that nothing may be broken at is told from others; outside it is one
/// like any other, so that what is copied or searched for is found.
pub(super) fn in_spaces(text: &str) -> String {
    text.replace(money::SPACE, " ")
}
