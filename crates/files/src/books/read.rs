//! From a file to what it says.

use std::path::Path;

use evenfare_reconcile::input::{Charge, CourierBill, Invoice, Statement};

use crate::books::{camt, invoice, list, rows};
use crate::decode::{BOOKS_LIMIT, decode};
use crate::folder::read_alone;
use crate::log::Log;
use crate::report::Report;

macro_rules! readers {
    ($($(#[$doc:meta])* $read:ident, $parse:ident: $what:ty, $by:expr;)*) => { $(
        $(#[$doc])*
        ///
        /// # Errors
        /// Every mistake at once; a file that cannot be read or is larger than 64 MiB.
        pub fn $read(path: &Path) -> Result<$what, Report> {
            $parse(&path.display().to_string(), read_alone(path, BOOKS_LIMIT)?)
        }

        #[doc = concat!("As [`", stringify!($read), "`], from the text of a file and its name.")]
        ///
        /// # Errors
        /// Every mistake at once.
        pub fn $parse(name: &str, text: impl AsRef<[u8]>) -> Result<$what, Report> {
            whole(name, text.as_ref(), $by)
        }
    )* };
}

readers! {
    /// Reads the bank statements of an ISO 20022 camt.053 file, version 001.02 or 001.08.
    ///
    /// Of each, the opening balance and every booked entry come to the closing balance, and the payments
    /// of an entry to what was booked, but for charges that are said.
    read_statements, parse_statements: Vec<Statement>, |text, log| Some(camt::parse(text, log));
    /// Reads an invoice or a credit note, EN 16931 in UBL 2.1. Its sums agree (BR-CO-10 to BR-CO-16).
    read_invoice, parse_invoice: Invoice, invoice::parse;
    /// Reads a list of what partners charged, CSV.
    read_charges, parse_charges: Vec<Charge>, |text, log| Some(list::parse(text, &rows::CHARGES, log, rows::charge));
    /// Reads a list of what couriers bill, CSV.
    read_courier_bills, parse_courier_bills: Vec<CourierBill>,
        |text, log| Some(list::parse(text, &rows::COURIER_BILLS, log, rows::courier_bill));
}

/// What a file says, whole or not at all.
fn whole<T>(name: &str, bytes: &[u8], read: impl FnOnce(&str, &mut Log) -> Option<T>) -> Result<T, Report> {
    let mut report = Report::default();
    let Some(mut decoded) = decode(name, bytes, BOOKS_LIMIT, &mut report) else { return Err(report) };
    let said = read(&decoded.text, &mut decoded.log);
    decoded.log.move_into(&mut report);
    match said {
        Some(said) if report.is_empty() => Ok(said),
        _ => Err(report),
    }
}
