//! The workshop's dated rates: one edition, read as a whole and immutable once published.
//!
//! A [`Tariff`] is an edition as it is written. Its rows are the sections of `edition.toml` and the rows of the tables
//! that they name, with amounts in major units of the tariff's currency. [`Edition::new`] checks it.

mod rows;
pub mod entries;
mod edition;
mod as_if;
mod build;

pub use edition::{Edition, Inspection, InvalidTariff, LONGEST_ROUTE, PriceRules};
pub use entries::Party;
pub use rows::*;
