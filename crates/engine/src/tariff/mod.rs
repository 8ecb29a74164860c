//! The workshop's dated rates: one edition, read as a whole and immutable once published.

mod build;
mod edition;
pub mod entries;
mod rows;

pub use edition::{Edition, Inspection, LONGEST_ROUTE, PriceRules};
pub use entries::Party;
pub use rows::*;
