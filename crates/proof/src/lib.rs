//! The engine's money kernel, run on the terms of a solver instead of integers.
//!
//! [`evenfare_engine::money::kernel`] is written over any [`Number`](evenfare_engine::money::kernel::Number). Here a
//! number is a [`Term`]: running the kernel on unknowns writes down what it computes, for all values at once, and a
//! solver is asked whether anything can contradict what is claimed of it. `tests/` has the theorems, and wrong
//! kernels beside them that must be refuted.
//!
//! Two steps of the kernel have no formula, and are known by what the standard library promises of them:
//! division (`dividend = quotient x divisor + remainder`, the remainder from nothing to below a positive
//! divisor) and the element at a rank (one of the keys, and so many are not after it).
//!
//! Of linear terms a solver decides everything, and fast. Where unknowns are multiplied it has to guess. So what
//! is said of [`products`] are lemmas of two or three unknowns each, and between them a product is an unknown
//! itself ([`prove_linear`]).

mod interval;
mod linear;
pub mod products;
mod scene;
mod term;

pub use interval::{Interval, Perhaps};
pub use scene::{
    Division, Rank, assume, begin, conclude, divisions, facts_can_hold, facts_can_hold_where, lemma,
    lemma_of, prove, prove_by, prove_linear, ranks, refute,
};
pub use term::Term;
