//! The server: gRPC services on a store.
//!
//! A call passes the transport (deadline, bounds, tracing), then one table of who may call what, then its
//! service. A service reads its message, prices by the editions in use, and hands to the store what is to
//! be kept. What a reader may see is decided in the engine's `view`, as everywhere.

// Reading order: each module uses only those above it.
pub mod transport;
mod refusal;
mod callers;
pub mod access;
mod state;
mod ask;
pub mod tariffs;
mod pricing;
mod document;
mod checks;
mod told;
mod house;
mod writing;
mod watching;
mod office;
mod partner;
mod accountant;
mod tariff;
pub mod database;
mod run;

pub use callers::{Callers, Identity};
pub use checks::{COMMAND_LINE, Checks};
pub use run::{NotStarted, serve};
