//! The tariff: editions, each a folder of one TOML file and tables.

mod edition;
mod rows;
mod sections;
mod set;
mod table;

pub use set::{Tariffs, parse_tariff, read_tariff};
