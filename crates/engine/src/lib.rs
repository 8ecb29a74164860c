//! Evenfare's engine (front page follows).
pub mod category;
pub mod country;
pub mod job;
pub mod money;
pub mod period;
pub mod problem;
pub mod tariff;
pub mod text;
