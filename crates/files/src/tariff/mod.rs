//! The tariff: editions, each a folder of one TOML file and tables.

mod rows;
mod table;
mod sections;
mod letterhead;
mod texts;
mod edition;
mod set;

pub use set::{Tariffs, beside, edition_files, parse_published, parse_tariff, read_tariff};
