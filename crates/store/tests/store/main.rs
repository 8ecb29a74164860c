//! The store held against a plain model, against tampering, failures and old databases.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

mod postgres;
mod world;
mod bills;
mod model;
mod steps;
mod moments;
mod workload;
mod crowd;
mod invoices;
mod unseen;
mod again;
mod encrypted;
mod tampering;
mod unread;
mod failures;
mod databases;
mod copies;
mod long;
mod old;
