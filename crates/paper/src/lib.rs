//! What the customer, the partner, the bench and the accountant hold in their hands.
//!
//! Computes no figure: it takes what a reader may see of a sealed quote
//! ([`View`](evenfare_engine::view::View)) and sets it on paper, or writes it as XML.

// Reading order: each module uses only those above it.
pub mod figures;
pub mod words;
pub mod phrases;
mod state;
mod invoice;
pub mod ubl;
pub mod accounts;
#[cfg(feature = "pdf")]
pub mod sheet;
#[cfg(feature = "pdf")]
pub mod pdf;
#[cfg(feature = "workbook")]
pub mod workbook;

pub use invoice::{Account, Invoice, InvoiceFacts, NoSuchSale, Preceding, Sold};
pub use state::State;
