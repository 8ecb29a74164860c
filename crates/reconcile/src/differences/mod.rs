//! What is not as it was agreed.

mod known;
mod misdirected;
mod sales;
mod off_rate;
mod paid;
mod paid_out;
mod work;

pub(crate) use known::{InQuestion, Known};
pub(crate) use paid::of_payments;
pub(crate) use paid_out::of_paid_out;
pub(crate) use sales::of_sales;
pub(crate) use work::of_work;
