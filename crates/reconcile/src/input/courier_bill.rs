//! What couriers bill.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;

use super::Place;

/// Which way a consignment went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Leg {
    /// To the workshop.
    In,
    /// Back to the customer.
    Out,
}

/// One line of a courier's bill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CourierBill {
    /// Where it was read.
    pub place: Place,
    /// Who bills.
    pub courier: Box<str>,
    /// His bill. With the courier, the consignment and the leg it is known again: loaded twice, it counts once.
    pub bill: Box<str>,
    /// His number of the consignment; there and back may have one.
    pub consignment: Box<str>,
    /// The quote, as the workshop had it put on the label.
    pub quote: Box<str>,
    /// Which way.
    pub leg: Leg,
    /// The day of carriage.
    pub carried: NaiveDate,
    /// Of the amount.
    pub currency: Currency,
    /// What he bills before VAT.
    pub net_minor: i64,
}
