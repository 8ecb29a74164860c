//! Month end: what the store knows, held against a books folder; the same for the command line and the wire.
//!
//! [`Known`] walks the store, [`evenfare_files::read_books`] reads the folder, [`Done`] is what came of both, and
//! [`Output`] is each file that is made of it.

// Reading order: each module uses only those above it.
mod known;
mod done;
mod change;
mod form;
#[cfg(any(feature = "pdf", feature = "workbook"))]
mod paper;
mod own;
mod found;
mod output;
mod closing;
mod noted;
#[cfg(test)]
mod described;

pub use closing::{NotClosed, over};
pub use done::Done;
pub use form::NotWritten;
pub use found::document;
pub use known::{Known, Parties, STORE, WrittenWith};
pub use noted::{Anchor, NotAnAnchor, NotAsNoted, as_noted};
pub use output::Output;
