//! The front of Evenfare: the command line and the wire, around the pricing engine.

// Reading order: each module uses only those above it.
pub mod wire;
pub mod paper;
// What is kept of quotes and editions, trials and month end on it, and the server around all.
#[cfg(feature = "serve")]
pub mod kept;
#[cfg(feature = "serve")]
pub mod editions;
#[cfg(feature = "serve")]
pub mod trial;
#[cfg(feature = "serve")]
pub mod month;
#[cfg(feature = "serve")]
pub mod serve;
pub mod cli;

/// What the README shows in Rust is run as a test.
#[cfg(doctest)]
#[doc = include_str!("../../../README.md")]
mod readme {}
