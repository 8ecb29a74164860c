//! A server of one's own for a test, and clients of it.

mod process;
mod world;
mod client;
mod raw;
mod issuing;
mod promises;

pub use client::{Client, channel, connect, job, reason};
pub use issuing::{Addresses, Answers, Issuing};
pub use process::{Server, command, evenfare};
pub use promises::hold;
pub use raw::call;
pub use world::{World, token};

/// So many times, unless the environment says otherwise.
pub fn times(variable: &str, usual: usize) -> usize {
    match std::env::var(variable) {
        Ok(number) => number.parse().unwrap_or_else(|_| panic!("{variable} is no number: {number}")),
        Err(_) => usual,
    }
}
