//! Bank statements: ISO 20022 camt.053, versions 001.02 and 001.08.
//!
//! One reading serves both. What differs is looked for in both places: the status is a text or a choice,
//! a transaction has an amount of its own or only its details, a party stands in itself or in a choice.

mod entry;
mod statement;

pub(super) use statement::parse;
