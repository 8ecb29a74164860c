//! Quotes, tariff editions and callers, kept for ever.
//!
//! Whatever is written down is an [`Event`](event::Event) in one chain; nothing is changed or removed
//! afterwards. What became of a quote is read off the events of its number. Every event carries the
//! digest of the one before, so that a later change of anything shows in
//! [`audit`](audit::audit).
//!
//! A [`Store`] keeps it in SQLite or in PostgreSQL. The decisions (which number comes next, whether an
//! etag still holds, whether a request was answered before) are written once and run inside the
//! transaction that keeps the event.

// Reading order: each module uses only those above it.
pub mod digest;
pub mod number;
pub mod caller;
pub mod entry;
pub mod event;
pub mod command;
pub mod refused;
mod store;
mod chain;
mod rules;
mod tables;
mod rows;
mod reads;
mod ledger;
pub mod audit;
mod queue;
pub mod sqlite;
pub mod postgres;
mod open;

pub use open::open;
pub use store::{Filter, Listing, Page, Sight, Store};
