//! Value added tax: identifiers of taxable persons and published standard rates.

pub mod identifier;
pub mod rates;
