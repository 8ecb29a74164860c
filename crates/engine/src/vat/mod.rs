//! Value added tax: identifiers of taxable persons, published standard rates, and the currencies that it is
//! declared in.

pub mod identifier;
pub mod rates;
pub mod currencies;
