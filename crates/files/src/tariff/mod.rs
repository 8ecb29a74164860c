//! The tariff: editions, each a folder of one TOML file and tables.

mod rows;
mod table;
mod sections;
mod letterhead;
mod texts;
mod edition;
mod between;
#[cfg(feature = "workbook")]
mod neighbours;
mod set;

#[cfg(feature = "workbook")]
pub(crate) use neighbours::beside;
pub use set::{Tariffs, edition_files, parse_published, parse_tariff, read_tariff};
