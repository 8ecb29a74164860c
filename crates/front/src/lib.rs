//! The front of Evenfare: the command line and the wire, around the pricing engine.

// Reading order: each module uses only those above it.
pub mod wire;
pub mod paper;
#[cfg(feature = "serve")]
pub mod serve;
pub mod cli;
