#![doc = include_str!("../FORMAT.md")]

mod source;
mod report;
mod log;
mod decode;
mod folder;
mod node;
mod toml_tree;
mod json_tree;
mod csv;
mod value;
mod fields;
mod job;
mod tariff;

pub use folder::Folder;
pub use job::{JobSource, parse_job, read_job};
pub use report::{Mistake, Report, Snippets};
pub use tariff::{Tariffs, parse_tariff, read_tariff};
