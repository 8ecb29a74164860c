//! Job files, as TOML, as JSON or as a UBL request for quotation.

mod records;
mod rules;
mod request;
mod draft;
mod read;

pub use draft::{JobSource, check_beside};
pub use read::{parse_job, parse_job_for, read_job, read_job_for};
