//! Account statements and the overview as books of a spreadsheet (`.xlsx`), for people who go on computing
//! with them.
//!
//! Amounts are numbers here, shown with the decimals of their currency. No amount has more than fifteen
//! digits, and a decimal of fifteen digits comes back as it was from the binary fraction that a spreadsheet
//! makes of it, so none is changed (`statement_ties_to_the_cent`). Sums that a spreadsheet makes itself are
//! its own affair: what has to be exact to the last digit is read from the lines of text
//! ([`columns`](evenfare_reconcile::columns)). The same values give the same bytes.

mod page;
mod statement;
mod overview;

use evenfare_engine::money::Overflow;
use rust_xlsxwriter::XlsxError;

pub use overview::margin_overview;
pub use statement::account_statement;

/// Why there is no book.
#[derive(Debug, thiserror::Error)]
pub enum NoBook {
    /// An amount is beyond what an amount may be.
    #[error(transparent)]
    Overflow(#[from] Overflow),
    /// A spreadsheet cannot hold it: a text that is too long, too many rows.
    #[error(transparent)]
    Refused(#[from] XlsxError),
}
