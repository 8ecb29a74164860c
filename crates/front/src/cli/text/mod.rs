//! Text for people: lines of at most 80 columns, few colours, what matters first.

// Reading order: each module uses only those above it.
pub(super) mod style;
pub(super) mod money;
pub(super) mod wrap;
pub(super) mod bars;
pub(super) mod table;
mod page;
pub(super) mod words;
pub(super) mod quote;
#[cfg(any(feature = "serve", feature = "pdf"))]
mod progress;

pub(super) use page::Page;
#[cfg(any(feature = "serve", feature = "pdf"))]
pub(super) use progress::Progress;
pub(super) use table::{Cell, Column, Table};

/// How wide a page is.
pub(super) const WIDTH: usize = 80;
