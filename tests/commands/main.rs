//! The whole program, as people and scripts run it: a command in, a transcript out.
//!
//! Transcripts stand in `golden/`, one file for each command. They are written anew, to be looked
//! at before they are kept, by
//!
//! ```text
//! EVENFARE_BLESS=1 cargo test --test commands
//! ```

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod agreement;
mod book;
mod demo;
mod goldens;
mod hostile;
mod kept;
mod month;
mod transit;
mod paper;
mod readme;
mod terminal;
mod transcript;
mod trial;
mod world;

/// The server's own: a store with quotes in it, and a server that issues them.
#[path = "../server/harness/mod.rs"]
#[allow(dead_code, unused_imports, reason = "the server's tests need more of it")]
mod harness;
