//! A tariff as a book: what goes out comes back, and whatever else stands in a book is taken or refused on
//! purpose.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod demo;
