//! What the world says: bank statements, invoices, what partners charged, what couriers bill,
//! and what the workshop did itself.
//!
//! Plain data, as it was read. Amounts are whole minor units of the currency beside them.

// Reading order: each module uses only those above it.
mod place;
mod slip;
mod statement;
mod invoice;
mod charge;
mod courier_bill;
mod work_done;

pub use charge::Charge;
pub use courier_bill::{CourierBill, Leg};
pub use invoice::{AccountingVat, Invoice, InvoiceKind, InvoiceVat, Trader};
pub use place::Place;
pub use slip::Slip;
pub use statement::{Balance, Batch, Payment, Statement, Status};
pub use work_done::WorkDone;
