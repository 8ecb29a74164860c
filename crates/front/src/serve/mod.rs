//! The server: gRPC services on a store.
//!
//! A call passes the transport (deadline, bounds, tracing), then one table of who may call what, then its
//! service. A service reads its message, prices by the editions in use, and hands to the store what is to
//! be kept. What a reader may see is decided in the engine's `view`, as everywhere.

// Reading order: each module uses only those above it.
mod metered;
mod told;
pub mod transport;
mod refusal;
mod callers;
pub mod access;
// Messages in: words, requests, editions.
mod quote_state;
mod breadth;
mod ask;
mod pages;
// Quotes: priced, kept, audited, answered.
mod pricing;
pub mod papers;
mod checks;
mod answers;
// What all services share, what they have written down, what lasts.
mod desks;
mod floor;
mod vitals;
mod house;
mod opened;
mod writing;
mod documents;
mod invoicing;
mod watching;
// Month end: a books folder in, what came of it out.
mod scope;
mod books;
mod month_end;
// The services, one for each kind of caller.
mod office;
mod partner;
mod accountant;
mod tariff;
mod services;
// The server as a whole.
pub mod database;
mod run;

pub use callers::{Callers, Identity};
pub use checks::{COMMAND_LINE, Checks};
pub use metered::describe_metrics;
pub use run::{NotStarted, serve};
