//! Quotations, invoices and credit notes, held against the quotes that they are written from and against
//! the published standards.
//!
//! The quotes are those of the worked example, and of jobs under tariffs drawn at random, the same that
//! the laws of pricing are held on; `PROPTEST_CASES` says how many.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

/// The worlds of the laws, with more in them than is needed here.
#[allow(dead_code, unused_imports)]
#[path = "../laws"]
mod laws {
    pub mod tape;
    pub mod worlds;
}
use laws::tape;

mod asked;
mod drawn;
mod national;
mod refused;
mod readded;
#[path = "../standards/mod.rs"]
mod standards;
mod standing;
mod books;
