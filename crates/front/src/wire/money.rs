//! Amounts.

use evenfare_engine::money::Currency;

use super::pb;

impl pb::Money {
    /// An amount of minor units of a currency.
    pub fn of(amount_minor: i64, currency: Currency) -> Self {
        Self { amount_minor, currency_code: currency.code().to_owned() }
    }
}
