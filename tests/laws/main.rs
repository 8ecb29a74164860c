//! The laws of pricing, as property tests: one test for each law, by its name.
//!
//! Every law is checked on worlds drawn at random: a whole tariff and a job under it, nearly always
//! valid by construction ([`worlds`]). What a law expects is computed again from the rows of the
//! tariff and the lines of the job, over rationals of any size and with no code of the engine
//! ([`naive`], [`big`]).
//!
//! `PROPTEST_CASES` says how many cases each law runs, `PROPTEST_RNG_SEED` makes a run repeatable.
//! Each law tells on standard error how many cases and quotes it saw and how many it could not use,
//! and fails where that was more than a few in a hundred, or where hardly any case was of what the law
//! is about; `LAWS_EXPLAIN` has it tell why each was refused.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod big;
mod by_hand;
mod found;
mod law_of_findings;
mod law_of_money;
mod law_of_routes;
mod law_of_shares;
mod law_of_sums;
mod law_of_time;
mod law_of_views;
mod law_of_words;
mod law_of_working;
mod naive;
mod run;
mod tape;
mod worlds;
