#![doc = include_str!("../FORMAT.md")]

mod csv;
mod decode;
mod fields;
mod folder;
mod job;
mod json_tree;
mod log;
mod node;
mod report;
mod source;
mod tariff;
mod toml_tree;
mod value;

pub use folder::Folder;
pub use job::{JobSource, parse_job, read_job};
pub use report::{Mistake, Report, Snippets};
pub use tariff::{Tariffs, parse_tariff, read_tariff};
