//! Account statements and the overview as their readers get them, over the months that the laws of month end
//! are held against.

#![cfg(all(feature = "pdf", feature = "workbook"))]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

#[path = "../../../reconcile/tests/laws/faults.rs"]
mod faults;
#[path = "../../../reconcile/tests/laws/kinds.rs"]
mod kinds;
#[path = "../sheets/letterhead.rs"]
mod letterhead;
#[path = "../sheets/looked_at.rs"]
mod looked_at;
#[path = "../sheets/pages.rs"]
mod pages;
#[path = "../../../reconcile/tests/laws/world.rs"]
#[allow(dead_code)]
mod world;

mod books;
mod ties;
mod told;
mod looks;
mod overview;
mod hardest;
