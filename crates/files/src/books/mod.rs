//! What the world says at month end: bank statements, invoices, what partners charged, courier bills.

mod figure;
mod camt;
mod invoice;
mod list;
mod read;

pub use read::{
    parse_charges, parse_courier_bills, parse_invoice, parse_statements, read_charges, read_courier_bills,
    read_invoice, read_statements,
};
