//! The wire: messages of `proto/evenfare/v1` and their conversions.
//!
//! A job comes in by `Job::try_from`, which finds everything that is wrong with the message at once
//! and names each place as the engine does. A quote goes out as a `WrittenQuote`, made of what its
//! reader may see and nothing else; what the office sees can be kept, and is read back by
//! `Quote::try_from`.
//!
//! A message says the same as a job file, so both give the same quote to the last byte:
//! `three_files_one_quote`.

pub mod pb;
mod date;
#[cfg(feature = "serve")]
mod money;
mod words;
mod problem;
pub(crate) mod mistakes;
pub(crate) mod field;
pub(crate) mod message;
pub(crate) mod job;
mod backwards;
mod written;
mod quote;
#[cfg(feature = "serve")]
pub(crate) mod month_end;
#[cfg(feature = "serve")]
pub(crate) mod trial;
#[cfg(feature = "serve")]
pub(crate) mod codec;
#[cfg(feature = "serve")]
pub(crate) mod answer;

pub use date::InvalidDate;
#[cfg(feature = "serve")]
pub(crate) use date::moment;
pub use job::InvalidJob;
pub use quote::InvalidQuote;
pub use written::WrittenQuote;

#[cfg(test)]
mod hostile;
#[cfg(test)]
mod laws;
