//! Money: currencies, exact values, the one rounding, amounts, and sharing out to the last unit.
//!
//! Everything here is integers. A value that is not yet an amount of money is an [`Exact`]; it
//! becomes an [`Amount`] by rounding, and only where the computation names a rounding.

mod amount;
mod currency;
mod decimal;
mod exact;
mod round;
mod split;

pub use amount::{Amount, AmountKind, Cost, Gross, Net, Share, Vat, kind};
pub use currency::{Currency, UnknownCurrency};
pub use decimal::{Decimals, InvalidDecimal, Percent, Quantity, ReferenceRate, UnitPrice};
pub use exact::{Exact, Overflow};
pub use round::round_half_up;
pub use split::{SplitError, Ties, split};
