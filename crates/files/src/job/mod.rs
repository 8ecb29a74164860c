//! Job files, as TOML or as JSON.

mod records;
mod draft;
mod read;

pub use draft::{JobSource, check_beside};
pub use read::{parse_job, parse_job_for, read_job, read_job_for};
