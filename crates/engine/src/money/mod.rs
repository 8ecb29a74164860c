//! Money: currencies, exact values, the one rounding, amounts, and sharing out to the last unit.
//!
//! Everything here is integers. A value that is not yet an amount of money is an [`Exact`]; it
//! becomes an [`Amount`] by rounding, and only where the computation names a rounding.

pub mod kernel;
mod currency;
mod fixed;
mod decimal;
mod round;
mod amount;
mod exact;
mod split;

pub use amount::{Amount, AmountKind, Cost, Gross, Net, Share, Vat, kind};
pub use currency::{Currency, UnknownCurrency};
pub use decimal::{Decimals, InvalidDecimal, Percent, Quantity, ReferenceRate, UnitPrice};
pub use exact::Exact;
pub(crate) use fixed::Fixed;
pub use kernel::Overflow;
pub use round::round_half_up;
pub use split::{SplitError, Ties, split};
