//! The workshop's dated rates: one edition, read as a whole and immutable once published.

mod rows;
pub mod entries;
mod edition;
mod as_if;
mod build;

pub use edition::{Edition, Inspection, InvalidTariff, LONGEST_ROUTE, PriceRules};
pub use entries::Party;
pub use rows::*;
