//! A tariff as a book: what goes out comes back, and whatever else stands in a book is taken or refused on
//! purpose.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "../workshop/mod.rs"]
mod workshop;

mod by_hand;
mod demo;
mod disk;
mod hostile;
mod laws;
mod other_writer;
mod typed;
