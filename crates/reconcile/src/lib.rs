//! Month end: what was agreed, invoiced, charged and paid, held against each other to the cent.

// Reading order: each module uses only those above it.
pub mod input;
