//! The front of Evenfare: the command line and the wire, around the pricing engine.

pub mod cli;
pub mod wire;
#[cfg(feature = "serve")]
pub mod serve;
