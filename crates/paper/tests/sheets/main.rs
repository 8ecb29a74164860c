//! Sheets as their readers get them: what they say, how they look, and that every PDF is one to be kept.

#![cfg(feature = "pdf")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

mod letterhead;
mod world;
mod pages;
mod looked_at;
mod golden;
mod tables;
mod adds_up;
mod alternatives;
mod structure;
mod in_house;
mod addressed;
mod billed;
mod hardest;
mod archival;
mod secrets;
mod working;
