//! Readers of what others send, driven by libFuzzer: `run.sh` says how.
//!
//! `EVENFARE_TARGET` names the target. Each holds more than that nothing panics: what is read and written
//! again is read the same, what is priced holds its laws by every route, what is refused is refused with
//! places that are in the text, and memory stays within a bound.

// Reading order: each module uses only those above it.
mod memory;
pub mod drive;
mod files;
pub mod refused;
pub mod price;
pub mod world;
pub mod targets;
