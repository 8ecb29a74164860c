//! The workshop's dated rates: one edition, read as a whole and immutable once published.

mod rows;

pub use rows::*;
