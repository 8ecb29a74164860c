//! What the world says at month end: bank statements, invoices, what partners charged, courier bills; and what
//! the workshop has set down and decided itself.

// Reading order: each module uses only those above it.
mod figure;
mod camt;
mod invoice;
mod list;
mod rows;
mod accounts;
mod bonuses;
mod chart;
mod read;
mod rules;
mod decided;
mod closed;
mod closing;
mod set;
mod slips;

pub use closed::write_closing;
pub use decided::{answered_in, answers};
pub use read::{
    parse_charges, parse_courier_bills, parse_invoice, parse_statements, read_charges, read_courier_bills,
    read_invoice, read_statements,
};
pub use set::{closing_file, parse_books, read_books, read_books_watched};
pub use slips::slips;
